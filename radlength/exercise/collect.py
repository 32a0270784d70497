"""An attempt from files: one file of marks for each exercise, or what the window saved beside the image."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from radlength.errors import RadlengthError
from radlength.exercise.files import edition_of, open_image, read_object
from radlength.exercise.models import CODE_WORDS, Answer, Attempt, ExerciseSet, Task, good_code
from radlength.exercise.refusal import ExerciseError
from radlength.exercise.sitting import make_answer, needed
from radlength.finding import Finding
from radlength.geometry import Assist
from radlength.record.made import shown

CORNER = 0.1
"""Share of rows and of columns within which no tooth lies alone."""
_KEYS = {"reference", "canal", "apex_px", "choice", "seconds", "clicks"}


def collect_attempt(
    exercises: ExerciseSet, folder: Path, learner: str, marks: Path
) -> tuple[Attempt, tuple[Finding, ...]]:
    """Return the attempt in a folder of marks, and what is missing or wrong in it.

    Parameters
    ----------
    exercises
        The set.
    folder
        Where its images are.
    learner
        A code.
    marks
        Folder of ``NUMBER.marks.json``: as the set says, or a marks file with one reference and one canal. Without
        one, the record that the window saved beside the image counts (``NUMBER.png.radlength.json``).

    Raises
    ------
    ExerciseError
        A learner by name, an image that is not the set's, or no answer at all.
    """
    if not good_code(learner):
        raise ExerciseError(
            "this may be a name", f"a code: {CODE_WORDS}", "give each learner a code", code="learner-code"
        )
    answers, findings = list[Answer](), list[Finding]()
    for task in exercises.tasks:
        try:
            given = _given(task, folder, marks)
            if given is None:
                findings.append(_missing(task))
                continue
            answers.append(make_answer(task, order=len(answers) + 1, **given))
            findings += _in_the_corner(task, answers[-1])
        except RadlengthError as exc:
            findings.append(
                Finding(exc.code, f"{exc}.", "Answer it again.", "serious", f"exercise {task.id}")
            )
    if not answers:
        bad = next((finding for finding in findings if finding.severity == "serious"), None)
        raise ExerciseError(
            f"there is no answer that counts: {bad.sentence.rstrip('.')}" if bad else "there is no answer",
            "files NUMBER.marks.json in the folder of marks",
            "name that folder: --marks DIR",
            code="attempt-empty",
            subject=shown(str(marks)),
        )
    attempt = Attempt(
        set=exercises.set,
        edition=edition_of(exercises),
        learner=learner,
        finished=len(answers) == len(exercises.tasks),
        answers=tuple(answers),
    )
    return attempt, tuple(findings)


def _missing(task: Task) -> Finding:
    return Finding(
        "answer-missing", f"Exercise {task.id} has no answer.", "Mark it.", "question", f"exercise {task.id}"
    )


def _in_the_corner(task: Task, answer: Answer) -> list[Finding]:
    """Return a question where all marks crowd near 0, 0, as millimetres do; it tells nothing of where they belong."""
    apex = (answer.apex_px,) if answer.apex_px is not None else ()
    points = (*(answer.reference_px or ()), *(answer.canal_px or ()), *apex)
    near = all(row < task.rows * CORNER and column < task.columns * CORNER for row, column in points)
    if not points or not near:
        return []
    return [
        Finding(
            "marks-corner",
            f"All marks of exercise {task.id} lie in the top left corner of the image.",
            "Points are pixels, row and column: write them so if these are millimetres or shares of the image.",
            "question",
            f"exercise {task.id}",
        )
    ]


def _given(task: Task, folder: Path, marks: Path) -> dict[str, Any] | None:
    path = marks / f"{task.id}.marks.json"
    if path.is_file():
        return _from_marks(read_object(path), path.name)
    record = next(
        (
            place
            for place in (marks / f"{task.image}.radlength.json", folder / f"{task.image}.radlength.json")
            if place.is_file()
        ),
        None,
    )
    return _from_record(task, folder, record) if record is not None else None


def _from_marks(raw: dict[str, Any], name: str) -> dict[str, Any]:
    if raw.get("format") == "radlength-marks":
        return _from_lists(raw, name)
    unknown = set(raw) - _KEYS - {"caution"}
    if unknown:
        raise ExerciseError(
            f"unknown field {shown(sorted(unknown)[0])!r}", ", ".join(sorted(_KEYS)), code="marks-field",
            subject=shown(name),
        )  # fmt: skip
    given = {key: raw[key] for key in ("apex_px", "choice", "seconds", "clicks") if raw.get(key) is not None}
    for key in ("reference", "canal"):
        if raw.get(key) is None:
            continue
        if not isinstance(raw[key], dict) or "path_px" not in raw[key]:
            raise ExerciseError(
                f"{key} is not written as it is asked for",
                f'"{key}": {{"path_px": [[row, column], ...]}}',
                code="marks-field",
                subject=shown(name),
            )
        given[f"{key}_px"] = raw[key]["path_px"]
    return given


def _from_lists(raw: dict[str, Any], name: str) -> dict[str, Any]:
    """Return the marks of a file of the ``estimate`` command: its first reference and its first canal."""
    given: dict[str, Any] = {}
    for key, field in (("references", "reference_px"), ("canals", "canal_px")):
        entries = raw.get(key) or []
        if not isinstance(entries, list) or len(entries) > 1 or not all(isinstance(e, dict) for e in entries):
            raise ExerciseError(
                f"{key}: more than one, or no list", "at most one", code="marks-field", subject=shown(name)
            )
        if entries:
            given[field] = entries[0].get("path_px")
    return given


def _from_record(task: Task, folder: Path, path: Path) -> dict[str, Any]:
    """Return what the window saved beside an image: the canal of that name and its reference, else the first ones.

    Of namesakes the one on the tooth that was asked for. Marks that were not asked for are left out; marks that a
    program placed are refused.
    """
    from radlength.record import check_binding  # noqa: PLC0415
    from radlength.record.parse import parse_record  # noqa: PLC0415

    try:
        record = parse_record(path.read_bytes(), name=path.name)
    except OSError as exc:
        raise ExerciseError("cannot be read", code="exercise-unreadable", subject=shown(path.name)) from exc
    check_binding(record, open_image(folder, task))
    given: dict[str, Any] = {}
    named = [entry for entry in record.canals if entry.canal.name == task.canal] or list(record.canals)
    named.sort(key=lambda entry: entry.canal.tooth != task.tooth)
    if record.references:
        wanted = named[0].reference if named else None
        used = [reference for reference in record.references if reference.name == wanted]
        reference = (used or list(record.references))[0]
        given["reference_px"] = reference.path_px
        _refuse_help(reference.assists if "reference_px" in needed(task) else (), task)
    if named:
        _refuse_help(named[0].canal.assists if needed(task) & {"canal_px", "apex_px"} else (), task)
        given["canal_px"] = named[0].canal.path_px
        given["apex_px"] = named[0].canal.path_px[-1]
    return {name: marks for name, marks in given.items() if name in needed(task)}


def _refuse_help(assists: Sequence[Assist], task: Task) -> None:
    """Refuse marks that a program placed: what is scored is a person's hand."""
    if assists:
        raise ExerciseError(
            f"points of these marks were placed by the program ({assists[0].method})",
            "clicks and drags of your own",
            "mark it by hand, then take it again",
            code="exercise-by-hand",
            subject=f"exercise {task.id}",
        )
