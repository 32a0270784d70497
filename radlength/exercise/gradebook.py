"""The gradebook: one line a learner, by code, for any spreadsheet."""

from __future__ import annotations

import csv
import io
import math

from radlength._version import __version__
from radlength.clean import cell
from radlength.exercise.classroom import ClassResult
from radlength.exercise.learner import Summary
from radlength.trade import CAUTION

COLUMNS = (
    "learner", "verdict", "exercises_measured", "within_band", "within_band_low", "within_band_high",
    "within_band_of_truth", "bias_mm", "sd_mm", "marks_bias_mm", "repeat_sd_mm", "repeat_pairs", "choices_right",
    "choices", "kappa", "kappa_n", "kappa_low", "kappa_high", "median_seconds", "median_clicks", "unusable", "advice",
)  # fmt: skip


def learner_row(one: Summary) -> dict[str, object]:
    """Return one learner as plain data, by the names of :data:`COLUMNS`; ``None`` where there is nothing to tell."""
    own, kappa, within = one.repeatability.own, one.kappa, one.within
    known = kappa is not None and math.isfinite(kappa.value)
    return {
        "learner": one.learner,
        "verdict": one.verdict,
        "exercises_measured": one.measured,
        "within_band": _rounded(within.value if within else None),
        "within_band_low": _rounded(within.low if within else None),
        "within_band_high": _rounded(within.high if within else None),
        "within_band_of_truth": _rounded(one.within_truth.value if one.within_truth else None),
        "bias_mm": _rounded(one.bias_mm),
        "sd_mm": _rounded(one.sd_mm),
        "marks_bias_mm": _rounded(one.own_bias_mm),
        "repeat_sd_mm": _rounded(own.value if own else None),
        "repeat_pairs": one.repeatability.pairs,
        "choices_right": one.right,
        "choices": one.decided,
        "kappa": _rounded(kappa.value) if kappa and known else None,
        "kappa_n": kappa.n if kappa else 0,
        "kappa_low": _rounded(kappa.low) if kappa and known and not kappa.rough else None,
        "kappa_high": _rounded(kappa.high) if kappa and known and not kappa.rough else None,
        "median_seconds": one.seconds,
        "median_clicks": one.clicks,
        "unusable": " ".join(one.unusable),
        "advice": one.advice,
    }


def gradebook_csv(found: ClassResult) -> str:
    """Return the gradebook as CSV; no text starts a formula in a spreadsheet.

    Attempts that were set aside stand below, so that nobody is lost silently.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([*COLUMNS, "set", "band_mm", "target", "images", "software", "caution"])
    images = "simulated, no patient" if found.exercises.invented else "real"
    last = [found.exercises.title, found.band_mm, found.target, images, f"radlength {__version__}", CAUTION]
    for one in found.learners:
        row = learner_row(one)
        writer.writerow([cell(value) for value in (*(row[name] for name in COLUMNS), *last)])
    for aside in found.set_aside:
        empty = [None] * (len(COLUMNS) - 3)
        told = [f"set aside: {aside.file}", aside.code, *empty, aside.reason, *last]
        writer.writerow([cell(value) for value in told])
    return out.getvalue()


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 4)
