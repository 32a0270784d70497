"""A whole class: attempts read, the unusable named and set aside, the rest scored together."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise
from pathlib import Path

from radlength.errors import RadlengthError
from radlength.exercise.checks import check_attempt
from radlength.exercise.files import load_attempt
from radlength.exercise.learner import BAND_MM, TARGET, Summary, summarise
from radlength.exercise.models import Attempt, ExerciseSet, SealedTruth
from radlength.exercise.refusal import ExerciseError
from radlength.exercise.score import Key, score_answers
from radlength.record.made import shown

MANY_ALIKE = 50
MOST_NUMBERS = 12
WIDEST_MM = 5.0
"""Half-width of a band that still tells something."""


@dataclass(frozen=True, slots=True)
class SetAside:
    """An attempt that does not count, and why.

    Parameters
    ----------
    file
        Name of the file.
    code
        Short stable name of the reason.
    reason
        In words.
    """

    file: str
    code: str
    reason: str


@dataclass(frozen=True, slots=True)
class ClassResult:
    """What came of a class.

    Parameters
    ----------
    exercises
        The set.
    learners
        Everybody whose attempt counts, by code.
    set_aside
        Attempts that do not count.
    alike
        Codes of learners whose marks are the same to the last digit in half of the exercises or more, group by group.
        They count; ask.
    band_mm, target
        The band and the share within it that were asked for.
    """

    exercises: ExerciseSet
    learners: tuple[Summary, ...]
    set_aside: tuple[SetAside, ...]
    alike: tuple[tuple[str, ...], ...] = ()
    band_mm: float = BAND_MM
    target: float = TARGET


def keys_of(exercises: ExerciseSet, truth: SealedTruth) -> dict[str, Key]:
    """Return every exercise with its answer, by number.

    Raises
    ------
    ExerciseError
        An exercise without an answer.
    """
    keys = {}
    for task in exercises.tasks:
        answer = truth.answer(task.id)
        if answer is None:
            raise ExerciseError(f"exercise {task.id} has no answer", code="truth-incomplete")
        keys[task.id] = Key(task, answer)
    return keys


def attempt_files(places: Sequence[Path]) -> list[Path]:
    """Return the attempts named, and those in folders named, in order; a file that is named twice comes once.

    Raises
    ------
    ExerciseError
        There is none, or none in a folder.
    """
    files: dict[Path, Path] = {}
    for place in places:
        found = sorted(place.glob("*.attempt.json")) if place.is_dir() else [place]
        if not found:
            raise ExerciseError(
                "there is no attempt in this folder",
                "files *.attempt.json",
                "name the folder they lie in, not the one above",
                code="class-empty",
                subject=shown(str(place)),
            )
        for file in found:
            files.setdefault(file.resolve(), file)
    if not files:
        raise ExerciseError(
            "there is no attempt", "files *.attempt.json", "name files or a folder", code="class-empty"
        )
    return list(files.values())


def score_class(
    exercises: ExerciseSet,
    truth: SealedTruth,
    files: Sequence[Path],
    *,
    band_mm: float = BAND_MM,
    target: float = TARGET,
    done: Callable[[], None] = lambda: None,
) -> ClassResult:
    """Score the attempts of a class.

    Parameters
    ----------
    exercises, truth
        The set and its answers.
    files
        Attempts.
    band_mm, target
        As :func:`radlength.exercise.learner.summarise` takes them.
    done
        Called after each file.

    Returns
    -------
    ClassResult
        Unreadable, edited, unfinished and doubled attempts, and those at another set or version, are named and set
        aside; the rest is scored.

    Raises
    ------
    ExerciseError
        An exercise of the set has no answer; or a band or a share that is none.
    """
    if not (0 < band_mm <= WIDEST_MM and 0 < target <= 1):
        raise ExerciseError(
            f"a band of ±{band_mm:g} mm and a share of {target:g}",
            f"above 0 up to {WIDEST_MM:g} mm, and above 0 up to 1",
            code="class-band",
        )
    keys = keys_of(exercises, truth)
    attempts, set_aside = _usable(exercises, files, done)
    pairs = [(keys[answer.task], answer) for attempt in attempts for answer in attempt.answers]
    results = iter(score_answers(pairs))
    learners = [
        summarise(attempt.learner, [next(results) for _ in attempt.answers], band_mm=band_mm, target=target)
        for attempt in attempts
    ]
    ordered = tuple(sorted(learners, key=lambda one: one.learner))
    return ClassResult(exercises, ordered, tuple(set_aside), _alike(attempts), band_mm, target)


def _numbers(tasks: Sequence[str]) -> str:
    """Return numbers of exercises, the first few of many."""
    more = len(tasks) - MOST_NUMBERS
    return ", ".join(tasks[:MOST_NUMBERS]) + (f" and {more} more" if more > 0 else "")


def _alike(attempts: Sequence[Attempt]) -> tuple[tuple[str, ...], ...]:
    """Return learners with the very same marks in half of the exercises or more, group by group.

    No two hands make the same marks in one exercise, and who copies may change some; choices alone prove nothing.
    """
    makers: dict[tuple[object, ...], list[int]] = defaultdict(list)
    marked = [sum(answer.choice is None for answer in attempt.answers) for attempt in attempts]
    for at, attempt in enumerate(attempts):
        for one in attempt.answers:
            if one.choice is None:
                makers[one.task, one.reference_px, one.canal_px, one.apex_px].append(at)
    same = Counter(pair for made in makers.values() for pair in _pairs(made))
    group = list(range(len(attempts)))
    for (first, second), times in same.items():
        if 2 * times >= min(marked[first], marked[second]):
            group = [group[first] if at == group[second] else at for at in group]
    codes: dict[int, list[str]] = defaultdict(list)
    for at, attempt in zip(group, attempts, strict=True):
        codes[at].append(attempt.learner)
    return tuple(sorted(tuple(sorted(names)) for names in codes.values() if len(names) > 1))


def _pairs(made: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Yield every two of those who made the same marks; of very many each and the next, who are one group anyway."""
    return combinations(made, 2) if len(made) <= MANY_ALIKE else pairwise(made)


