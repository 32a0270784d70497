"""Hidden repeats: an exercise shown again, mirrored or in another window of greys, and its answer with it.

A simulated tooth comes again at another size too: the same picture, another length from stop to tip.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.exercise.levels import STOP_STEP_MM
from radlength.exercise.models import Greys, Truth
from radlength.trade import magnification_prior

Pixels = NDArray[np.uint8] | NDArray[np.uint16]
LEAST_APART = 4
"""A repeat comes at least so many exercises after what it repeats, where the set is long enough."""
LEAST_MAGNIFIED = 1.01
"""A shadow is larger than what throws it: the least that a long tube and a film close to the tooth leave. Common
practice, no source."""
_SIDES = {"1": "2", "2": "1", "3": "4", "4": "3", "5": "6", "6": "5", "7": "8", "8": "7"}


def mirrored_pixels(pixels: Pixels) -> Pixels:
    """Return an image seen in a mirror, left and right exchanged."""
    turned: Pixels = pixels[:, ::-1].copy()
    return turned


def mirrored_tooth(tooth: str) -> str:
    """Return the tooth of the other side, ISO 3950.

    Examples
    --------
    >>> mirrored_tooth("46"), mirrored_tooth("11")
    ('36', '21')
    """
    return _SIDES.get(tooth[:1], tooth[:1]) + tooth[1:]


def mirrored_truth(truth: Truth, columns: int) -> Truth:
    """Return an answer for the mirrored image."""
    last = columns - 1

    def turned(path: tuple[tuple[float, float], ...]) -> tuple[tuple[float, float], ...]:
        return tuple((row, last - column) for row, column in path)

    return truth.model_copy(
        update={
            "mirrored": not truth.mirrored,
            "canal_px": turned(truth.canal_px),
            "reference_px": turned(truth.reference_px) if truth.reference_px else None,
        }
    )


def another_size(truth: Truth, rng: np.random.Generator) -> float | None:
    """Draw another length of the instrument on an image, half a millimetre longer or shorter; ``None`` if none fits.

    Both are teeth that a tube shows so large: with the other the magnification stays within what is seen.
    """
    if truth.basis != "simulated" or truth.reference_px is None or truth.reference_mm is None:
        return None
    steps = np.diff(np.array(truth.reference_px) * truth.pitch_mm, axis=0)
    shown_mm = float(np.hypot(*steps.T).sum())
    fit = [
        round(truth.reference_mm + step, 2)
        for step in (-STOP_STEP_MM, STOP_STEP_MM)
        if LEAST_MAGNIFIED <= shown_mm / (truth.reference_mm + step) <= magnification_prior().high
    ]
    return fit[int(rng.integers(len(fit)))] if fit else None


def resized_truth(truth: Truth, reference_mm: float) -> Truth:
    """Return an answer for a tooth of the same shape and another size, told by the length of its instrument."""
    times = reference_mm / truth.reference_mm if truth.reference_mm else 1.0
    return truth.model_copy(
        update={
            "reference_mm": reference_mm,
            "length_mm": truth.length_mm * times,
            "gap_mm": truth.gap_mm * times if truth.gap_mm is not None else None,
        }
    )


def window(rng: np.random.Generator) -> Greys:
    """Draw another window that hides nothing: a little more range at both ends, another power."""
    power = float(rng.choice([rng.uniform(0.72, 0.85), rng.uniform(1.18, 1.4)]))
    return Greys(low=-float(rng.uniform(0, 0.06)), high=1 + float(rng.uniform(0, 0.06)), power=power)


def windowed_pixels(pixels: Pixels, greys: Greys) -> Pixels:
    """Return an image in another window of its greys, of the same type."""
    top = max(float(pixels.max()), 1.0)
    share = np.clip((pixels / top - greys.low) / (greys.high - greys.low), 0, 1)
    return np.asarray(np.rint(share**greys.power * top).astype(pixels.dtype))


def order_with_repeats(count: int, repeated: list[int], rng: np.random.Generator) -> list[int]:
    """Return the order of items 0..count-1 with some of them a second time, apart from the first.

    Parameters
    ----------
    count
        Number of items.
    repeated
        Which of them come twice.
    rng
        Where in the rest of the set the second comes.

    Examples
    --------
    >>> order = order_with_repeats(8, [0, 3], np.random.default_rng(1))
    >>> sorted(order), order.index(0) < len(order) - order[::-1].index(0) - 1 - 4
    ([0, 0, 1, 2, 3, 3, 4, 5, 6, 7], True)
    """
    order = list(range(count))
    for item in sorted(repeated):
        first = order.index(item)
        at = int(rng.integers(min(first + LEAST_APART + 1, len(order)), len(order) + 1))
        order.insert(at, item)
    return order
