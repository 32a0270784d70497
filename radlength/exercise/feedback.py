"""What a learner is told: after each exercise, and about the whole attempt."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from radlength.clean import counted
from radlength.exercise.advice import LEAST, advice_for
from radlength.exercise.agreement import limits_of_agreement
from radlength.exercise.checks import check_attempt
from radlength.exercise.classroom import keys_of
from radlength.exercise.humans import figures_for
from radlength.exercise.interval import Held, held_by
from radlength.exercise.learner import BAND_MM, Summary, summarise
from radlength.exercise.marking import OwnMarking, own_marking
from radlength.exercise.models import Answer, Attempt, ExerciseSet, SealedTruth
from radlength.exercise.place import ELSEWHERE
from radlength.exercise.refusal import ExerciseError
from radlength.exercise.repeats import Repeatability
from radlength.exercise.score import Key, Result, score_answers
from radlength.exercise.texts import SIMULATED
from radlength.trade import CAUTION


@dataclass(frozen=True, slots=True)
class OneFeedback:
    """What is told after one exercise.

    Parameters
    ----------
    key, answer, result, held
        What it is about.
    advice
        One sentence.
    lines
        What came of it, as sentences, the advice last.
    published
        Published figures beside it, with their sources.
    invented
        Whether the case is invented.
    resized
        Whether it shows what it repeats at another size.
    """

    key: Key
    answer: Answer
    result: Result
    held: Held | None
    advice: str
    lines: tuple[str, ...]
    published: tuple[str, ...]
    invented: bool
    resized: bool = False

    @property
    def heading(self) -> str:
        """Name of the exercise in words."""
        size = " and at another size" if self.resized else ""
        again = f", the picture of {self.result.repeat_of} in disguise{size}" if self.result.repeat_of else ""
        return f"{self.result.aim}, {self.result.level}{again}"

    @property
    def drawable(self) -> bool:
        """Whether there are marks to draw: measured ones, or some that lie elsewhere."""
        elsewhere = any(finding.code == ELSEWHERE for finding in self.result.findings)
        return self.result.parts_mm is not None or elsewhere


@dataclass(frozen=True, slots=True)
class Feedback:
    """What is told about an attempt.

    Parameters
    ----------
    summary
        What its results say together.
    exercises
        What is told after each exercise.
    lines
        What is told about the whole, as sentences.
    marking
        How this learner's marks scatter, for estimates from them; ``None`` below five marks of every kind.
    invented
        Whether the cases are invented.
    """

    summary: Summary
    exercises: tuple[OneFeedback, ...]
    lines: tuple[str, ...]
    marking: OwnMarking | None
    invented: bool

    def as_dict(self) -> dict[str, Any]:
        """Return the feedback as plain data, with the caution."""
        return {
            "learner": self.summary.learner,
            "invented": self.invented,
            "exercises": [_plain(one) for one in self.exercises],
            "summary": list(self.lines),
            "verdict": self.summary.verdict,
            "marking": asdict(self.marking.marking) if self.marking else None,
            "marking_counts": self.marking.counts if self.marking else None,
            "advice": self.summary.advice,
            "caution": CAUTION,
        }


def give_feedback(exercises: ExerciseSet, truth: SealedTruth, attempt: Attempt) -> Feedback:
    """Return what a learner is told; a half-finished attempt is told about what is there.

    Raises
    ------
    ExerciseError
        An attempt at another set or version.
    """
    check_attempt(attempt, exercises)
    keys = keys_of(exercises, truth)
    pairs = [(keys[answer.task], answer) for answer in attempt.answers]
    results = score_answers(pairs)
    summary = summarise(attempt.learner, results)
    told = tuple(
        replace(
            _one(key, answer, result, summary.repeatability, invented=exercises.invented),
            resized=_resized(key, keys.get(key.truth.repeat_of or "")),
        )
        for (key, answer), result in zip(pairs, results, strict=True)
    )
    missing = len(exercises.tasks) - len(attempt.answers)
    have = "has" if missing == 1 else "have"
    left = [f"{counted(missing, 'exercise')} {have} no answer yet."] * bool(missing)
    marking = _own_marking(
        [pair for pair, result in zip(pairs, results, strict=True) if result.parts_mm is not None]
    )
    invented = [SIMULATED] * exercises.invented
    lines = (*_whole(summary), *_scatter(marking), *left, *invented)
    return Feedback(summary, told, lines, marking, exercises.invented)


def _resized(key: Key, first: Key | None) -> bool:
    return first is not None and key.truth.length_mm != first.truth.length_mm


def _own_marking(pairs: Sequence[tuple[Key, Answer]]) -> OwnMarking | None:
    try:
        return own_marking(pairs)
    except ExerciseError:
        return None


def _scatter(own: OwnMarking | None) -> list[str]:
    if own is None:
        return []
    known = [name for name, count in own.counts.items() if count]
    told = ", ".join(f"{name} {getattr(own.marking, name):.2f} (n {own.counts[name]})" for name in known)
    biased = [f"{one.sentence} {one.remedy}" for one in own.findings if one.code == "marking-biased"]
    return [f"SD of your marks about their own mean, to state as “marking” with them: {told}.", *biased]


def _one(key: Key, answer: Answer, result: Result, own: Repeatability, *, invented: bool) -> OneFeedback:
    held = held_by(key, answer) if result.error_mm is not None else None
    advice = advice_for(result, own)
    lines = [f"{finding.sentence} {finding.remedy}" for finding in result.findings]
    if result.error_mm is not None:
        lines += _measured(result, held)
    if result.right_choice is not None:
        lines += [f"Chosen: {result.choice or 'nothing'}; right: {result.right_choice}. {result.why}"]
    published = tuple(str(figure) for figure in figures_for(result.aim))
    return OneFeedback(key, answer, result, held, advice, (*lines, advice), published, invented)


def _measured(result: Result, held: Held | None) -> list[str]:
    error = told_difference_mm(result)
    parts = ", ".join(f"{name} {value:+z.2f}" for name, value in (result.parts_mm or {}).items())
    if result.basis == "teacher":
        reach = 1.96 * result.u_true_mm
        apart = (
            "more than these leave open"
            if abs(result.error_mm or 0.0) > reach
            else "no more than these leave open"
        )
        teacher = f"the teacher's marks give {result.true_mm:.2f} mm, ±{reach:.2f} mm for those marks (95 %)"
        return [
            f"Canal length {result.measured_mm:.2f} mm; {teacher}.",
            f"Difference from the teacher's marks {error:+z.2f} mm, {apart}: {parts} mm.",
        ]
    word = f"{abs(error):.2f} mm too {'long' if error > 0 else 'short'}" if error else "equal"
    lines = [
        f"Canal length {result.measured_mm:.2f} mm; true {result.true_mm:.2f} mm: {word}.",
        f"Parts, mm: {parts}.",
    ]
    if held is not None:
        inside = "holds" if held.holds else "does not hold"
        lines.append(f"The interval of these marks, {held.length}, {inside} the true length.")
    return lines


def told_difference_mm(result: Result) -> float:
    """Return the difference of the two lengths as they are told, to 0.01 mm: the three numbers agree."""
    if result.measured_mm is None or result.true_mm is None:
        return 0.0
    return round(round(result.measured_mm, 2) - round(result.true_mm, 2), 2)


def _whole(summary: Summary) -> list[str]:
    lines = []
    if summary.bias_mm is not None:
        teacher = any(result.basis == "teacher" for result in summary.results)
        what = "difference from the teacher's marks" if teacher else "error against truth"
        spread = f", SD {summary.sd_mm:.2f} mm" if summary.sd_mm is not None else ""
        lines.append(
            f"Mean {what} {summary.bias_mm:+z.2f} mm{spread}, {counted(summary.measured, 'exercise')}."
        )
        lines += _limits([result.error_mm for result in summary.results if result.error_mm is not None])
    if summary.within is not None:
        w, marked = summary.within, counted(summary.measured + summary.missed, "marked exercise")
        missed = f", {summary.missed} without a usable length among them" if summary.missed else ""
        missed += f", {summary.shifted} with marks off along the tooth" if summary.shifted else ""
        lines.append(
            f"Your marks added {BAND_MM:g} mm or less in {100 * w.value:.0f} % of {marked}{missed} (95 % interval "
            f"{100 * w.low:.0f} % to {100 * w.high:.0f} %): {summary.verdict}."
        )
    own = summary.repeatability.own
    if own is not None:
        pairs = counted(summary.repeatability.pairs, "pair")
        lines.append(
            f"Your repeats scatter by {own.value:.2f} mm (SD within an image, Dahlberg; {pairs}, 95 % interval "
            f"{own.low:.2f} to {own.high:.2f} mm)."
        )
    if summary.decided:
        lines.append(f"{summary.right} of {summary.decided} choices right.")
    lines.append(summary.advice)
    return lines


def _limits(errors: list[float]) -> list[str]:
    if len(errors) < LEAST:
        return []
    found = limits_of_agreement(errors)
    low, high = (
        f"{end.value:+z.2f} mm ({end.low:+z.2f} to {end.high:+z.2f})"
        for end in (found.exact_lower, found.exact_upper)
    )
    few = "; few exercises, the brackets are what counts" if found.small else ""
    return [f"95 % of such errors lie between {low} and {high} (limits of agreement){few}."]


def _plain(one: OneFeedback) -> dict[str, Any]:
    result = one.result
    return {
        "task": result.task,
        "aim": result.aim,
        "level": result.level,
        "repeat_of": result.repeat_of,
        "measured_mm": result.measured_mm,
        ("teacher_mm" if result.basis == "teacher" else "true_mm"): result.true_mm,
        ("difference_mm" if result.basis == "teacher" else "error_mm"): result.error_mm,
        "teacher_u_mm": result.u_true_mm if result.basis == "teacher" else None,
        "parts_mm": result.parts_mm,
        "interval": one.held.length.as_dict() if one.held else None,
        "interval_holds": one.held.holds if one.held and result.basis == "simulated" else None,
        "choice": result.choice,
        "right_choice": result.right_choice,
        "advice": one.advice,
        "published": list(one.published),
        "findings": [finding.as_dict() for finding in result.findings],
    }
