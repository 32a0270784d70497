"""Which of the ends of lines near a click is the tip that is meant, and how sure that is.

Two lines may end within half a millimetre: only where the click lies tells which is meant. The weights were fitted to
simulated images (``tests/reference/tip_weights.py``, seeds below 10 000): of the ends found there, which is the tip.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.tracing.tip import End

FloatArray = NDArray[np.float64]

SAME_MM, NEAR_MM, FAR_MM = 0.15, 0.3, 2.2
"""Ends this near are one; ends this near to the chosen one speak for it; ends further from the click are not meant."""
CLICK_SD_MM, LEAST_CLICK = 0.2, -8.0
WEIGHTS = {
    "click": 1.1,
    "gain": 0.23,
    "less": -1.0,
    "more": -1.6,
    "of a pair": -0.7,
    "told": 2.2,
    "strong": 3.0,
    "steps": 2.0,
}
"""Logarithms of odds: what is counted for each stands in `_looks`."""
MOST_GAIN, LEAST_GAIN = 20.0, 3.0
STEPS = (0.8, 1.4)
MOST_TOLD = 0.3
USUAL_STRENGTH = 8.0
TOLD = 1.1
"""Two lines that explain this much more than one are two."""


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """An end that is seen.

    Parameters
    ----------
    end
        The end.
    tip_mm
        (row, column) of the tip that would have it.
    strength
        How much its line stands out from what goes on around; nothing for one of a pair of lines.
    on_one
        Whether it is one of two steps of what looks like one line.
    """

    end: End
    tip_mm: FloatArray
    strength: float | None = None
    on_one: bool = False


def choose(seen: Sequence[Seen], click_mm: FloatArray, better: float) -> tuple[int, float]:
    """Return the number of the end that is meant, and the probability that it is, of those seen.

    Parameters
    ----------
    seen
        Ends, at least one; of those of a line by itself the first comes first.
    click_mm
        (row, column) of the click at the tip.
    better
        How much more of the image two lines explain than one, a ratio.
    """
    numbers, share, away = _weighed(seen, click_mm, better)
    return numbers[int(share.argmax())], float(share[away < NEAR_MM].sum())


def which_u_mm(seen: Sequence[Seen], click_mm: FloatArray, better: float) -> float:
    """Return what ends near the chosen one, any of which may be meant, add to the uncertainty of the tip.

    Parameters
    ----------
    seen, click_mm, better
        See :func:`choose`.
    """
    _, share, away = _weighed(seen, click_mm, better)
    near = away < NEAR_MM
    return float(np.sqrt((share[near] * away[near] ** 2).sum() / share[near].sum()))


def _weighed(
    seen: Sequence[Seen], click_mm: FloatArray, better: float
) -> tuple[list[int], FloatArray, FloatArray]:
    """Return the ends that may be meant, how likely each is, and how far from the likeliest."""
    found = options(seen, click_mm, better)
    log = np.array([sum(WEIGHTS[name] * answer for name, answer in told.items()) for _, told in found])
    share = np.exp(log - log.max())
    share /= share.sum()
    places = np.array([seen[number].tip_mm for number, _ in found])
    away = np.hypot(*(places - places[int(share.argmax())]).T)
    return [number for number, _ in found], share, away


def options(seen: Sequence[Seen], click_mm: FloatArray, better: float) -> list[tuple[int, dict[str, float]]]:
    """Return the numbers of the ends that may be meant, each with what speaks for it, by the names of `WEIGHTS`.

    Parameters
    ----------
    seen, click_mm, better
        See :func:`choose`.
    """
    pair = sum(one.strength is None and not one.on_one for one in seen) > 1
    told = pair and better > TOLD
    found = []
    for group in _groups(seen, click_mm):
        number = _best(seen, group, told=told)
        ends, two = [seen[one] for one in group], float(np.log(better)) if pair else None
        found.append((number, _looks(ends, seen[number], click_mm, two)))
    return found


def _groups(seen: Sequence[Seen], click_mm: FloatArray) -> list[list[int]]:
    """Return the numbers of ends that may be meant, those together that are one."""
    found: list[list[int]] = []
    for number in sorted(range(len(seen)), key=lambda one: (seen[one].on_one, -seen[one].end.gain)):
        one = seen[number]
        if np.hypot(*(one.tip_mm - click_mm)) > FAR_MM or (
            one.strength is None and one.end.gain < LEAST_GAIN
        ):
            continue
        for group in found:
            if np.hypot(*(seen[group[0]].tip_mm - one.tip_mm)) < SAME_MM:
                group.append(number)
                break
        else:
            found.append([number])
    return found or [[0]]


def _best(seen: Sequence[Seen], group: list[int], *, told: bool) -> int:
    """Return which of the ends that are one is placed best: of two lines told apart that of the pair."""
    return next((number for number in group if (seen[number].strength is None) is told), group[0])


def _looks(group: list[Seen], chosen: Seen, click_mm: FloatArray, better: float | None) -> dict[str, float]:
    """Return what is looked at to tell how likely an end is meant."""
    strength = [one.strength for one in group if one.strength is not None]
    group = [one for one in group if not one.on_one]
    if not group:
        return {"click": _click(chosen, click_mm), "steps": 1.0, "strong": float(np.log(USUAL_STRENGTH))}
    step = min((min(max(one.end.step, 0.02), 5.0) for one in group), key=lambda one: abs(np.log(one)))
    of_pair = better is not None and not strength
    return {
        "click": _click(chosen, click_mm),
        "gain": min(max(one.end.gain for one in group), MOST_GAIN),
        "less": max(float(np.log(STEPS[0] / step)), 0.0),
        "more": max(float(np.log(step / STEPS[1])), 0.0),
        "of a pair": float(of_pair),
        "told": min(max(better or 0.0, 0.0), MOST_TOLD) if of_pair else 0.0,
        "strong": float(np.log(np.clip(max(strength, default=USUAL_STRENGTH), 0.1, 20.0))),
    }


def _click(chosen: Seen, click_mm: FloatArray) -> float:
    return max(-0.5 * float(np.hypot(*(chosen.tip_mm - click_mm)) / CLICK_SD_MM) ** 2, LEAST_CLICK)
