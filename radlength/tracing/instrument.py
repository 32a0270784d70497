"""An instrument in a canal, from two rough clicks: its axis and its tip. The one place that knows the order of steps.

The face of the stop stays the click of a person; see :mod:`radlength.tracing.suggest` for a suggestion.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.finding import Finding
from radlength.geometry import Assist
from radlength.geometry.path import equal_steps, polyline_length
from radlength.imaging import Radiograph
from radlength.tracing.anchors import pixel_mm
from radlength.tracing.evidence import Polarity
from radlength.tracing.grey import bright_grey, grey_ends
from radlength.tracing.instrument_axis import ROW_MM, Axis, rough_axes
from radlength.tracing.instrument_clicks import check_clicks
from radlength.tracing.instrument_doubt import (
    DARK,
    instrument_confidence,
    instrument_doubts,
    only_which,
    white,
)
from radlength.tracing.instrument_signs import InstrumentSigns, instrument_signs
from radlength.tracing.pair_ends import pair_ends, pair_strip
from radlength.tracing.pair_whole import whole_ends
from radlength.tracing.tip import End, find_end
from radlength.tracing.tip_choice import Seen, choose, which_u_mm
from radlength.trade.tip_shapes import TipOffset, tip_offset

FloatArray = NDArray[np.float64]

METHOD = "instrument tip"
VERSION = "8"
PATH_MM = 0.15
CLICK_SD_MM = 0.25
"""How well a click tells the tip: people scatter by about 0.2 mm."""
U_WHITE_MM = 0.02
"""Standard uncertainty that white without detail adds to that of a tip, by simulated images."""
JUMP_MM, OVER_MM = 0.1, 3.0
"""Where the last millimetres lie further beside the rough line, it is left this much before them."""
TWO = 1.35
"""How much better two lines are, as a ratio, where both were fitted as a whole."""
OWN_MM, BEYOND_MM = 0.3, 0.8
"""Ends this near to either of them, or to where it would go on, are theirs or none."""
WEAKER = 12.0
"""Of two lines near the tip one half as strong is this much times log 2 less likely to be meant."""


@dataclass(frozen=True, slots=True, eq=False)
class FoundInstrument:
    """A suggested instrument.

    Parameters
    ----------
    path_px
        (row, column) points every 0.15 mm from the click at the stop, kept as it is, to the tip, shape (N, 2).
    axis_px
        The axis alone, from beside that click to the tip, shape (M, 2).
    tip_px
        (row, column) of the tip: the edge seen, and beyond it what the point's form hides.
    u_tip_mm
        Standard uncertainty of the tip along the axis, millimetres on the detector.
    offset
        How far beyond the edge the tip was placed, and why.
    confidence
        From 0 to 1: how likely the tip is within 0.3 mm, given that the instrument meant is one of the lines seen.
    trusted
        Whether nothing speaks against it. An untrusted one is to be drawn differently and placed by hand.
    findings
        What speaks against it, and what is worth knowing.
    method, version
        How it was made.
    signs
        The numbers behind the findings.
    """

    path_px: FloatArray
    axis_px: FloatArray
    tip_px: FloatArray
    u_tip_mm: float
    offset: TipOffset
    confidence: float
    trusted: bool
    findings: tuple[Finding, ...]
    method: str = METHOD
    version: str = VERSION
    signs: InstrumentSigns | None = field(default=None, repr=False)

    def points_px(self, count: int = 8) -> FloatArray:
        """Return `count` points at equal steps along the path, its ends included, shape (count, 2)."""
        return equal_steps(self.path_px, count)

    def assist(self, count: int = 8) -> Assist:
        """Return what a record says of :meth:`points_px`: all but the click at the stop were placed by this program.

        Raises
        ------
        MarkError
            Fewer than two points.
        """
        return Assist(1, count - 1, self.method, self.version, self.confidence)


def find_instrument(
    radiograph: Radiograph,
    start_px: ArrayLike,
    tip_px: ArrayLike,
    *,
    size: float | None = None,
    taper: float | None = None,
    tip_form: str | None = None,
    stated_pixel_mm: float | None = None,
    polarity: Polarity = "auto",
) -> FoundInstrument:
    """Return the suggested axis and tip of an instrument between two rough clicks.

    Parameters
    ----------
    radiograph
        The image.
    start_px
        Click at the face of the stop, (row, column) pixels. It is kept as it is.
    tip_px
        Click near the tip, within some tenths of a millimetre.
    size, taper, tip_form
        What is known of the instrument, see :func:`radlength.trade.tip_shapes.tip_offset`; what is not known makes
        the uncertainty of the tip larger.
    stated_pixel_mm
        Size of a pixel where the file states none; assumed from the size of the image otherwise.
    polarity
        ``"bright"`` or ``"dark"`` metal; ``"auto"`` looks for bright metal first, and for dark where it finds none.

    Notes
    -----
    A strip along the clicks; the bright line in it by dynamic programming (Viterbi); its axis smoothed; along the axis
    the height of the line over its surroundings; the place of the edge where that height falls, every place tried;
    the last steps three times over. Where two lines run side by side, each is fitted with the metal of the other taken
    out; where their shadows lie on one another, both are fitted to the image as a whole. Of all ends seen near the
    click the likeliest is taken.

    Raises
    ------
    MarkError
        Clicks no instrument can lie between; see :func:`radlength.tracing.instrument_clicks.check_clicks`.
    TradeError
        A size, taper or form that is not in the table.
    ImageError
        A stated size of a pixel that no detector has.

    Examples
    --------
    >>> rows, columns = np.mgrid[:500, :120]
    >>> edge = np.clip((400.2 - rows) / 2 + 0.5, 0, 1)
    >>> grey = 90 + 100 * edge * np.exp(-0.5 * ((columns - 60) / 3.0) ** 2) + rows % 3
    >>> image = Radiograph.from_array(grey.astype(np.uint8), row_mm=0.03, column_mm=0.03)
    >>> found = find_instrument(image, (20, 61), (395, 63), size=15, tip_form="rounded")
    >>> bool(abs(found.tip_px - (401.1, 60)).max() < 0.5), found.trusted, found.method
    (True, True, 'instrument tip')
    """
    offset = tip_offset(size, taper, tip_form)
    side_mm, said = pixel_mm(radiograph, stated_pixel_mm)
    start_mm, click_mm = check_clicks(radiograph, start_px, tip_px, side_mm)
    dark = radiograph.facts.photometric == "MONOCHROME1"
    if polarity != "auto":
        dark = polarity == "dark"
    found = _look(radiograph, (start_mm, click_mm), side_mm, offset, dark=dark)
    if polarity == "auto" and not found.trusted and not only_which(found.findings):
        other = _look(radiograph, (start_mm, click_mm), side_mm, offset, dark=not dark)
        if other.trusted:
            found = replace(other, trusted=False, findings=(*other.findings, DARK))
    trusted = found.trusted and all(one.severity == "note" for one in said)
    return replace(found, findings=(*said, *found.findings), trusted=trusted)


def _look(
    radiograph: Radiograph,
    clicks_mm: tuple[FloatArray, FloatArray],
    side_mm: FloatArray,
    offset: TipOffset,
    *,
    dark: bool,
) -> FoundInstrument:
    grey = bright_grey(radiograph, dark=dark)
    axis, end, meant, better = _end_meant(grey, clicks_mm, side_mm, offset)
    signs = instrument_signs(grey, axis, end, clicks_mm, side_mm, grey_ends(radiograph))
    signs = replace(signs, meant=meant, better=better)
    doubts = instrument_doubts(signs, sure=end.sure)
    tip_mm = _tip(end, offset)
    line = _joined(axis, end, tip_mm)
    path = equal_steps(line, max(round(polyline_length(line) / PATH_MM), 2) + 1)
    path[0] = clicks_mm[0]
    return FoundInstrument(
        path_px=path / side_mm,
        axis_px=line / side_mm,
        tip_px=tip_mm / side_mm,
        u_tip_mm=math.hypot(offset.u_mm, end.u_mm, U_WHITE_MM if white(signs) else 0.0),
        offset=offset,
        confidence=instrument_confidence(end, signs),
        trusted=all(one.severity == "note" for one in doubts),
        findings=doubts,
        signs=signs,
    )


def _end_meant(
    grey: NDArray[np.generic],
    clicks_mm: tuple[FloatArray, FloatArray],
    side_mm: FloatArray,
    offset: TipOffset,
) -> tuple[Axis, End, float, float]:
    """Return the axis and the end that are meant, how sure that is, and how much better two lines explain the image."""
    click = clicks_mm[1]
    axes = rough_axes(grey, *clicks_mm, side_mm)
    ends = [find_end(grey, axis.points_mm, click, side_mm, guess_sd_mm=CLICK_SD_MM) for axis in axes]
    strength = [max(float(np.median(axis.stands_out[-45:-15])), 1e-3) for axis in axes]
    first = int(np.argmax(_likely(strength, ends, click)))
    strip = pair_strip(grey, axes[first].points_mm, click, side_mm)
    others, both = pair_ends(strip, guess_sd_mm=CLICK_SD_MM), whole_ends(strip, ends[first])
    seen = [Seen(end, _tip(end, offset), strong) for end, strong in zip(ends, strength, strict=True)]
    seen += [Seen(end, _tip(end, offset)) for end in others.ends]
    seen += [Seen(end, _tip(end, offset), on_one=True) for end in others.on_one]
    better = others.better
    if both:
        seen = [one for one in seen if not _explained(one.end, both)]
        seen += [Seen(end, _tip(end, offset)) for end in both]
        better = max(better, TWO)
    best, meant = choose(seen, click, better)
    found = seen[best].end
    end = replace(found, u_mm=math.hypot(found.u_mm, which_u_mm(seen, click, better)))
    own = next((axis for axis, one in zip(axes, ends, strict=True) if one is found), None)
    return own or min(axes, key=lambda one: _away(one, end.axis_mm[0])), end, meant, better


def _explained(end: End, both: tuple[End, ...]) -> bool:
    """Return whether an end lies on or near two lines that were fitted, so that it is one of theirs or none."""
    return any(
        np.hypot(*(one.axis_mm - end.point_mm).T).min() < OWN_MM
        or (
            0 < (end.point_mm - one.point_mm) @ one.along < BEYOND_MM
            and abs((end.point_mm - one.point_mm) @ [-one.along[1], one.along[0]]) < OWN_MM
        )
        for one in both
    )


def _tip(end: End, offset: TipOffset) -> FloatArray:
    return np.asarray(end.point_mm + offset.mm * end.along)


def _away(axis: Axis, point_mm: FloatArray) -> float:
    return float(np.hypot(*(axis.points_mm - point_mm).T).min())


def _likely(strength: list[float], ends: list[End], click_mm: FloatArray) -> list[float]:
    """Return how likely each line is the one meant: near the click, strong, with an end there; logarithms."""
    return [
        -0.5 * (float(np.hypot(*(end.point_mm - click_mm))) / CLICK_SD_MM) ** 2
        + WEAKER * float(np.log(strong / max(strength)))
        + min(end.gain, 10.0)
        for end, strong in zip(ends, strength, strict=True)
    ]


def _joined(axis: Axis, end: End, tip_mm: FloatArray) -> FloatArray:
    """Return the axis: the rough one up to the last millimetres, the fine one from there, the tip."""
    first = end.axis_mm[0]
    until = int(np.hypot(*(axis.points_mm - first).T).argmin())
    if _away(axis, first) > JUMP_MM:
        until = max(until - round(OVER_MM / ROW_MM), 1)
    return np.vstack([axis.points_mm[:until], end.axis_mm[:-1], tip_mm])
