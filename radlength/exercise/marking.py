"""A learner's own spread as a `Marking`, so that estimates from this person's marks carry this person's uncertainty."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from radlength.clean import counted
from radlength.exercise.advice import FALSE_ALARMS, MATTERS_MM, mean_and_reach
from radlength.exercise.models import Answer
from radlength.exercise.refusal import ExerciseError
from radlength.exercise.score import Key
from radlength.finding import Finding
from radlength.uncertainty import Marking

FloatArray = NDArray[np.float64]
_ENDS = {"apex_mm": "apex", "stop_mm": "reference point", "tip_mm": "tip of the instrument"}
LEAST = 5
"""Marks of a kind before an SD is told from them."""
ENOUGH = 20
LARGEST_MM = 2.0
_FALSE_ALARM = 1 - (1 - FALSE_ALARMS) ** (1 / 3)


@dataclass(frozen=True, slots=True)
class OwnMarking:
    """How a learner's marks scatter about their own mean.

    Parameters
    ----------
    marking
        SD of each landmark, millimetres in the tooth: along the canal at its ends, across it between them. A landmark
        with too few marks keeps the default.
    counts
        Marks each SD rests on; 0 where it is the default.
    high_mm
        Upper end of the 95 % interval of each SD, by the names of :class:`Marking`.
    findings
        What to hold against it.
    """

    marking: Marking
    counts: dict[str, int]
    high_mm: dict[str, float]
    findings: tuple[Finding, ...]


def own_marking(pairs: Sequence[tuple[Key, Answer]]) -> OwnMarking:
    """Return a learner's own spread, from marks whose true places are known.

    Parameters
    ----------
    pairs
        Exercises with this learner's answers. Only known truths count; a constant bias is left out of the SD, and a
        finding where it matters.

    Raises
    ------
    ExerciseError
        Fewer than five marks of every kind.

    Notes
    -----
    Only what an end is off along the canal moves a length. An apex is surer across a root than along it; one SD of both
    directions would be too small.
    """
    found: dict[str, list[FloatArray]] = {"apex_mm": [], "stop_mm": [], "tip_mm": [], "path_mm": []}
    for key, answer in pairs:
        if key.truth.basis == "simulated" and key.reference is not None:
            _collect(key, answer, found)
    values, counts, high = {}, {}, {}
    for name, parts in found.items():
        away = np.concatenate(parts) if parts else np.zeros((0, 1))
        counts[name] = len(away) if len(away) >= LEAST else 0
        if counts[name]:
            df = (len(away) - 1) * away.shape[1]
            sd = float(np.sqrt(((away - away.mean(axis=0)) ** 2).sum() / df))
            values[name] = min(sd, LARGEST_MM)
            high[name] = min(sd * float(np.sqrt(df / stats.chi2.ppf(0.025, df))), LARGEST_MM)
    if not values:
        raise ExerciseError(
            "too few marks to tell a spread",
            f"{LEAST} of a kind or more",
            "take more exercises",
            code="marking-few",
        )
    few = sorted(name for name, count in counts.items() if 0 < count < ENOUGH)
    findings = tuple(
        Finding(
            "marking-few",
            f"{name} rests on {counted(counts[name], 'mark')}: it may be as large as {high[name]:.2f} mm.",
            "Take more exercises before you lean on it.",
            "note",
        )
        for name in few
    )
    return OwnMarking(Marking(**values), counts, high, (*_biases(found), *findings))


def _biases(found: dict[str, list[FloatArray]]) -> list[Finding]:
    """Return a finding for every end whose marks lie to one side more than chance explains and enough to matter."""
    biases = []
    for name, what in _ENDS.items():
        along = np.concatenate(found[name])[:, 0] if found[name] else np.zeros(0)
        if len(along) < LEAST:
            continue
        mean, reach = mean_and_reach(along, _FALSE_ALARM)
        if abs(mean) >= MATTERS_MM and abs(mean) > reach:
            way = "apically" if mean > 0 else "coronally"
            biases.append(
                Finding(
                    "marking-biased",
                    f"Your marks of the {what} lie {abs(mean):.2f} mm {way} of the true ones on average: the SD leaves "
                    "that out, and so does every interval by it.",
                    "Mend that first; an interval cannot.",
                )
            )
    return biases


def _collect(key: Key, answer: Answer, found: dict[str, list[FloatArray]]) -> None:
    scale = key.mm_per_unit
    canal = np.array(answer.canal_px) * key.pitch if answer.canal_px is not None else None
    apex = canal[-1:] if canal is not None else None
    if answer.apex_px is not None:
        apex = np.array([answer.apex_px]) * key.pitch
    if apex is not None:
        found["apex_mm"].append(key.canal.off(apex, -1)[:, :1] * scale)
    if canal is not None:
        found["stop_mm"].append(key.canal.off(canal[:1], 0)[:, :1] * scale)
        if len(canal) > 2:
            found["path_mm"].append(key.canal.across(canal[1:-1])[:, None] * scale)
    if answer.reference_px is not None and key.reference is not None:
        tip = np.array(answer.reference_px[-1:]) * key.pitch
        found["tip_mm"].append(key.reference.off(tip, -1)[:, :1] * scale)
