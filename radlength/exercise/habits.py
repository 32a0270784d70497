"""What a learner did in several exercises that no mean of a part tells: marks elsewhere, off at both ends, straight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from radlength.exercise.place import ELSEWHERE
from radlength.exercise.score import Result
from radlength.exercise.straight import STRAIGHT


@dataclass(frozen=True, slots=True)
class Habit:
    """One of them.

    Parameters
    ----------
    words
        For a table.
    sentence
        What it was and what to do.
    """

    words: str
    sentence: str


def habits(results: Sequence[Result]) -> tuple[Habit, ...]:
    """Return what was done in one exercise or more of those that ask for marks, worst first.

    Parameters
    ----------
    results
        All results of this learner. Of marks elsewhere no part is known, so the mean of a part is silent about them.
    """
    asked = [result for result in results if result.error_mm is not None or result.missed]
    elsewhere = sum(_has(result, ELSEWHERE) for result in asked)
    unusable = sum(result.missed for result in asked) - elsewhere
    shifted = sum(result.shifted for result in asked)
    straight = sum(_has(result, STRAIGHT) for result in asked)
    told = (
        (
            elsewhere,
            "marks elsewhere",
            "the marks lie beside the canal that was asked for, and no length counts: find it and its apex first.",
        ),
        (unusable, "no length", "the marks give no length: mark all that is asked for, each point once."),
        (
            shifted,
            "ends off, errors cancel",
            "the ends are off along the tooth and their errors cancel in the length: look at each end by itself.",
        ),
        (
            straight,
            "bends by two clicks",
            "a bend was marked by its two ends alone: click along it, five to eight clicks.",
        ),
    )
    return tuple(
        Habit(
            f"{words} in {count} of {len(asked)}",
            f"In {count} of {len(asked)} exercises with marks {sentence}",
        )
        for count, words, sentence in told
        if count
    )


def _has(result: Result, code: str) -> bool:
    return any(finding.code == code for finding in result.findings)
