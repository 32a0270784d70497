"""The class page: one HTML file that needs no network; sorting is a help, everything is there without scripts."""

from __future__ import annotations

import hashlib
import json
import math
from base64 import b64encode
from importlib.resources import files
from typing import Any

from radlength._version import __version__
from radlength.clean import clean, counted
from radlength.exercise.agreement import Interval
from radlength.exercise.alike import SAME_MARKS
from radlength.exercise.charts import curve_chart, difference_chart, learner_chart, parts_chart
from radlength.exercise.class_agreement import ClassAgreement, agree
from radlength.exercise.classroom import ClassResult
from radlength.exercise.humans import FIGURES
from radlength.exercise.kappa import Kappa
from radlength.exercise.learner import Summary
from radlength.exercise.learning import class_curve, trend_against
from radlength.exercise.reach import out_of_reach
from radlength.exercise.texts import SIMULATED
from radlength.report.drawing import Drawing, svg
from radlength.report.extra import extra_module
from radlength.trade import CAUTION

KEPT = (
    "Of a learner radlength keeps what stands in the attempt file and nothing else: a code, the marks, the choices, "
    "seconds and clicks for each exercise. No name, no time of day, no machine. This page and the gradebook hold "
    "results by code; who has which code is the teacher's own list and never part of it."
)
NOTHING = "nothing"
AS_IF = "interval as if no two decisions were of one learner"
NO_TERM = "No term was stated: keep attempts, page and gradebook until marks are final, then erase them."
ERASE = (
    "To erase a learner, delete the file CODE.attempt.json with its copies and pictures, and make page and gradebook "
    "again; radlength has no other copy and deletes nothing by itself."
)


def class_page(found: ClassResult, *, keep_until: str = "") -> str:
    """Return the class page as one self-contained HTML document.

    Parameters
    ----------
    found
        What came of the class.
    keep_until
        Until when it is kept, as the teacher states it.

    Raises
    ------
    ReportError
        The library for pages is not installed.
    """
    jinja2 = extra_module("jinja2")
    environment = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    safe = extra_module("markupsafe").Markup
    script = _text("sort.js")
    template = environment.from_string(_text("class.html"))
    return str(
        template.render(
            **_told(found, safe),
            script=safe(script),
            script_hash=b64encode(hashlib.sha256(script.encode()).digest()).decode(),
            kept=(KEPT, f"Kept until {clean(keep_until, 100)}." if keep_until else NO_TERM, ERASE),
            caution=CAUTION,
            on_paper=safe(json.dumps(f"{SIMULATED} {CAUTION}" if found.exercises.invented else CAUTION)),
            software=f"radlength {__version__}",
        )
    )


def _text(name: str) -> str:
    return files("radlength.exercise").joinpath(f"templates/{name}").read_text(encoding="utf-8")


def _told(found: ClassResult, safe: Any) -> dict[str, Any]:
    teacher = found.exercises.kind == "real images"
    what = "Difference from the teacher's marks" if teacher else "Error against truth"
    agreement, curve = agree(found.exercises, found.learners), class_curve(found.learners)
    drawn: list[tuple[str, Drawing | None]] = [
        (f"{what} against length", difference_chart(found.learners, agreement, what)),
        ("Every learner", learner_chart(found.learners)),
        ("What errors are made of, mean size", parts_chart(agreement)),
        ("Over the set", curve_chart(curve)),
    ]
    return {
        "title": clean(found.exercises.title, 200),
        "kind": found.exercises.kind,
        "invented": found.exercises.invented,
        "what": what,
        "band": f"{found.band_mm:g}",
        "target": f"{100 * found.target:.0f} %",
        "counted": (counted(len(found.learners), "learner"), counted(len(found.set_aside), "attempt")),
        "learners": [_row(one, trend_against(curve, one), _stands_out(one, found)) for one in found.learners],
        "out_of_reach": out_of_reach(found.exercises, found.target),
        "set_aside": [
            {"file": clean(one.file, 120), "reason": clean(one.reason, 400)} for one in found.set_aside
        ],
        "alike": [", ".join(codes) for codes in found.alike],
        "same_marks": SAME_MARKS,
        "facts": _facts(agreement, what),
        "small": agreement.small,
        "charts": [(name, safe(svg(drawing))) for name, drawing in drawn if drawing is not None],
        "figures": [str(figure) for figure in FIGURES],
    }


