"""The tables of the study of found objects: quantiles with bootstraps over scenes, what was refused and questioned."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))
sys.path.insert(0, str(Path(__file__).parent))

from helpers.object_scenes import VARIANTS
from tracing_study import bootstrap

WRONG_MM = 0.3
"""An error that is wrong."""


def quantile(share):
    """Return a statistic: a quantile of the errors."""

    def of(rows):
        errors = [row.error for row in rows if np.isfinite(row.error)]
        return float(np.quantile(errors, share)) if errors else np.nan

    return of


def within(limit_mm):
    """Return a statistic: the share of errors within a limit."""

    def of(rows):
        errors = np.array([row.error for row in rows if np.isfinite(row.error)])
        return float((errors <= limit_mm).mean()) if errors.size else np.nan

    return of


def spread(name):
    """Return a statistic: the standard deviation along or across."""

    def of(rows):
        values = [getattr(row, name) for row in rows if np.isfinite(getattr(row, name))]
        return float(np.std(values)) if values else np.nan

    return of


def silent(rows):
    """Return the share of rows that are wrong by more than 0.3 mm and not questioned, of all."""
    bad = [row for row in rows if is_wrong(row) and not row.flagged and not row.refused]
    return len(bad) / len(rows) if rows else np.nan


def is_wrong(row):
    """Return whether something was returned that is 0.3 mm off or more, or that is not there."""
    return not row.refused and not row.error <= WRONG_MM


def questioned(rows):
    """Return the share of wrong answers that were questioned; refusals are no answers."""
    bad = [row for row in rows if is_wrong(row)]
    return sum(row.flagged for row in bad) / len(bad) if bad else np.nan


def false_flags(rows):
    good = [row for row in rows if not is_wrong(row) and not row.refused]
    return sum(row.flagged for row in good) / len(good) if good else np.nan


HARD_ROWS = ("tip, click beside", "tip, click short", "tip, click beyond", "tip, reversed clicks")
HARD_ROWS += ("tip, faint image", "tip, noise only")
NONE_ROWS = ("random click, ball", "random click, wire", "random click, beads", "beads on a rod")
_HEAD = f"{'what':24} {'n':>5}  {'p50':>7} {'p95 (95 % interval)':>26}  {'in 0.3':>7}  {'refused':>7} {'flagged':>11}"
SHOWN = (
    "click",
    "tip",
    "tip, usual one",
    "tip, form unknown",
    "tip, inverted image",
    "tip, metal white",
    "ball centre",
    "ball semi-axis",
)
SHOWN += ("bead", "wire ends", "rod ends", "stop click", "stop hint", "apex click", "apex hint", "end to end")


def tables(rows, seed):
    """Return the study as lines of text."""
    rng = np.random.default_rng(seed)
    lines = ["", _HEAD]
    lines += [_line(what, [row for row in rows if row.what == what], rng) for what in SHOWN]
    lines += _details(rows, rng)
    lines += [
        "",
        "what is to be questioned:        n   wrong  of these questioned   silent, of all   refused",
    ]
    for what in (*HARD_ROWS, *NONE_ROWS):
        here = [row for row in rows if row.what == what]
        wrong = sum(is_wrong(row) for row in here)
        refused = np.mean([row.refused for row in here]) if here else np.nan
        lines.append(
            f"{what:28} {len(here):5} {wrong:7}  {questioned(here):20.3f}  {silent(here):15.3f}  {refused:8.3f}"
        )
    return lines


def _line(what, here, rng):
    middle = quantile(0.5)(here)
    share, low, high = bootstrap(here, quantile(0.95), rng, 500) if here else (np.nan,) * 3
    refused = np.mean([row.refused for row in here]) if here else np.nan
    near = within(WRONG_MM)(here)
    return (
        f"{what:24} {len(here):5}  {middle:7.4f} {share:9.4f} ({low:6.4f} to {high:6.4f})  {near:7.4f}"
        f"  {refused:7.3f} {false_flags(here):11.3f}"
    )


def _details(rows, rng):
    tips = [row for row in rows if row.what == "tip"]
    lines = ["", "tips in groups"]
    groups = {"one instrument": [r for r in tips if not r.several], "two": [r for r in tips if r.several]}
    groups |= {kind: [r for r in tips if r.kind == kind] for kind in sorted({r.kind for r in tips})}
    groups |= {name: [r for r in tips if r.variant == name] for name in VARIANTS}
    groups["not questioned"] = [r for r in tips if not r.flagged]
    lines += [_line(name, group, rng) for name, group in groups.items()]
    share, low, high = bootstrap(tips, within(WRONG_MM), rng, 500)
    lines.append(f"within 0.3 mm: {share:.4f} ({low:.4f} to {high:.4f})")
    bad = [row for row in tips if is_wrong(row)]
    lines.append(f"wrong by more than 0.3 mm: {len(bad)}, questioned {sum(row.flagged for row in bad)}")
    lines.append(_trusted("bead", rows, rng))
    lines.append(_trusted("wire ends", rows, rng))
    lines.append(_trusted("rod ends", rows, rng))
    counts = [row for row in rows if row.what == "beads counted"]
    whole = np.mean([row.error == 0 for row in counts])
    wrong = sum(row.error > 0 and not row.flagged for row in counts)
    lines.append(
        f"wires with all beads: {whole:.3f} of {len(counts)}; a wrong number and not questioned: {wrong}"
    )
    whole = [row for row in rows if row.what == "end to end" and np.isfinite(row.error)]
    trusted = [row for row in whole if not row.flagged]
    bias = float(np.mean([row.along for row in whole])) if whole else np.nan
    share, low, high = bootstrap(trusted, quantile(0.95), rng, 500)
    lines.append(
        f"end to end: bias {bias:.3f}, SD {spread('along')(whole):.3f} mm;"
        f" not questioned ({len(trusted)}): p95 {share:.3f} ({low:.3f} to {high:.3f})"
    )
    return lines


def _trusted(what, rows, rng):
    here = [row for row in rows if row.what == what and not row.flagged and not row.refused]
    parts = []
    for name in ("along", "across"):
        value, low, high = bootstrap(here, spread(name), rng, 500)
        parts.append(f"SD {name} {value:.4f} ({low:.4f} to {high:.4f})")
    worst = max((row.error for row in here), default=np.nan)
    return f"{what}, not questioned ({len(here)}): {', '.join(parts)}, worst {worst:.3f} mm"
