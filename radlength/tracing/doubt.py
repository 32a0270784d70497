"""What speaks against a trace, judged from its signs.

A sign that says enough by itself is a finding of its own; the rest are weighed together. Every limit was set on
simulated images (seeds below 10 000) so that they question at most 5 % of the traces that run wholly within 0.3 mm of
the canal; what share of the others they catch, the study of this project prints.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from radlength.finding import Finding
from radlength.tracing.corridor import HALF_MM, ROW_MM, Corridor
from radlength.tracing.order import quantile
from radlength.tracing.signs import LAST_ROWS, Signs
from radlength.tracing.together import together

FloatArray = NDArray[np.float64]

STRUCTURE = 0.5
"""Real images show 1.1 and more, simulated ones sharpened strongly 0.4 and more, canals too faint to follow 0.5 and
less, noise alone 0.35 and less."""
UNCLEAR = -0.2
"""Where a quarter of the path below its crown stands out less than this, no line is seen there."""
STRAY = 0.15
"""Mean probability, along the path, that the canal runs elsewhere."""
ONE_SIDED, EDGE_ALONE = 3.0, 12.0
"""Difference of the two sides in depths of the line, exceeded along a fifth of the path: an edge, beside another
doubt and by itself."""
HOOK_EDGE, HOOK_SEEN, HOOK_STRAY = 3.0, -0.1, 0.03
"""Difference of the sides, evidence, and probability of another course at the end of a trace that cuts a hook short:
all three together (half of such traces with 5 clicks; less than 1 % of good ones)."""
HOOK_APART_MM = 7.0
"""Where clicks are further apart on average, an end is often as unsure as that, and no more is said."""
HOOK_ROWS, HOOK_STRAY_ROWS, ROOT_ENDS = 14, 20, 3
"""Rows at the end that are looked at for it, for another course, and those where the root ends too."""
DOUBTED = 0.5
"""Of simulated traces with a doubt about half run wholly within 0.3 mm of the canal."""
CLICK_MM = 0.36
CURVE_MM = 0.38
BORDER_MM = HALF_MM - 0.1
HIDDEN_MM = 8.5
"""Length that metal of another canal covers, a stretch between two clicks on average."""
METAL_MM = 0.18
EVEN_SHARE = 0.2


def confidences(signs: Signs, corridor: Corridor, found: tuple[Finding, ...]) -> tuple[float, ...]:
    """Return for every stretch between clicks how likely the canal runs within 0.3 mm of the trace.

    It is the search's own probability where it is least, given that one of the lines it weighed is the canal. Where
    something speaks against the trace that is not given, and no stretch is more than `DOUBTED` likely. A trace that
    nothing speaks against is so by a probability of `STRAY` at most on average, but may be less sure at one place.

    Parameters
    ----------
    signs, corridor
        Those of the trace.
    found
        What speaks against it, from :func:`doubts`.
    """
    most = DOUBTED if any(one.severity != "note" for one in found) else 1.0
    at, _, _ = corridor.offsets()
    return tuple(
        float(np.clip(1 - signs.stray[start : stop + 1].max(), 0, most)) for start, stop in pairwise(at)
    )


def doubts(signs: Signs) -> tuple[Finding, ...]:
    """Return what speaks against a trace; nothing where nothing does.

    Parameters
    ----------
    signs
        Its signs.

    Notes
    -----
    In an even or saturated area only that is said: the rest means nothing there.
    """
    even = _even(signs)
    if even:
        return even
    looks = (_contrast, _edge, _paths, _corridor, _clicks, _metal, _hook)
    found = (look(signs) for look in looks)
    alone = tuple(one for one in found if one is not None)
    rest = None if alone else together(signs)
    return alone if rest is None else (rest,)


def _doubt(code: str, sentence: str, remedy: str = "Place the points between by hand.") -> Finding:
    return Finding(code, sentence, remedy)


def _even(signs: Signs) -> tuple[Finding, ...]:
    flat, saturated = signs.flat.mean(), signs.saturated.mean()
    if saturated > EVEN_SHARE:
        words = (
            f"{100 * saturated:.0f} % of the trace runs where the image is black or white without any detail."
        )
        return (
            _doubt(
                "trace-saturated", words, "Take an exposure that shows the root, or place the points by hand."
            ),
        )
    if flat > EVEN_SHARE:
        return (
            _doubt(
                "trace-flat", f"{100 * flat:.0f} % of the trace runs where the image shows nothing at all."
            ),
        )
    return ()


def _contrast(signs: Signs) -> Finding | None:
    if signs.structure < STRUCTURE:
        return _doubt("trace-low-contrast", "Around the trace the image shows hardly more than noise.")
    unclear = _unclear(signs)
    if unclear >= UNCLEAR or _one_sided(signs) > ONE_SIDED:
        return None
    return _doubt("trace-low-contrast", "Along more than a quarter of the trace no line is seen.")


def _edge(signs: Signs) -> Finding | None:
    sides = _one_sided(signs)
    if sides <= ONE_SIDED or (sides <= EDGE_ALONE and _unclear(signs) >= UNCLEAR):
        return None
    return _doubt(
        "trace-root-edge",
        "One side of the trace is much brighter than the other, as along the edge of a root.",
        "Look whether it lies in the canal; if not, place the points by hand.",
    )


def _paths(signs: Signs) -> Finding | None:
    stray = float(signs.stray.mean())
    if stray <= STRAY:
        return None
    where = signs.told(int(signs.stray.argmax()) * ROW_MM, 0)
    words = f"Another course is nearly as likely, most so {where} from the first click."
    return _doubt("trace-two-paths", words, "Click once more there, on the canal that is meant.")


def _corridor(signs: Signs) -> Finding | None:
    if np.abs(signs.across_mm).max() <= BORDER_MM:
        return None
    half = signs.told(HALF_MM)
    words = f"The trace reaches the border of its corridor, {half} from the curve through the clicks."
    return _doubt("trace-left-corridor", words, "Click once more in the bend.")


def _clicks(signs: Signs) -> Finding | None:
    off = float(signs.click_miss_mm.max(initial=0.0))
    if off > CLICK_MM:
        words = f"The trace passes a click at {signs.told(off)}."
        return _doubt(
            "trace-off-click", words, "Look whether the click or the trace is in the canal, and move it."
        )
    uneven = float(signs.curve_miss_mm.max())
    if uneven > CURVE_MM:
        words = f"No smooth curve runs through the clicks: one lies {signs.told(uneven)} beside it."
        return _doubt("trace-uneven-clicks", words, "Look at the clicks, and add one in a sharp bend.")
    return None


def _metal(signs: Signs) -> Finding | None:
    if signs.metal_miss_mm > METAL_MM:
        words = f"The bright line that was followed lies {signs.told(signs.metal_miss_mm)} from the clicks."
    elif signs.hidden.sum() * ROW_MM > HIDDEN_MM * (len(signs.click_miss_mm) + 1):
        words = (
            f"A bright line that the clicks are not on hides what lies within {signs.told(0.5)} of the trace."
        )
    else:
        return None
    return _doubt("trace-beside-metal", words, "Say which canal it lies in, or place the points by hand.")


def _hook(signs: Signs) -> Finding | None:
    if len(signs.seen) * ROW_MM > HOOK_APART_MM * (len(signs.click_miss_mm) + 1):
        return None
    beside = signs.edge[-HOOK_ROWS:-ROOT_ENDS].mean() > HOOK_EDGE
    unseen = signs.seen[-HOOK_ROWS:].mean() < HOOK_SEEN
    if not (beside and unseen and signs.stray[-HOOK_STRAY_ROWS:].max() > HOOK_STRAY):
        return None
    return _doubt(
        "trace-end-unsure",
        "Near its end the trace runs along one side of the root and no canal is seen: it may cut a sharp bend short.",
        "Click once more in the last bend, or place the points by hand.",
    )


def _unclear(signs: Signs) -> float:
    return quantile(signs.clear[signs.root], 0.25)


def _one_sided(signs: Signs) -> float:
    root = signs.edge[signs.root][:-LAST_ROWS]
    return quantile(root, 0.8) if len(root) else 0.0
