"""Learners whose marks two hands do not make: the same to the last digit, or the same but for a little trembling.

Nothing is decided here: whoever copied from whom, and whether anybody did, is for the teacher to ask.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise, product

import numpy as np
from scipy.spatial import cKDTree

from radlength.exercise.models import Answer, Attempt, ExerciseSet, Task

NEAR_MM, NEAR_PX = 0.1, 1.0
"""Marks that lie click by click within this at the detector, or within a pixel where that is more, are those of one
hand: where along a canal somebody clicks is free, and two hands choose by millimetres. Common practice, no source."""
LEAST_INNER = 3
"""Clicks between ends that an exercise must have for that: both ends are where they are for everybody."""
LEAST_POINTS = 5
"""Points that must be the same over all exercises: one apex on whole pixels is the same by chance now and then."""
MANY_ALIKE = 50
SAME_MARKS = (
    f"the same marks, to the last digit or click by click within {NEAR_MM:g} mm, "
    "in half of the exercises or more"
)
"""What is said of them, after their codes."""

Shape = tuple[int, ...]
Marks = tuple[float, ...]


def alike(exercises: ExerciseSet, attempts: Sequence[Attempt]) -> tuple[tuple[str, ...], ...]:
    """Return codes of learners with the same marks in half of the exercises or more, group by group.

    Parameters
    ----------
    exercises
        The set.
    attempts
        All that could be read, also those that do not count: who copies may hand in twice. Attempts under one code are
        never compared with each other.

    Notes
    -----
    No two hands make the same marks in one exercise, and who copies may change some; choices alone prove nothing. An
    apex alone has to be the same to the last digit, a path also where every click was moved by as much as
    :data:`NEAR_MM`.
    """
    marked = [sum(answer.choice is None for answer in attempt.answers) for attempt in attempts]
    times, points = Counter[tuple[int, int]](), Counter[tuple[int, int]]()
    given = [{answer.task: answer for answer in attempt.answers} for attempt in attempts]
    for task in exercises.tasks:
        answers = {at: answer for at, one in enumerate(given) if (answer := one.get(task.id)) is not None}
        for one, other, same in _same(task, answers):
            times[one, other] += 1
            points[one, other] += same
    group = {attempt.learner: attempt.learner for attempt in attempts}
    for (one, other), count in times.items():
        first, second = group[attempts[one].learner], group[attempts[other].learner]
        if (
            first != second
            and 2 * count >= min(marked[one], marked[other])
            and points[one, other] >= LEAST_POINTS
        ):
            group = {code: first if at == second else at for code, at in group.items()}
    codes: dict[str, list[str]] = defaultdict(list)
    for code, at in group.items():
        codes[at].append(code)
    return tuple(sorted(tuple(sorted(names)) for names in codes.values() if len(names) > 1))


def _same(task: Task, answers: Mapping[int, Answer]) -> Iterator[tuple[int, int, int]]:
    """Yield every two attempts with the same marks in an exercise once, and how many points they are."""
    makers: dict[Shape, dict[Marks, list[int]]] = defaultdict(lambda: defaultdict(list))
    for at, answer in answers.items():
        if answer.choice is None:
            shape, marks = _marks(answer)
            makers[shape][marks].append(at)
    for shape, made in makers.items():
        groups, many = list(made.values()), sum(shape)
        yield from ((*pair, many) for same in groups for pair in _pairs(same))
        if sum(max(count - 2, 0) for count in shape) >= LEAST_INNER:
            close = cKDTree(np.array(list(made))).query_pairs(_near_px(task), p=np.inf)
            for a, b in sorted(close):
                for one, other in product(groups[a][:MANY_ALIKE], groups[b][:MANY_ALIKE]):
                    yield min(one, other), max(one, other), many


def _marks(answer: Answer) -> tuple[Shape, Marks]:
    """Return how many points each thing has that was marked, and all their places in a row."""
    apex = (answer.apex_px,) if answer.apex_px is not None else ()
    paths = (answer.reference_px or (), answer.canal_px or (), apex)
    return tuple(map(len, paths)), tuple(value for path in paths for point in path for value in point)


def _near_px(task: Task) -> float:
    return max(NEAR_PX, NEAR_MM / max(task.pitch_mm) if task.pitch_mm else 0.0)


def _pairs(made: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield every two of those who made the same marks; of very many each and the next, who are one group anyway."""
    return combinations(made, 2) if len(made) <= MANY_ALIKE else pairwise(made)