def _usable(
    exercises: ExerciseSet, files: Sequence[Path], done: Callable[[], None]
) -> tuple[list[Attempt], list[SetAside]]:
    found: dict[str, list[tuple[str, Attempt]]] = defaultdict(list)
    aside = []
    for file in files:
        try:
            attempt = load_attempt(file)
            check_attempt(attempt, exercises)
            answered = {answer.task for answer in attempt.answers}
            missing = [task.id for task in exercises.tasks if task.id not in answered]
            if missing:
                raise ExerciseError(
                    f"half-finished: {len(missing)} of {len(exercises.tasks)} exercises without an answer:"
                    f" {_numbers(missing)}",
                    remedy="let the learner finish, or score it alone",
                    code="attempt-unfinished",
                    subject=attempt.learner,
                )
            found[attempt.learner].append((file.name, attempt))
        except RadlengthError as exc:
            aside.append(SetAside(shown(file.name), exc.code, str(exc)))
        done()
    good = []
    for learner, same in found.items():
        if len({attempt.model_dump_json() for _, attempt in same}) == 1:
            good.append(same[0][1])
            first = shown(same[0][0])
            aside += [
                SetAside(shown(name), "attempt-copy", f"{learner}: the same attempt as {first}, which counts")
                for name, _ in same[1:]
            ]
            continue
        names = ", ".join(shown(name) for name, _ in same)
        reason = f"{learner}: the code is used by different attempts ({names}); one code a learner, one attempt a code"
        aside += [SetAside(shown(name), "learner-doubled", reason) for name, _ in same]
    return good, aside
