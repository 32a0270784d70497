"""Whether a bend was marked by its two ends alone: such a line is straight, and shorter than what it stands for."""

from __future__ import annotations

import numpy as np

from radlength.exercise.models import Answer
from radlength.exercise.place import Lines
from radlength.finding import Finding

STRAIGHT = "marked-straight"
LEAST_MM = 0.1
"""A straight line that loses less is not spoken of: lengths are told to a tenth. Common practice, no source."""
_STEPS = 200


def marked_straight(key: Lines, answer: Answer) -> tuple[Finding, ...]:
    """Return a finding for the canal and for the instrument, where two clicks alone make it shorter than it is.

    Where both are, the two errors cancel in the length: a scale that is too large makes up for a canal too short.

    Parameters
    ----------
    key
        The exercise and its answer.
    answer
        The learner's marks, from either end.
    """
    found = []
    for what, line, path in (
        ("canal", key.canal, answer.canal_px),
        ("instrument", key.reference, answer.reference_px),
    ):
        if line is None or path is None or len(path) != 2:
            continue
        ends = np.array(path) * key.pitch
        first, last = line.feet(ends)
        course = line.at(np.linspace(first, last, _STEPS))
        straight = float(np.hypot(*(ends[1] - ends[0])))
        short_mm = (float(np.hypot(*np.diff(course, axis=0).T).sum()) - straight) * key.mm_per_unit
        if short_mm < LEAST_MM:
            continue
        lost = f"a straight line, {short_mm:.2f} mm shorter than its course between them"
        found.append(
            Finding(
                STRAIGHT,
                f"The {what} was marked by its two ends alone: {lost}.",
                "Click along the bend too: five to eight clicks.",
                "note",
                key.task.id,
            )
        )
    return tuple(found)
