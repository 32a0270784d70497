"""A whole class: attempts read, the unusable named and set aside, the rest scored together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from radlength.errors import RadlengthError
from radlength.exercise.alike import alike
from radlength.exercise.checks import check_attempt
from radlength.exercise.files import load_attempt
from radlength.exercise.learner import BAND_MM, TARGET, Summary, summarise
from radlength.exercise.models import Attempt, ExerciseSet, SealedTruth, good_code
from radlength.exercise.refusal import ExerciseError
from radlength.exercise.score import Key, score_answers
from radlength.record.made import shown

MOST_NUMBERS = 12
ENDING = ".attempt.json"
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
        Codes of learners with the same marks in half of the exercises or more, group by group, as
        :func:`radlength.exercise.alike.alike` finds them. Who counts still counts; ask.
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
        found = sorted(place.glob(f"*{ENDING}")) if place.is_dir() else [place]
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
    attempts, set_aside, readable = _usable(exercises, files, done)
    pairs = [(keys[answer.task], answer) for attempt in attempts for answer in attempt.answers]
    results = iter(score_answers(pairs))
    learners = [
        summarise(attempt.learner, [next(results) for _ in attempt.answers], band_mm=band_mm, target=target)
        for attempt in attempts
    ]
    ordered = tuple(sorted(learners, key=lambda one: one.learner))
    return ClassResult(exercises, ordered, tuple(set_aside), alike(exercises, readable), band_mm, target)


def _numbers(tasks: Sequence[str]) -> str:
    """Return numbers of exercises, the first few of many."""
    more = len(tasks) - MOST_NUMBERS
    return ", ".join(tasks[:MOST_NUMBERS]) + (f" and {more} more" if more > 0 else "")


def _copied(learner: str, first: str, name: str) -> str:
    """Return what is said of a file that holds a learner's attempt again, and may be named for somebody else."""
    code = name.removesuffix(ENDING)
    whose = (
        f"; it is named for {code} and holds the marks of {learner}: ask {code}" if good_code(code) else ""
    )
    return f"{learner}: the same attempt as {first}, which counts{whose if code != learner else ''}"


def _usable(
    exercises: ExerciseSet, files: Sequence[Path], done: Callable[[], None]
) -> tuple[list[Attempt], list[SetAside], list[Attempt]]:
    """Return the attempts that count, what is set aside, and every attempt at this set that can be read."""
    found: dict[str, list[tuple[str, Attempt]]] = defaultdict(list)
    aside, readable = [], []
    for file in files:
        try:
            attempt = load_attempt(file)
            check_attempt(attempt, exercises)
            readable.append(attempt)
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
            name = shown(file.name)
            aside.append(SetAside(name, exc.code, str(exc).removeprefix(f"{name}: ")))
        done()
    good = []
    for learner, same in found.items():
        if len({attempt.model_dump_json() for _, attempt in same}) == 1:
            good.append(same[0][1])
            own = f"{learner}{ENDING}"
            first, *others = sorted((name for name, _ in same), key=lambda name: name != own)
            aside += [
                SetAside(shown(name), "attempt-copy", _copied(learner, shown(first), name)) for name in others
            ]
            continue
        names = ", ".join(shown(name) for name, _ in same)
        reason = f"{learner}: the code is used by different attempts ({names}); one code a learner, one attempt a code"
        aside += [SetAside(shown(name), "learner-doubled", reason) for name, _ in same]
    return good, aside, readable
