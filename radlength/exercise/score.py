"""From answers to results: the signed error in millimetres and what each mark added to it.

The length that an answer gives is read from the marks alone, along the curve and by the instrument, as an estimate
reads it. Marks that were not asked for count as true ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from radlength.exercise.compose import TRUE_CLICKS, TrueLine, lengths_of, mixed_paths
from radlength.exercise.models import Aim, Answer, Basis, Task, Truth
from radlength.exercise.place import SHIFTED, marked_elsewhere, marked_shifted
from radlength.exercise.shares import shapley
from radlength.exercise.straight import marked_straight
from radlength.finding import Finding

FloatArray = NDArray[np.float64]

PARTS = ("reference mark", "coronal mark", "path", "apex", "geometry")
"""Causes of an error. The last is what remains with perfect marks: nobody could see it."""
MARKS = PARTS[:4]
_ASKED: dict[Aim, tuple[str, ...]] = {"reference": MARKS[:1], "apex": MARKS[3:], "trace": MARKS}


@dataclass(frozen=True, slots=True)
class Result:
    """What came of one exercise.

    Parameters
    ----------
    task, aim, difficulty, level, basis, repeat_of
        Which exercise it was; `level` is what was put into the image.
    order, seconds, clicks
        When it was taken, and what it took.
    measured_mm, true_mm
        The length the marks give, and the true one; a teacher's marks in place of truth where `basis` says so.
    parts_mm
        What each cause added to the error, by the names of :data:`PARTS`; a mark that was not asked for is absent.
    u_true_mm
        Standard uncertainty of the teacher's marks; 0 for a known truth.
    choice, right_choice, why
        What was chosen, what is right, and the reason.
    findings
        Doubts about the answer.
    """

    task: str
    aim: Aim
    difficulty: int
    level: str
    basis: Basis
    order: int
    seconds: float | None = None
    clicks: int | None = None
    repeat_of: str | None = None
    measured_mm: float | None = None
    true_mm: float | None = None
    parts_mm: dict[str, float] | None = None
    u_true_mm: float = 0.0
    choice: str | None = None
    right_choice: str | None = None
    why: str = ""
    findings: tuple[Finding, ...] = ()

    @property
    def error_mm(self) -> float | None:
        """Measured less true length; positive is too long."""
        if self.measured_mm is None or self.true_mm is None:
            return None
        return self.measured_mm - self.true_mm

    @property
    def own_mm(self) -> float | None:
        """The part of the error that the learner's marks made."""
        if self.parts_mm is None:
            return None
        return sum(value for name, value in self.parts_mm.items() if name != "geometry")

    @property
    def missed(self) -> bool:
        """Whether marks were asked for and give no length: it counts as outside every band."""
        return self.aim in _ASKED and self.measured_mm is None

    @property
    def shifted(self) -> bool:
        """Whether marks are off along the tooth and the length hides it: it counts as outside every band."""
        return any(finding.code == SHIFTED for finding in self.findings)

    @property
    def correct(self) -> bool | None:
        """Whether the right thing was chosen; ``None`` where nothing was to be chosen."""
        return None if self.right_choice is None else self.choice == self.right_choice


class Key:
    """One exercise with its answer, made ready once for many learners."""

    def __init__(self, task: Task, truth: Truth) -> None:
        self.task, self.truth = task, truth
        self.pitch: FloatArray = np.array(truth.pitch_mm)
        self.canal = TrueLine(np.array(truth.canal_px) * self.pitch)
        self.u_mm = 0.0
        self.reference = None
        if truth.reference_px is not None and truth.reference_mm is not None:
            self.reference = TrueLine(np.array(truth.reference_px) * self.pitch)
        if truth.marking is not None:
            from radlength.exercise.teacher import teacher_u_mm  # noqa: PLC0415

            self.u_mm = teacher_u_mm(truth)

    @cached_property
    def mm_per_unit(self) -> float:
        """Millimetres in the tooth a unit: by the instrument's image, or as the answer says where none is marked."""
        line, known = self.reference, self.truth.reference_mm
        if line is None or known is None:
            return self.truth.mm_per_unit or 1.0
        return known / float(np.hypot(*np.diff(line.points, axis=0).T).sum())

    @cached_property
    def true_path(self) -> FloatArray:
        """True clicks along the canal, shape (N, 2), in units."""
        return self.canal.at(np.linspace(0, self.canal.last, TRUE_CLICKS))

    @cached_property
    def true_reference(self) -> FloatArray:
        """True clicks along the instrument, shape (N, 2), in units."""
        line = self.reference
        assert line is not None  # noqa: S101 - asked for only where there is one
        return line.at(np.linspace(0, line.last, TRUE_CLICKS))


@dataclass(slots=True)
class _Marked:
    """An answer with marks: where its paths begin in the list of all paths."""

    key: Key
    answer: Answer
    start: int
    findings: list[Finding]


def score_answers(pairs: Sequence[tuple[Key, Answer]]) -> list[Result]:
    """Return the results of many answers; paths of all are fitted together.

    Parameters
    ----------
    pairs
        Every exercise with an answer to it.

    Notes
    -----
    Four marks, each the learner's or true, make sixteen lengths; their Shapley values are the parts. What a path of
    true marks misses of the true length is the part of the geometry. Together they are the error.
    """
    paths: list[FloatArray] = []
    marked: dict[int, _Marked] = {}
    results = [_chosen(key, answer) for key, answer in pairs]
    for number, (key, answer) in enumerate(pairs):
        if key.task.aim in _ASKED:
            with np.errstate(all="ignore"):  # a mark may be any number; what cannot be measured is told below
                found = _ten_paths(key, answer)
            if isinstance(found, Finding):
                results[number] = _with(results[number], (found,))
                continue
            marked[number] = _Marked(key, answer, len(paths), found[1])
            paths += found[0]
    if marked:
        lengths = lengths_of(paths)
        games = np.stack([lengths[one.start : one.start + 10] for one in marked.values()])
        for number, result in zip(marked, _results(games, list(marked.values())), strict=True):
            results[number] = result
    return results


