"""The line of a canal between a few clicks, with how far to trust it.

The one place that knows the order of the steps. The ends stay the clicks of a person.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.finding import Finding
from radlength.geometry import Assist, Curve, fit_curve
from radlength.geometry.curve import MAX_DEGREE
from radlength.geometry.path import equal_steps
from radlength.imaging import Radiograph
from radlength.tracing.anchors import assumed_mm, check_anchors, pixel_mm
from radlength.tracing.corridor import Corridor, corridor_through, straighten
from radlength.tracing.doubt import confidences, doubts
from radlength.tracing.evidence import Polarity, weigh
from radlength.tracing.grey import grey_ends
from radlength.tracing.hook import hooked
from radlength.tracing.look import Look, hook_or_usual
from radlength.tracing.search import likely_courses
from radlength.tracing.signs import Signs, signs_of
from radlength.tracing.smooth import smooth_course

FloatArray = NDArray[np.float64]

METHOD = "canal trace"
VERSION = "11"
LEFT_PX = 0.5
"""A path further beyond the edge of the image has left it."""
ENOUGH = (12, 16)
"""Points that carry a curve of the usual degree, and of the higher one."""


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """A suggested course of a canal.

    Parameters
    ----------
    path_px
        (row, column) points along it every 0.15 mm, shape (N, 2), from the first click to the last.
    anchors_px
        The clicks, shape (K, 2); the first and the last are the ends of the path.
    confidence
        For every stretch between two clicks, from 0 to 1: how likely the canal runs within 0.3 mm of the path;
        0.5 at most where something speaks against it.
    trusted
        Whether nothing speaks against it. An untrusted trace is to be drawn differently and placed by hand.
    findings
        What speaks against it, and what is worth knowing.
    method, version
        How it was made.
    signs
        The numbers behind the findings.
    """

    path_px: FloatArray
    anchors_px: FloatArray
    confidence: tuple[float, ...]
    trusted: bool
    findings: tuple[Finding, ...]
    method: str = METHOD
    version: str = VERSION
    signs: Signs | None = field(default=None, repr=False)

    @property
    def curve(self) -> Curve:
        """The pinned curve through the path, whose length is the length of the canal in pixels."""
        return fit_curve(self.path_px)

    @property
    def enough(self) -> int:
        """How many points at equal steps carry the pinned curve: 12, and 16 where the canal turns sharply."""
        return ENOUGH[self.curve.degree > MAX_DEGREE]

    def points_px(self, count: int | None = None) -> FloatArray:
        """Return `count` points at equal steps along the path, its ends included, shape (count, 2).

        By default as many as a canal's record needs to keep it: the pinned curve through them is that through all.
        """
        return equal_steps(self.path_px, count or self.enough)

    def assist(self, count: int | None = None) -> Assist:
        """Return what a record says of :meth:`points_px`: all but the two ends were placed by this program.

        Raises
        ------
        MarkError
            Fewer than three points, of which none is the program's.
        """
        return Assist(1, (count or self.enough) - 2, self.method, self.version, min(self.confidence))


def trace_canal(
    radiograph: Radiograph,
    anchors_px: ArrayLike,
    *,
    stated_pixel_mm: float | None = None,
    polarity: Polarity = "auto",
) -> Trace:
    """Return the suggested course of a canal through two to eight clicks.

    Parameters
    ----------
    radiograph
        The image.
    anchors_px
        Clicks in order along the canal, (row, column) pixels, shape (N, 2). The first and the last, the reference
        point and the apex, stay where they are; those between are taken to be good to about 0.1 mm.
    stated_pixel_mm
        Size of a pixel where the file states none; assumed from the size of the image and of the path otherwise.
    polarity
        ``"auto"``: a dark canal, or the bright line of an instrument or a filling that the clicks lie on.
        ``"dark"``: never a bright line. ``"bright"``: a bright line only, or an empty canal on an inverted image; an
        instrument there is dark, and followed only where the image's facts say ``MONOCHROME1``.

    Notes
    -----
    The work grows with the length of the path, not with the image; nothing depends on what lies more than 3 mm from
    the curve through the clicks.

    Raises
    ------
    MarkError
        Clicks no canal can run through; see :func:`radlength.tracing.anchors.check_anchors`.
    ImageError
        A stated size of a pixel that no detector has.

    Examples
    --------
    >>> rows, columns = np.mgrid[:400, :120]
    >>> grey = 150 - 40 * np.exp(-0.5 * ((columns - 60) / 6.0) ** 2)
    >>> image = Radiograph.from_array(grey.astype(np.uint8), row_mm=0.05, column_mm=0.05)
    >>> found = trace_canal(image, [(20, 60), (200, 63), (380, 60)])
    >>> bool(abs(found.path_px[:, 1] - 60).max() < 2), found.method
    (True, 'canal trace')
    """
    side_mm, said = pixel_mm(radiograph, stated_pixel_mm, anchors_px)
    anchors_mm = check_anchors(anchors_px, radiograph, side_mm, assumed_mm=assumed_mm(side_mm, said))
    corridor = corridor_through(anchors_mm)
    found = _follow(radiograph, corridor, side_mm, polarity, said)
    clicks = np.array(anchors_px, dtype=np.float64)
    found.path_px[[0, -1]] = clicks[[0, -1]]
    return replace(found, anchors_px=clicks)


def _follow(
    radiograph: Radiograph,
    corridor: Corridor,
    side_mm: FloatArray,
    polarity: Polarity,
    said: tuple[Finding, ...],
) -> Trace:
    look = _look(radiograph, corridor, side_mm, polarity)
    sharper = hooked(look.courses.chain, corridor)
    if sharper is not None:
        look = hook_or_usual(look, _look(radiograph, sharper, side_mm, polarity))
    signs = signs_of(
        look.strip,
        look.corridor,
        look.evidence,
        look.courses,
        look.across_mm,
        grey_ends(radiograph),
        bright_roots=polarity != "bright",
        assumed_mm=assumed_mm(side_mm, said),
    )
    path, left = _on_image(look.path_mm / side_mm, radiograph.shape)
    found = (*doubts(signs), *left)
    return Trace(
        path_px=path,
        anchors_px=corridor.anchors_mm / side_mm,
        confidence=confidences(signs, look.corridor, found),
        trusted=all(one.severity == "note" for one in (*said, *found)),
        findings=(*said, *found),
        signs=signs,
    )


def _on_image(path_px: FloatArray, shape: tuple[int, int]) -> tuple[FloatArray, tuple[Finding, ...]]:
    """Return a path held at the edge of the image, where nothing is seen beyond, and the doubt where it left it."""
    held = np.clip(path_px, -0.5, np.array(shape) - 0.5)
    if np.abs(held - path_px).max() <= LEFT_PX:
        return held, ()
    left = Finding(
        "trace-left-image",
        "The trace left the image and is held at its edge.",
        "Take an image that shows the whole canal, or place the points by hand.",
    )
    return held, (left,)


def _look(radiograph: Radiograph, corridor: Corridor, side_mm: FloatArray, polarity: Polarity) -> Look:
    strip = straighten(radiograph.stored, corridor, side_mm)
    if (radiograph.facts.photometric == "MONOCHROME1") != (polarity == "bright"):
        strip = -strip
    evidence = weigh(strip, corridor, polarity)
    courses = likely_courses(evidence.weight, corridor)
    return Look(corridor, strip, evidence, courses, smooth_course(courses, evidence.place))
