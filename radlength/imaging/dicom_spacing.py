"""What the scale attributes of a DICOM header mean, and how far to believe them.

Source: PS3.3 10.7.1 (Pixel Spacing, its calibration type), C.8.11.4 and C.8.11.5 (Imager Pixel Spacing, DX
Positioning), C.8.7 (Estimated Radiographic Magnification Factor = SID / SOD).
"""

from __future__ import annotations

import math
from typing import Any

from radlength.finding import Finding
from radlength.imaging.pitch import LARGEST_MM, MOST_UNEQUAL, SMALLEST_MM
from radlength.imaging.radiograph import HeaderScale

MOST_MAGNIFIED = 1.5
"""Largest magnification taken from a header; no intra-oral image comes near it (common practice, no source)."""

LARGEST_PICTURE_MM = 100.0
"""Longest side of an intra-oral picture; the largest receptor, for occlusal views, is 57 x 76 mm (from memory)."""

SAME_SHARE, DISTANCE_SHARE = 1e-3, 0.02
"""Two spacings within the first share are equal; two magnifications within the second agree."""

MOST_ROUNDED = 0.03
"""Share of a spacing that rounding may have added: 0.0005 mm, half of the third decimal, to a pixel of 0.017 mm."""

Pair = tuple[float, float]


def header_scale(dataset: Any) -> tuple[HeaderScale, list[Finding]]:
    """Return the scale of a header and its findings.

    Parameters
    ----------
    dataset
        A pydicom data set.

    Notes
    -----
    Precedence: FIDUCIAL, GEOMETRY, a patient spacing that differs from the detector's, the detector spacing. Pixel
    Spacing alone cannot be told from either. Of two that contradict each other none is used: which one was left behind
    when the picture was resized, nothing tells. One that is the detector's with fewer decimals contradicts nothing.
    """
    findings: list[Finding] = []
    imager = _pair(dataset, "ImagerPixelSpacing", findings)
    scanned = _pair(dataset, "NominalScannedPixelSpacing", findings)
    twice = _stated_twice(imager, scanned)
    imager = imager or scanned
    patient = _pair(dataset, "PixelSpacing", findings)
    stated = imager or patient or _pair(dataset, "PixelAspectRatio", findings)
    proportions = _proportions(stated, findings)
    if stated is not None and proportions is None:
        imager = patient = None
    findings += _unlike_aspect(dataset, stated)
    doubt = _implausible("detector", imager) or _implausible("patient", patient)
    if doubt:
        findings.append(_ignored(doubt))
        imager = patient = None
    doubt = _too_large(dataset, imager or patient)
    if doubt:
        findings.append(_ignored(doubt))
        imager = patient = None
    if imager and patient and _rounded_up(imager, patient):
        findings.append(
            _ignored(
                f"The patient spacing of {patient[0]:g} mm is the detector's, {imager[0]:g} mm, rounded."
            )
        )
        patient = None
    doubt = _contradiction(imager, patient) or (twice if imager else "")
    if doubt:
        findings.append(_ignored(doubt, "Neither is used."))
        imager = patient = None
    magnification = _magnification(dataset, findings)
    _compare(magnification, imager, patient, findings)
    if patient is not None and imager == patient and _calibration(dataset):
        findings.append(_not_corrected(_calibration(dataset)))
    scale = _scale(dataset, imager, patient, magnification)
    if scale.row_mm is None and proportions is not None:
        words = "Proportions of a pixel only; no size that could be believed."
        scale = HeaderScale(*proportions, "none", magnification, words)
    return scale, findings


def _unlike_aspect(dataset: Any, stated: Pair | None) -> list[Finding]:
    """Say where a header states the proportions of a pixel twice, and not the same."""
    aspect = _pair(dataset, "PixelAspectRatio", [])
    if (
        aspect is None
        or stated is None
        or abs(aspect[0] / aspect[1] / (stated[0] / stated[1]) - 1) <= DISTANCE_SHARE
    ):
        return []
    return [
        Finding(
            "pixels-disputed",
            f"The header says that pixels are {stated[0]:g} down to {stated[1]:g} across, and elsewhere "
            f"{aspect[0]:g} to {aspect[1]:g}; the first is used.",
            "Look whether the picture is squeezed; if it is, export it with square pixels.",
        )
    ]


