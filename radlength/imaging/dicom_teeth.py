"""Tooth codes of DICOM headers: CID 4018 (permanent) and 4019 (deciduous), which correspond to ISO 3950."""

from __future__ import annotations

from functools import cache

_QUADRANTS = {
    ("permanent", "maxillary", "right"): "1",
    ("permanent", "maxillary", "left"): "2",
    ("permanent", "mandibular", "left"): "3",
    ("permanent", "mandibular", "right"): "4",
    ("deciduous", "maxillary", "right"): "5",
    ("deciduous", "maxillary", "left"): "6",
    ("deciduous", "mandibular", "left"): "7",
    ("deciduous", "mandibular", "right"): "8",
}
_PERMANENT = (
    "central incisor", "lateral incisor", "canine", "first premolar", "second premolar", "first molar",
    "second molar", "third molar",
)  # fmt: skip
_DECIDUOUS = ("central incisor", "lateral incisor", "canine", "first molar", "second molar")


@cache
def iso_by_code() -> dict[str, str]:
    """Return ISO 3950 numbers by SNOMED CT code, read from the code dictionary of pydicom.

    The standard calls 32 "Mandibular left lateral tooth", without "incisor".
    """
    from pydicom.sr.codedict import codes

    found: dict[str, str] = {}
    for group in (codes.cid4018, codes.cid4019):
        for keyword in group.dir():
            code = getattr(group, keyword)
            iso = _iso(code.meaning.lower())
            if iso is not None:
                found[code.value] = iso
    return found


def _iso(meaning: str) -> str | None:
    dentition = "deciduous" if "deciduous" in meaning or "primary" in meaning else "permanent"
    arch = next((word for word in ("maxillary", "mandibular") if word in meaning), "")
    side = next((word for word in ("right", "left") if word in meaning), "")
    quadrant = _QUADRANTS.get((dentition, arch, side))
    names = _DECIDUOUS if dentition == "deciduous" else _PERMANENT
    position = next((n for n, name in enumerate(names, 1) if name in meaning), None)
    if position is None and "lateral" in meaning:
        position = 2
    return f"{quadrant}{position}" if quadrant and position else None
