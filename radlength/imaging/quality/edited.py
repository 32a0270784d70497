"""What the file says of editing: a list of editing steps in its metadata. No program is named."""

from __future__ import annotations

from radlength.errors import ImageError
from radlength.imaging.limits import read_bytes
from radlength.imaging.quality.measure import Measure, not_measured
from radlength.imaging.radiograph import Radiograph

SOURCE = "xmpMM:History with stEvt events (XMP, ISO 16684-1, from memory)"
_SIGNS = (b"xmpMM:History", b"stEvt:action")


def edit_history(radiograph: Radiograph) -> Measure:
    """Return whether the file lists editing steps; its absence proves nothing."""
    if radiograph.path is None or radiograph.facts.format == "dicom":
        return not_measured("edit_history", "yes/no", "The file has no place for editing steps.", SOURCE)
    try:
        data = read_bytes(radiograph.path)
    except (ImageError, OSError):
        return not_measured("edit_history", "yes/no", "The file can no longer be read.", SOURCE)
    listed = any(sign in data for sign in _SIGNS)
    return Measure(
        "edit_history",
        float(listed),
        "yes/no",
        "doubt" if listed else "good",
        "The file lists steps of editing." if listed else "The file lists no steps of editing.",
        SOURCE,
        "Use the first file, as it was exported from where it was taken.",
    )


def pixel_aspect(radiograph: Radiograph) -> Measure:
    """Return the proportion of a pixel's sides as the header states it."""
    scale = radiograph.scale
    source = "DICOM PS3.3 10.7.1.3: row spacing, then column spacing; a stretched image has unequal sides"
    if scale.row_mm is None or scale.column_mm is None:
        return not_measured("pixel_aspect", "1", "The file states no size of a pixel.", source)
    aspect = scale.row_mm / scale.column_mm
    doubt = abs(aspect - 1) > 0.005
    return Measure(
        "pixel_aspect",
        aspect,
        "1",
        "doubt" if doubt else "good",
        f"A pixel is {aspect:.4g} times as high as wide by the header; more than 0.5 % from square is a doubt.",
        source,
        "Lengths are corrected for it if the header is right; check it with a ball or square of known size.",
    )
