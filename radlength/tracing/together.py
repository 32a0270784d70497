"""What the signs of a trace say together, where none of them says enough by itself.

A logistic model of whether any point of a trace lies more than 0.3 mm from the canal, fitted to simulated images
(``tests/reference/tracing_together.py``, seeds below 10 000), rounded by hand.
"""

from __future__ import annotations

import numpy as np

from radlength.finding import Finding
from radlength.tracing.corridor import ROW_MM
from radlength.tracing.order import quantile
from radlength.tracing.signs import USUAL_OUTER, Signs

WEIGHTS = {
    "start": -3.1,
    "bare": -2.8,
    "elsewhere": 4.35,
    "click": 2.7,
    "seen": -1.2,
    "metal": 0.45,
    "apart": -2.9,
    "outer": 1.2,
}
"""Of each of :func:`looks`; that of `start` holds the limit too."""
LIMIT = 0.0
"""Sum above which a trace is questioned."""
USUAL = {"elsewhere": 0.5, "click": 0.15, "seen": 0.8, "metal": 0.0, "outer": 0.0}
"""What those that can be told as a reason usually are for a trace that holds."""
LEAST = 0.01
"""A probability of another course below this says nothing."""


def looks(signs: Signs) -> dict[str, float]:
    """Return what the model looks at, by the names of `WEIGHTS`.

    Parameters
    ----------
    signs
        Those of a trace.

    Notes
    -----
    Each is held within what simulated traces show. How far clicks are apart and how bright it is farther beside mean
    something only where the trace follows no metal.
    """
    seen = quantile(signs.seen[signs.root], 0.25)
    bare = not signs.metal.any()
    apart_mm = len(signs.seen) * ROW_MM / (len(signs.click_miss_mm) + 1)
    return {
        "start": 1.0,
        "bare": float(bare),
        "elsewhere": float(np.log10(LEAST + 1 - signs.kept)) + 2,
        "click": 10 * min(float(signs.click_miss_mm.max(initial=0.0)), 0.6) ** 2,
        "seen": float(np.clip(seen, -0.8, 1.6)),
        "metal": 100 * signs.metal_miss_mm**2,
        "apart": float(np.log(np.clip(apart_mm, 3.0, 13.0) / 8.0)) if bare else 0.0,
        "outer": float(np.clip(signs.outer, -2, 2)) - USUAL_OUTER if bare else 0.0,
    }


def against(signs: Signs) -> float:
    """Return how much the signs speak against a trace together; more than `LIMIT` questions it.

    The logarithm of the odds that it fails, among simulated traces with hard ones among them, less a limit of 0.3.
    """
    return _sum(looks(signs))


def _sum(told: dict[str, float]) -> float:
    return sum(WEIGHTS[name] * one for name, one in told.items())


def together(signs: Signs) -> Finding | None:
    """Return the finding that signs make together, or ``None``."""
    told = looks(signs)
    if _sum(told) <= LIMIT:
        return None
    reasons = {
        "elsewhere": f"that the canal may run elsewhere {signs.told(_elsewhere_mm(signs), 0)} from the first click",
        "click": f"that it passes a click at {signs.told(signs.click_miss_mm.max(initial=0.0))}",
        "seen": "how little of a canal is seen along it",
        "outer": "that it is as dark near it as farther beside, as outside a root",
        "metal": f"that the bright line it follows lies {signs.told(signs.metal_miss_mm)} from the clicks",
    }
    most = max(reasons, key=lambda name: WEIGHTS[name] * (told[name] - USUAL[name]))
    return Finding(
        "trace-signs-together",
        f"Taken together, the signs speak against the trace, most of all {reasons[most]}.",
        "Look whether it lies in the canal; click once more where that is unsure, or place the points by hand.",
    )


def _elsewhere_mm(signs: Signs) -> float:
    """Return where in the root another course is likeliest, in millimetres from the first click."""
    return float(signs.root.start + signs.stray[signs.root].argmax()) * ROW_MM
