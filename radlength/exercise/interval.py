"""The interval that a learner's marks give, as the estimate states it, and whether it holds the truth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from radlength.errors import RadlengthError
from radlength.exercise.compose import TRUE_CLICKS
from radlength.exercise.models import Answer
from radlength.exercise.score import Key
from radlength.length import Canal, Estimate, estimate_length
from radlength.quantity import Quantity
from radlength.scale import Reference
from radlength.uncertainty import Marking


@dataclass(frozen=True, slots=True)
class Held:
    """An estimate from a learner's marks against the truth.

    Parameters
    ----------
    estimate
        The estimate; its paths are in units in which both directions count the same.
    length
        Its canal length with the 95 % interval.
    holds
        Whether the true length lies in the interval.
    """

    estimate: Estimate
    length: Quantity
    holds: bool


def held_by(key: Key, answer: Answer, marking: Marking | None = None) -> Held | None:
    """Return the estimate of an answer, marks that were not asked for being true ones.

    Parameters
    ----------
    key
        The exercise and its answer.
    answer
        The learner's marks.
    marking
        The learner's own SDs, where they are known.

    Returns
    -------
    Held or None
        ``None`` where there are no marks or they cannot be measured, or nothing of known length is in the image.
    """
    truth, task = key.truth, key.task
    if task.aim not in ("reference", "trace", "apex") or key.reference is None or truth.reference_mm is None:
        return None
    canal, reference = _path(key, answer), _reference(key, answer)
    try:
        estimate = estimate_length(
            Canal(tooth=task.tooth, name=task.canal, path_px=_points(canal)),
            Reference(
                path_px=_points(reference),
                length_mm=truth.reference_mm,
                limit_mm=truth.reference_limit_mm or 0.0,
                placement="in_canal",
                canal=task.canal,
            ),
            marking=marking,
        )
    except RadlengthError:
        return None
    length = estimate.canal_length
    return Held(estimate, length, length.low_mm <= truth.length_mm <= length.high_mm)


def _path(key: Key, answer: Answer) -> np.ndarray:
    if answer.canal_px is not None:
        return np.array(answer.canal_px) * key.pitch
    line = key.canal
    if answer.apex_px is None:
        return key.true_path
    apex = np.array([answer.apex_px]) * key.pitch
    end = float(line.feet(apex)[0])
    return np.vstack([line.at(np.linspace(0, end, TRUE_CLICKS))[:-1], apex])


def _reference(key: Key, answer: Answer) -> np.ndarray:
    if answer.reference_px is not None:
        return np.array(answer.reference_px) * key.pitch
    return key.true_reference


def _points(path: np.ndarray) -> tuple[tuple[float, float], ...]:
    return tuple((float(row), float(column)) for row, column in path)
