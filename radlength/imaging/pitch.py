"""Which sizes of a pixel an intra-oral receptor can have."""

from __future__ import annotations

from radlength.errors import RadlengthError

SMALLEST_MM, LARGEST_MM = 0.005, 0.2
"""Pitch of intra-oral receptors, in millimetres, with room on both sides."""

MOST_UNEQUAL = 3.0
"""Longest side of a pixel in its shortest; receptors have square pixels (common practice, no source)."""


def refuse_pitch(row_mm: float, column_mm: float, *, refusal: type[RadlengthError], subject: str) -> None:
    """Refuse a pitch that no intra-oral receptor has.

    Parameters
    ----------
    row_mm, column_mm
        Pitch down and across, in millimetres.
    refusal
        What is raised: of an image or of a record.
    subject
        The image.

    Raises
    ------
    RadlengthError
        A side outside the range, or two that are too unequal.
    """
    if not (SMALLEST_MM <= row_mm <= LARGEST_MM and SMALLEST_MM <= column_mm <= LARGEST_MM):
        raise refusal(
            f"a pixel pitch of {row_mm if row_mm == column_mm else f'{row_mm} x {column_mm}'} mm",
            f"{SMALLEST_MM} to {LARGEST_MM} mm for an intra-oral detector",
            "look it up for the detector, in millimetres",
            code="pitch-out-of-range",
            subject=subject,
        )
    if max(row_mm, column_mm) > MOST_UNEQUAL * min(row_mm, column_mm):
        raise refusal(
            f"pixels of {row_mm:g} mm down and {column_mm:g} mm across",
            f"one side at most {MOST_UNEQUAL:g} times the other; receptors have square pixels",
            "give one number, or look both up for the detector",
            code="pitch-unequal",
            subject=subject,
        )