def _proportions(pair: Pair | None, findings: list[Finding]) -> Pair | None:
    """Return the proportions of a pixel, and say where its sides are unequal: every length across them follows."""
    if pair is None or abs(pair[0] / pair[1] - 1) <= SAME_SHARE:
        return pair
    told = f"{pair[0]:g} down to {pair[1]:g} across"
    if max(pair) / min(pair) > MOST_UNEQUAL:
        findings.append(_ignored(f"Pixels of {told} are no radiograph's; they are taken as square."))
        return None
    findings.append(
        Finding(
            "pixels-unequal",
            f"The header says that pixels are not square, {told}; lengths are measured so.",
            "Look whether the image is shown in its right proportions; receptors have square pixels.",
        )
    )
    return pair


def _implausible(which: str, pair: Pair | None) -> str:
    if pair is None or all(SMALLEST_MM <= side <= LARGEST_MM for side in pair):
        return ""
    return (
        f"The {which} spacing of {pair[0]:g} x {pair[1]:g} mm is not that of an intra-oral receptor "
        f"({SMALLEST_MM:g}-{LARGEST_MM:g})."
    )


def _too_large(dataset: Any, pair: Pair | None) -> str:
    rows, columns = dataset.get("Rows"), dataset.get("Columns")
    if pair is None or not (isinstance(rows, int) and isinstance(columns, int)):
        return ""
    down, across = rows * pair[0], columns * pair[1]
    if max(down, across) <= LARGEST_PICTURE_MM:
        return ""
    return (
        f"By its spacing the picture is {down:.0f} x {across:.0f} mm, larger than any intra-oral receptor: it is a "
        "view from outside the mouth, a sheet of several, or it was resized."
    )


def _stated_twice(imager: Pair | None, scanned: Pair | None) -> str:
    if imager is None or scanned is None or _same(imager, scanned):
        return ""
    return (
        f"The header states {imager[0]:g} x {imager[1]:g} mm as spacing at the detector and {scanned[0]:g} x "
        f"{scanned[1]:g} mm as spacing of a scan."
    )


def _same(one: Pair, other: Pair) -> bool:
    return all(abs(a / b - 1) <= SAME_SHARE for a, b in zip(one, other, strict=True))


def _rounded_up(imager: Pair, patient: Pair) -> bool:
    """Tell whether a spacing too large to be the patient's is the detector's, written with fewer decimals."""
    return all(
        1 + SAME_SHARE < told / exact <= 1 + MOST_ROUNDED and told - exact <= 0.501 * 10 ** -_decimals(told)
        for exact, told in zip(imager, patient, strict=True)
    )


def _decimals(number: float) -> int:
    return len(f"{number:.8f}".rstrip("0").partition(".")[2])


def _contradiction(imager: Pair | None, patient: Pair | None) -> str:
    if imager is None or patient is None:
        return ""
    down, across = imager[0] / patient[0], imager[1] / patient[1]
    if min(down, across) < 1 - SAME_SHARE:
        return (
            "The patient spacing is larger than the detector spacing: a magnification below 1 is impossible."
        )
    if abs(down / across - 1) > 10 * SAME_SHARE:
        return f"Patient and detector spacing differ by {down:.4g} down and by {across:.4g} across."
    if max(down, across) > MOST_MAGNIFIED:
        return f"The patient spacing implies a magnification of {down:.4g}, too much for an intra-oral image."
    return ""


def _compare(
    magnification: float | None, imager: Pair | None, patient: Pair | None, findings: list[Finding]
) -> None:
    """Say where a stated magnification and a corrected spacing do not fit each other."""
    if magnification is None or imager is None or patient is None:
        return
    implied = imager[0] / patient[0]
    if implied > 1 + SAME_SHARE and abs(implied / magnification - 1) > DISTANCE_SHARE:
        findings.append(
            Finding(
                "header-magnification",
                f"The header's magnification {magnification:.4g} disagrees with {implied:.4g}, by which its patient "
                "spacing was corrected.",
                "Mark a reference of known length.",
            )
        )


