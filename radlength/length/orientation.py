"""Does the header's side agree with the tooth number? A mirrored or mislabelled image is worth a question."""

from __future__ import annotations

from collections.abc import Iterator

from radlength.finding import Finding
from radlength.imaging import FileFacts
from radlength.trade import arch, side


def orientation_doubts(tooth: str, facts: FileFacts) -> Iterator[Finding]:
    """Yield findings where laterality, tooth codes or Patient Orientation contradict the tooth.

    Parameters
    ----------
    tooth
        ISO 3950 number.
    facts
        Header facts of the image.

    Notes
    -----
    Image Laterality and Primary Anatomic Structure: PS3.3 C.8.11.9. Patient Orientation (PS3.3 C.7.6.1.1.1)
    names the direction of increasing column, then of increasing row. In the dentist's view the patient's right
    lies at the left of the image, so the columns of a tooth on the right run towards the front of the mouth or to
    the left; the crowns of upper teeth point down.
    """
    letter = side(tooth)[0].upper()
    if facts.image_laterality in ("R", "L") and facts.image_laterality != letter:
        yield Finding(
            "laterality",
            f"The header says side {facts.image_laterality}, but tooth {tooth} is on the {side(tooth)}.",
            "Check the tooth number and whether the image is mirrored.",
            "serious",
        )
    if facts.tooth_codes and tooth not in facts.tooth_codes:
        yield Finding(
            "tooth-not-in-header",
            f"The header names tooth {', '.join(facts.tooth_codes)}, not {tooth}.",
            "Check the tooth number.",
            "serious",
        )
    if facts.patient_orientation is not None:
        yield from _rows_and_columns(tooth, *facts.patient_orientation)


def _rows_and_columns(tooth: str, columns: str, rows: str) -> Iterator[Finding]:
    right = side(tooth) == "right"
    mirrored = {"A": not right, "P": right, "L": False, "R": True}
    if mirrored.get(columns[:1], False):
        yield Finding(
            "orientation-mirrored",
            f"Patient Orientation runs towards {columns} across the image; tooth {tooth} on the {side(tooth)} "
            "would be seen mirrored.",
            "Check the side, and view the image as a dentist faces the patient.",
            "serious",
        )
    if rows[:1] == "H":
        yield Finding(
            "orientation-upside-down",
            f"Patient Orientation runs towards the head down the image; the {arch(tooth)} tooth is upside down.",
            "Check whether it is an upper or a lower tooth.",
        )
