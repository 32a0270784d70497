"""Whether a set is long enough for anybody to pass: of few exercises the interval always reaches below the target."""

from __future__ import annotations

import math

from scipy.stats import norm

from radlength.clean import counted
from radlength.exercise.agreement import LEVEL
from radlength.exercise.models import MARKED, ExerciseSet


def least_exercises(target: float) -> int | None:
    """Return how many marking exercises, all within the band, show that a share reaches a target.

    Parameters
    ----------
    target
        Share within the band to be reached, 0 to 1; no number shows 1.

    Notes
    -----
    Wilson's interval of n out of n begins at n / (n + z²) (Wilson 1927).

    Examples
    --------
    >>> least_exercises(0.74), least_exercises(1.0)
    (11, None)
    """
    if target >= 1:
        return None
    z2 = float(norm.ppf(0.5 + LEVEL / 2)) ** 2
    return max(1, math.ceil(z2 * target / (1 - target)))


def out_of_reach(exercises: ExerciseSet, target: float) -> str:
    """Return what to say where nobody can pass, however good; an empty text where somebody can.

    Parameters
    ----------
    exercises
        The set; only exercises that ask for marks count, repeats with them.
    target
        Share within the band to be reached.
    """
    marking = sum(task.aim in MARKED for task in exercises.tasks)
    least = least_exercises(target)
    if least is not None and marking >= least:
        return ""
    asked = f"{counted(marking, 'exercise')} that {'asks' if marking == 1 else 'ask'} for marks"
    enough = "no number of exercises shows all" if least is None else f"{least} would be enough"
    reach = f"With {asked} nobody can be shown to reach {100 * target:.0f} %, however good: {enough}."
    return f"{reach} Read the shares, not the verdicts."
