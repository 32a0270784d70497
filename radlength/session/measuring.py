"""The length of a canal from marks that may not be finished, or what is missing for it."""

from __future__ import annotations

from radlength.errors import RadlengthError
from radlength.imaging import Radiograph
from radlength.length import Estimate, estimate_length
from radlength.session.drafts import Annotation, CanalDraft

CANAL_NEXT = "Mark the canal: first the reference point, last the radiographic apex."
ALL_NEXT = (
    f"Mark the reference of known length, where there is one. Then {CANAL_NEXT[0].lower()}{CANAL_NEXT[1:]}"
)
TOOTH_FIRST = "Choose the tooth of this canal: a length without it would stand under any tooth."

PITCH_TOO = ", or state the pixel pitch of the detector"
"""Ends the refusal where there is no scale: an image before treatment has no instrument to mark."""


def measured(marks: Annotation, draft: CanalDraft, image: Radiograph) -> tuple[Estimate | None, str]:
    """Return the estimate of a canal, or ``None`` and a sentence that says what is missing.

    Parameters
    ----------
    marks
        All marks of the image.
    draft
        The canal among them.
    image
        The image with the pixel pitch that its record states.
    """
    try:
        canal = draft.finished()
        if canal is None and len(draft.path_px) > 1:
            return None, TOOTH_FIRST
        if canal is None:
            begun = draft.path_px or any(r.path_px for r in marks.references)
            return None, CANAL_NEXT if begun else ALL_NEXT
        reference = next((r for r in marks.references if r.name == draft.reference), None)
        known = reference.finished() if reference is not None else None
        if reference is not None and known is None and reference.path_px:
            return None, "Mark both ends of the reference and give its length in millimetres."
        others = tuple(one for r in marks.references if (one := r.finished()) is not None)
        found = estimate_length(
            canal,
            known,
            radiograph=image,
            terminus=draft.terminus,
            marking=marks.marking,
            others=() if known is None else others,
        )
    except RadlengthError as exc:
        return None, f"{exc}{PITCH_TOO if exc.code == 'no-scale' else ''}"
    return found, ""
