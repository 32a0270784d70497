"""What the scale attributes of a DICOM header mean, and how far to believe them.

Source: PS3.3 10.7.1 (Pixel Spacing, its calibration type), C.8.11.4 and C.8.11.5 (Imager Pixel Spacing, DX
Positioning), C.8.7 (Estimated Radiographic Magnification Factor = SID / SOD).
"""

from __future__ import annotations

import math
from typing import Any

from radlength.finding import Finding
from radlength.imaging.radiograph import HeaderScale

SMALLEST_MM, LARGEST_MM = 0.005, 0.2
"""Pitch of intra-oral receptors, in millimetres, with room on both sides."""

MOST_MAGNIFIED = 1.5
"""Largest magnification taken from a header; no intra-oral image comes near it (common practice, no source)."""

MOST_UNEQUAL = 3.0
"""Longest side of a pixel in its shortest; receptors have square pixels (common practice, no source)."""

SAME_SHARE, DISTANCE_SHARE = 1e-3, 0.02
"""Two spacings within the first share are equal; two magnifications within the second agree."""

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
    Spacing alone cannot be told from either.
    """
    findings: list[Finding] = []
    imager = _pair(dataset, "ImagerPixelSpacing", findings) or _pair(
        dataset, "NominalScannedPixelSpacing", findings
    )
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
    doubt = _contradiction(imager, patient)
    if doubt:
        findings.append(_ignored(doubt))
        patient = None
    magnification = _magnification(dataset, findings)
    _compare(magnification, imager, patient, findings)
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
    kind = str(_value(dataset, "PixelSpacingCalibrationType") or "").strip().upper()
    if patient and kind == "FIDUCIAL":
        words = "Calibrated by an object of known size in the image, valid at its depth near the central ray."
        return HeaderScale(*patient, "fiducial", hint, words)
    differs = (
        imager and patient and any(abs(i / p - 1) > SAME_SHARE for i, p in zip(imager, patient, strict=True))
    )
    if patient and (kind == "GEOMETRY" or differs):
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


def _ignored(sentence: str) -> Finding:
    return Finding(
        "header-scale-ignored",
        f"{sentence} The header's value is ignored.",
        "Mark a reference of known length, or export the image again.",
    )
