"""What a report tells of marks beside their points, written and read here: without it they give another interval.

The spread of the marks, a pitch stated by hand, who placed which points, the shape of an instrument. Each is one text.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from radlength.dicom.errors import DicomError
from radlength.geometry import Assist
from radlength.imaging import Radiograph
from radlength.scale import Reference
from radlength.uncertainty import Marking

INVENTED = " (invented data)"
"""Ends the status of what is invented."""

_SPREAD = "spread of marks, mm, 1 SD: "
_PITCH = "detector pitch stated by hand, mm: "
_SHAPE = ("size", "taper", "tip form")


def spread_words(marking: Marking) -> str:
    """Return the spread of the marks.

    Examples
    --------
    >>> spread_words(Marking())
    'spread of marks, mm, 1 SD: apex 0.3, stop 0.1, tip 0.1, path 0.1'
    """
    return (
        f"{_SPREAD}apex {marking.apex_mm:g}, stop {marking.stop_mm:g}, tip {marking.tip_mm:g}, "
        f"path {marking.path_mm:g}"
    )


def spread_of(texts: Iterable[str]) -> Marking | None:
    """Return the spread that one of the texts states, or ``None``.

    Examples
    --------
    >>> spread_of(["coverage", spread_words(Marking(apex_mm=0.6))]).apex_mm
    0.6
    """
    said = _after(_SPREAD, texts)
    if said is None:
        return None
    apex, stop, tip, path = _numbers(r"apex (\S+), stop (\S+), tip (\S+), path (\S+)", said)
    return Marking(apex_mm=apex, stop_mm=stop, tip_mm=tip, path_mm=path)


def pitch_words(pitch_mm: tuple[float, float]) -> str:
    """Return a pitch that a person stated, down and across.

    Examples
    --------
    >>> pitch_words((0.025, 0.03))
    'detector pitch stated by hand, mm: 0.025 down, 0.03 across'
    """
    return f"{_PITCH}{float(pitch_mm[0])!r} down, {float(pitch_mm[1])!r} across"


def pitch_of(texts: Iterable[str]) -> tuple[float, float] | None:
    """Return the pitch that one of the texts states, or ``None``."""
    said = _after(_PITCH, texts)
    if said is None:
        return None
    down, across = _numbers(r"(\S+) down, (\S+) across", said)
    return down, across


def assist_words(assist: Assist) -> str:
    """Return which points a program placed, counted from 1.

    Examples
    --------
    >>> assist_words(Assist(1, 6, "canal trace", "8", 0.9))
    'points 2 to 7, confidence 0.9, version 8, canal trace'
    """
    points = f"points {assist.first + 1} to {assist.last + 1}"
    return f"{points}, confidence {float(assist.confidence)!r}, version {assist.version}, {assist.method}"


def assist_of(text: str) -> Assist:
    """Return what :func:`assist_words` says.

    Examples
    --------
    >>> assist_of("points 2 to 7, confidence 0.9, version 8, canal trace")
    Assist(first=1, last=6, method='canal trace', version='8', confidence=0.9)
    """
    found = re.fullmatch(r"points (\d{1,6}) to (\d{1,6}), confidence (\S+), version (.+?), (.+)", text)
    if found is None:
        raise _unread(text)
    first, last, confidence, version, method = found.groups()
    return Assist(int(first) - 1, int(last) - 1, method, version, _number(confidence))


def shape_words(reference: Reference) -> str:
    """Return what is known of the shape of an instrument, nothing where nothing is.

    Examples
    --------
    >>> shape_words(Reference([(0, 0), (9, 0)], 21.0, size=15, tip_form="cone"))
    'size 15, tip form cone'
    """
    said = zip(_SHAPE, (reference.size, reference.taper, reference.tip_form), strict=True)
    return ", ".join(f"{what} {value}" for what, value in said if value is not None)


def shape_of(text: str) -> dict[str, Any]:
    """Return the shape as fields of a reference.

    Examples
    --------
    >>> shape_of("size 15, tip form cone")
    {'size': 15.0, 'taper': None, 'tip_form': 'cone'}
    """
    found = re.fullmatch(r"(?:size (\S+?))?(?:, )?(?:taper (\S+?))?(?:, )?(?:tip form (.+))?", text)
    if found is None:
        raise _unread(text)
    size, taper, form = found.groups()
    return {"size": size and _number(size), "taper": taper and _number(taper), "tip_form": form}


def pixel_words(radiograph: Radiograph) -> str:
    """Return the hash of an image's pixels and what it is over."""
    return f"{radiograph.hash_rule} {radiograph.pixel_sha256}"


def other_pixels(text: str, radiograph: Radiograph) -> bool:
    """Tell whether a report was made on other pixels; where two rules cannot be compared nothing is known."""
    rule, _, digest = text.partition(" ")
    return rule == radiograph.hash_rule and digest != radiograph.pixel_sha256


def _after(start: str, texts: Iterable[str]) -> str | None:
    return next((text.removeprefix(start) for text in texts if text.startswith(start)), None)


def _numbers(pattern: str, text: str) -> tuple[float, ...]:
    found = re.fullmatch(pattern, text)
    if found is None:
        raise _unread(text)
    return tuple(map(_number, found.groups()))


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise _unread(text) from None


def _unread(text: str) -> DicomError:
    return DicomError(f"it says {text[:60]!r} where radlength says something else", code="sr-incomplete")