def _facts(found: ClassAgreement, what: str) -> list[tuple[str, str]]:
    facts = [
        ("Learners with two lengths or more, and measured exercises", f"{found.learners} × {found.exercises}")
    ]
    if found.bias and found.lower and found.upper:
        facts += [
            (f"{what}, mean", f"{_mm(found.bias)}"),
            ("Lower limit of agreement", _mm(found.lower)),
            ("Upper limit of agreement", _mm(found.upper)),
        ]
    if found.icc and found.whole < found.learners:
        facts.append(("Learners who missed none, for what follows of lengths", str(found.whole)))
    for name, value in (found.icc or {}).items():
        facts.append((f"Intraclass correlation {name} of lengths", _plain(value)))
    if found.repeats:
        facts.append(("SD of repeats within a learner and an image (Dahlberg)", _mm(found.repeats, sign="")))
    if found.learning:
        facts.append(("Change of the size of what marks add, second time less first", _mm(found.learning)))
    if found.kappa is not None:
        facts.append(("Kappa of accept, adjust, repeat among learners (Fleiss)", f"{found.kappa:.2f}"))
    if found.right is not None and math.isfinite(found.right.value):
        facts.append(
            (
                f"Kappa of accept, adjust, repeat with what is right, all learners ({AS_IF})",
                _kappa(found.right),
            )
        )
    return facts


def _row(one: Summary, trend: Interval | None, out: tuple[str, str]) -> dict[str, tuple[str, float | str]]:
    """Return every cell as its words and what it sorts by."""
    own, kappa = one.repeatability.own, one.kappa
    known = kappa is not None and math.isfinite(kappa.value)
    return {
        "learner": (one.learner, one.learner),
        "verdict": (one.verdict, one.verdict),
        "within": (share_words(one.within), one.within.value if one.within else -1),
        "truth": (share_words(one.within_truth), one.within_truth.value if one.within_truth else -1),
        "bias": _mean(one.bias_mm, one),
        "sd": _number(one.sd_mm, ".2f"),
        "marks": _mean(one.own_bias_mm, one),
        "repeat": (f"{own.value:.2f} ({one.repeatability.pairs})" if own else "–", own.value if own else -1),
        "right": (f"{one.right} of {one.decided}", one.right / one.decided) if one.decided else ("–", -1),
        "kappa": (_kappa(kappa) if kappa and known else "–", kappa.value if kappa and known else -2),
        "seconds": _number(one.seconds, ".0f"),
        "trend": (
            f"{10 * trend.value:+z.2f} ({10 * trend.low:+z.2f} to {10 * trend.high:+z.2f})" if trend else "–",
            trend.value if trend else 99,
        ),
        "cause": out,
    }


def _stands_out(one: Summary, found: ClassResult) -> tuple[str, str]:
    """Return what stands out in words and as it sorts; whose marks are the same comes first, beside the verdict."""
    words, by = standing_out(one)
    others = [code for codes in found.alike if one.learner in codes for code in codes if code != one.learner]
    if not others:
        return words, by
    same = f"same marks as {', '.join(others)}"
    return (same if words == NOTHING else f"{same}; {words}"), same


def _kappa(kappa: Kappa) -> str:
    if kappa.rough:
        return f"{kappa.value:.2f} (n\u00a0{kappa.n})"
    return f"{kappa.value:.2f} ({kappa.low:.2f} to {kappa.high:.2f})"


def standing_out(one: Summary) -> tuple[str, str]:
    """Return what stands out of one learner's marks, in words and as it sorts."""
    words = [habit.words for habit in one.habits]
    cause = next((cause for cause in one.causes if cause.stands_out), None)
    if cause is not None:
        words.append(f"{cause.part} {cause.mean_mm:+z.2f}\u00a0mm")
    return "; ".join(words) or NOTHING, words[0] if words else NOTHING


def _number(value: float | None, form: str) -> tuple[str, float | str]:
    return ("–", -1e9) if value is None else (format(value, form), round(value, 6))


def _mean(value: float | None, one: Summary) -> tuple[str, float | str]:
    """Return a mean in words, and of how many exercises where some gave no length."""
    words, by = _number(value, "+z.2f")
    return (f"{words} (n\u00a0{one.measured})" if value is not None and one.missed else words), by


def share_words(value: Interval | None) -> str:
    """Return a share and its interval in percent, or a dash."""
    return (
        f"{100 * value.value:.0f} % ({100 * value.low:.0f} % to {100 * value.high:.0f} %)" if value else "–"
    )


def _mm(value: Interval, sign: str = "+") -> str:
    return f"{value.value:{sign}z.2f} mm ({value.low:{sign}z.2f} to {value.high:{sign}z.2f})"


def _plain(value: Interval) -> str:
    if not math.isfinite(value.value):
        return "cannot be told: every length is the same"
    low = f"{value.low:.2f}" if math.isfinite(value.low) else "−∞"
    return f"{value.value:.2f} ({low} to {value.high:.2f})"