def _ten_paths(key: Key, answer: Answer) -> tuple[list[FloatArray], list[Finding]] | Finding:
    """Return eight paths of the canal and two of the instrument, true and the learner's; or why there are none."""
    aim, findings = key.task.aim, list[Finding]()
    reference = canal = None
    if "reference mark" in _ASKED[aim] and key.reference is not None:
        if answer.reference_px is None:
            return _missing(key.task.id, "the instrument")
        reference = np.array(answer.reference_px) * key.pitch
        reference = _from_the_crown(key.reference, reference, findings, key.task.id, "instrument")
    if aim == "trace":
        if answer.canal_px is None:
            return _missing(key.task.id, "the canal")
        canal = np.array(answer.canal_px) * key.pitch
        canal = _from_the_crown(key.canal, canal, findings, key.task.id, "canal")
    if aim == "apex":
        if answer.apex_px is None:
            return _missing(key.task.id, "the apex")
        canal = np.vstack([key.canal.points[0], np.array(answer.apex_px) * key.pitch])
    true_path = key.true_path
    eight = mixed_paths(key.canal, canal) if canal is not None else [true_path] * 8
    if aim == "apex":
        eight = [eight[index & 1] for index in range(8)]
    if key.reference is None:
        return [*eight, true_path, true_path], findings
    true = key.true_reference
    return [*eight, true, true if reference is None else reference], findings


def _from_the_crown(
    true: TrueLine, path: FloatArray, findings: list[Finding], task: str, what: str
) -> FloatArray:
    first, last = true.feet(path[[0, -1]])
    if first <= last:
        return path
    findings.append(
        Finding(
            "marked-backwards",
            f"The {what} was marked from its apical end to the crown.",
            "It was read the other way round; mark from the crown.",
            "note",
            task,
        )
    )
    return np.ascontiguousarray(path[::-1])


def _missing(task: str, what: str) -> Finding:
    return Finding("answer-missing", f"The answer lacks the mark of {what}.", "Mark it.", "serious", task)


def _results(games: FloatArray, marked: list[_Marked]) -> list[Result]:
    known = np.array([one.key.truth.reference_mm or 0.0 for one in marked])
    fixed = np.array([one.key.truth.mm_per_unit or 0.0 for one in marked])
    with_reference = np.array([one.key.reference is not None for one in marked])
    with np.errstate(all="ignore"):
        scale = np.where(with_reference[:, None], known[:, None] / games[:, 8:], fixed[:, None])
        values = (scale[:, :, None] * games[:, None, :8]).reshape(-1, 2, 2, 2, 2)
        shares = shapley(values)
    measured, perfect = values[:, 1, 1, 1, 1], values[:, 0, 0, 0, 0]
    return [
        _marked_result(one, float(measured[i]), float(perfect[i]), shares[i]) for i, one in enumerate(marked)
    ]


def _marked_result(one: _Marked, measured_mm: float, perfect_mm: float, shares: FloatArray) -> Result:
    base = _chosen(one.key, one.answer)
    if not (np.isfinite(measured_mm) and np.all(np.isfinite(shares))):
        broken = Finding(
            "answer-unmeasurable",
            "The marks make no line that can be measured.",
            "Mark again, each point once.",
            "serious",
            one.key.task.id,
        )
        return _with(base, (*one.findings, broken))
    with np.errstate(all="ignore"):  # as above: a mark may be any number
        elsewhere = marked_elsewhere(one.key, one.answer)
    if elsewhere is not None:
        return _with(base, (*one.findings, elsewhere))
    shifted, straight = marked_shifted(one.key, one.answer), marked_straight(one.key, one.answer)
    true_mm = one.key.truth.length_mm
    asked = _ASKED[one.key.task.aim]
    parts = {name: float(share) for name, share in zip(MARKS, shares, strict=True) if name in asked}
    if one.key.truth.basis == "simulated":
        parts["geometry"] = perfect_mm - true_mm
    else:
        true_mm = perfect_mm
    return _with(
        base,
        (*one.findings, *([shifted] if shifted else []), *straight),
        measured_mm=measured_mm,
        true_mm=true_mm,
        parts_mm=parts,
        u_true_mm=one.key.u_mm,
    )


def _chosen(key: Key, answer: Answer) -> Result:
    task, truth = key.task, key.truth
    findings: tuple[Finding, ...] = ()
    if truth.choice is not None and answer.choice not in task.choices:
        findings = (
            Finding("choice-unknown", "Nothing on the list was chosen.", "Choose one.", "serious", task.id),
        )
    return Result(
        task=task.id,
        aim=task.aim,
        difficulty=task.difficulty,
        level=truth.level,
        basis=truth.basis,
        order=answer.order,
        seconds=answer.seconds,
        clicks=answer.clicks,
        repeat_of=truth.repeat_of,
        choice=answer.choice if truth.choice is not None else None,
        right_choice=truth.choice,
        why=truth.why,
        findings=findings,
    )


def _with(result: Result, findings: tuple[Finding, ...], **changes: object) -> Result:
    return replace(result, findings=(*result.findings, *findings), **changes)  # type: ignore[arg-type]