def _scale(dataset: Any, imager: Pair | None, patient: Pair | None, hint: float | None) -> HeaderScale:
    kind = _calibration(dataset) if imager != patient else ""
    if patient and kind == "FIDUCIAL":
        words = "Calibrated by an object of known size in the image, valid at its depth near the central ray."
        return HeaderScale(*patient, "fiducial", hint, words)
    if patient and (kind == "GEOMETRY" or (imager and not _same(imager, patient))):
        words = "Corrected for an assumed or known magnification at a depth that is not stated."
        return HeaderScale(*patient, "geometry", hint, words)
    if imager and hint is not None:
        words = f"Pitch at the detector; the header estimates a magnification of {hint:.4g}, which is a hint."
        return HeaderScale(*imager, "detector", hint, words)
    if imager:
        words = "Pitch at the detector: lengths read long by the magnification."
        return HeaderScale(*imager, "detector", None, words)
    if patient:
        words = "Pixel Spacing alone: it cannot be told whether it was corrected (PS3.3 10.7.1.1)."
        return HeaderScale(*patient, "undetermined", hint, words)
    return HeaderScale(magnification=hint)


def _calibration(dataset: Any) -> str:
    """Return how a header says that its spacing was calibrated, or nothing."""
    kind = str(_value(dataset, "PixelSpacingCalibrationType") or "").strip().upper()
    return kind if kind in ("FIDUCIAL", "GEOMETRY") else ""


def _not_corrected(kind: str) -> Finding:
    """Say that a spacing called calibrated is the detector's to the last digit, so not corrected (PS3.3 10.7.1.1)."""
    return Finding(
        "header-magnification",
        f"The header calls its spacing calibrated ({kind}), yet it is that of the detector, a magnification of 1; it "
        "is taken as not corrected.",
        "Mark a reference of known length.",
    )


def _pair(dataset: Any, keyword: str, findings: list[Finding]) -> Pair | None:
    value = _value(dataset, keyword)
    if value is None or value == "":
        return None
    parts = list(value) if hasattr(value, "__iter__") and not isinstance(value, str) else [value]
    if len(parts) != 2:
        findings.append(_ignored(f"{keyword} has {len(parts)} value(s), 2 needed (row\\column)."))
        return None
    try:
        row, column = (float(part) for part in parts)
    except (TypeError, ValueError):
        findings.append(_ignored(f"{keyword} is not a number pair (a decimal comma?)."))
        return None
    if not (math.isfinite(row) and math.isfinite(column) and row > 0 and column > 0):
        findings.append(_ignored(f"{keyword} {row}, {column}: must be positive (PS3.3 10.7.1.3)."))
        return None
    return row, column


def spacing_pair(dataset: Any, keyword: str) -> Pair | None:
    """Return a spacing of a header in millimetres, (down, across); ``None`` where it is no two positive numbers."""
    return _pair(dataset, keyword, [])


def _magnification(dataset: Any, findings: list[Finding]) -> float | None:
    stated = _number(dataset, "EstimatedRadiographicMagnificationFactor")
    to_detector = _number(dataset, "DistanceSourceToDetector")
    to_patient = _number(dataset, "DistanceSourceToPatient")
    by_distance = to_detector / to_patient if to_detector and to_patient else None
    if stated and by_distance and abs(stated / by_distance - 1) > DISTANCE_SHARE:
        findings.append(
            Finding(
                "header-magnification",
                f"The header's magnification {stated:g} disagrees with SID/SOD {by_distance:.4f}.",
                "Neither is used; mark a reference of known length.",
            )
        )
        return None
    hint = stated or by_distance
    if hint is not None and not 1.0 <= hint <= MOST_MAGNIFIED:
        findings.append(
            _ignored(f"The header's magnification {hint:.4g} is not possible for an intra-oral image.")
        )
        return None
    return hint


def _value(dataset: Any, keyword: str) -> Any:
    """Return an attribute, or a word that is no number where pydicom cannot read it."""
    try:
        return dataset.get(keyword)
    except (ArithmeticError, AttributeError, NotImplementedError, TypeError, ValueError):
        return ("unreadable", "unreadable")


def _number(dataset: Any, keyword: str) -> float | None:
    try:
        number = float(_value(dataset, keyword))
    except (TypeError, ValueError):
        return None
    return number if math.isfinite(number) and number > 0 else None


def _ignored(sentence: str, then: str = "The header's value is ignored.") -> Finding:
    return Finding(
        "header-scale-ignored",
        f"{sentence} {then}",
        "Mark a reference of known length, or export the image again.",
    )
