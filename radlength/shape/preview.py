"""Everything a preview shows of one canal, from what the user asks for in words: the face of the room."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

from numpy.typing import ArrayLike

from radlength.errors import TradeError
from radlength.finding import Finding, worst_first
from radlength.imaging import Radiograph
from radlength.length import Estimate
from radlength.shape.cone import ConeFit, fit_cone, matching_cone
from radlength.shape.needle import NeedleDepth, needle_depth
from radlength.shape.options import parse_option
from radlength.shape.preparation import PROJECTED, Preparation, lay_out
from radlength.shape.prepared import PreparedCanal, crossings_mm, difference_mm3
from radlength.shape.steps import Noted, Rule, Step, note_steps
from radlength.trade.cones import CONE_SOURCE, SIZES_RANGE
from radlength.trade.instrument_shape import Instrument, parse_instrument
from radlength.trade.needles import needle as needle_of

MOST_OPTIONS = 6


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the user asks for.

    Parameters
    ----------
    options
        Texts as :func:`radlength.shape.options.parse_option` reads them.
    tables
        Instruments of variable taper by name.
    before
        A round canal before, as size/taper, or ``None``.
    edges_px
        Edges of the root by name, (row, column) pixels.
    threshold_mm, up_to_mm, step_mm
        As in :func:`radlength.shape.preparation.lay_out`.
    cone, needle
        As text; ``None``: the matching cone, no needle.
    steps, rules
        The user's own.
    """

    options: tuple[str, ...]
    tables: Mapping[str, Instrument] = field(default_factory=dict)
    before: str | None = None
    edges_px: Mapping[str, ArrayLike] = field(default_factory=dict)
    threshold_mm: float | None = None
    up_to_mm: float | None = None
    step_mm: float = 1.0
    cone: str | None = None
    needle: str | None = None
    steps: tuple[Step, ...] = ()
    rules: tuple[Rule, ...] = ()


@dataclass(frozen=True, slots=True)
class Option:
    """One option with all that follows from it.

    Parameters
    ----------
    text
        As the user wrote it.
    canal
        The prepared canal.
    laid
        Its outline on this canal.
    volume_mm3, removed_mm3
        Volume over the levels shown, and what is cut from the stated canal, ``None`` without one.
    cone, needle
        Fits, ``None`` where not asked or not possible.
    doubts
        Why a fit is not possible.
    """

    text: str
    canal: PreparedCanal
    laid: Preparation
    volume_mm3: float
    removed_mm3: float | None
    cone: ConeFit | None
    needle: NeedleDepth | None
    doubts: tuple[Finding, ...] = ()

    @property
    def colours(self) -> str:
        """Colours of the handles of instruments of standard size, each with its number: not of a line on a picture."""
        named = dict.fromkeys(one.instrument.colour for one in self.canal.passes if one.instrument.colour)
        return f"handle {', '.join(named)}" if named else ""


@dataclass(frozen=True, slots=True)
class Pair:
    """Two options against each other: where they are equally wide, and the difference in volume, first less second."""

    names: tuple[str, str]
    crossings_mm: tuple[float, ...]
    difference_mm3: float


@dataclass(frozen=True, slots=True)
class Preview:
    """Options side by side.

    Parameters
    ----------
    canal_label
        Tooth and canal.
    working_length_mm
        Of the canal.
    options, pairs
        Every option, and every two of them.
    steps
        The user's steps.
    findings
        Flags and doubts, the serious first.
    """

    canal_label: str
    working_length_mm: float
    options: tuple[Option, ...]
    pairs: tuple[Pair, ...]
    steps: tuple[Noted, ...]
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the preview as plain data."""
        return {
            "canal": self.canal_label,
            "working_length_mm": self.working_length_mm,
            "thickness": PROJECTED,
            "options": [_option_dict(option) for option in self.options],
            "pairs": [
                {
                    "options": list(p.names),
                    "equal_at_mm": list(p.crossings_mm),
                    "difference_mm3": p.difference_mm3,
                }
                for p in self.pairs
            ],
            "steps": [
                {
                    "step": n.step.step,
                    "instrument": n.step.instrument.label,
                    "set_length_mm": n.step.set_length_mm,
                    "short_mm": n.short_mm,
                    "felt": n.step.felt,
                    "reminders": list(n.reminders),
                }
                for n in self.steps
            ],
            "findings": [finding.as_dict() for finding in self.findings],
        }


def make_preview(estimate: Estimate, wanted: Wanted, *, radiograph: Radiograph | None = None) -> Preview:
    """Return everything that is asked for of one measured canal.

    Raises
    ------
    TradeError
        An option, cone or needle that is none.
    MarkError
        No working length, or edges that are none of this root.
    """
    if not 1 <= len(wanted.options) <= MOST_OPTIONS:
        raise TradeError(
            f"{len(wanted.options)} options", f"1 to {MOST_OPTIONS} side by side", code="options-number"
        )
    before = parse_instrument(wanted.before) if wanted.before else None
    canals = [parse_option(text, tables=wanted.tables, before=before) for text in wanted.options]
    laid = lay_out(
        estimate,
        list(zip(wanted.options, canals, strict=True)),
        radiograph=radiograph,
        edges_px=wanted.edges_px,
        threshold_mm=wanted.threshold_mm,
        up_to_mm=wanted.up_to_mm,
        step_mm=wanted.step_mm,
    )
    length = float(laid[0].at_mm[-1])
    options = tuple(_option(*each, length, wanted) for each in zip(wanted.options, canals, laid, strict=True))
    working = estimate.working_length.value_mm if estimate.working_length else 0.0
    noted, doubts = note_steps(wanted.steps, wanted.rules, working_length_mm=working)
    found = [*doubts, *(f for option in options for f in _findings(option))]
    return Preview(
        canal_label=estimate.canal.label,
        working_length_mm=working,
        options=options,
        pairs=tuple(_pair(one, other, length) for one, other in combinations(options, 2)),
        steps=noted,
        findings=worst_first(dict.fromkeys(found)),
    )


def _option(text: str, canal: PreparedCanal, laid: Preparation, length: float, wanted: Wanted) -> Option:
    cone, no_cone = _cone(text, canal, laid.opening_mm, wanted)
    needle, no_needle = _needle(text, canal, laid.opening_mm, wanted)
    return Option(
        text=text,
        canal=canal,
        laid=laid,
        volume_mm3=canal.volume_mm3(length),
        removed_mm3=canal.removed_mm3(length) if canal.before is not None else None,
        cone=cone,
        needle=needle,
        doubts=(*no_cone, *no_needle),
    )


def _cone(
    text: str, canal: PreparedCanal, opening_mm: float, wanted: Wanted
) -> tuple[ConeFit | None, tuple[Finding, ...]]:
    """Return the fit of the cone that is named, else of the one that matches, and why there is none."""
    if wanted.cone:
        return fit_cone(canal, opening_mm, parse_instrument(wanted.cone)), ()
    if not any(one.short_mm == 0 for one in canal.passes):
        return None, ()
    matching = matching_cone(canal)
    low, high = SIZES_RANGE
    if low <= matching.size <= high:
        return fit_cone(canal, opening_mm, matching), ()
    return None, (
        Finding(
            "cone-none",
            f"{text}: no cone has size {matching.size:g}; they go from {low} to {high} ({CONE_SOURCE}).",
            "Name a cone of a size there is; without one none is fitted.",
            "note",
            text,
        ),
    )


def _needle(
    text: str, canal: PreparedCanal, opening_mm: float, wanted: Wanted
) -> tuple[NeedleDepth | None, tuple[Finding, ...]]:
    """Return how deep the needle goes, and why it does not: one option that keeps it out does not hide the others."""
    if not wanted.needle:
        return None, ()
    needle = needle_of(wanted.needle)
    wide = canal.diameter_mm(opening_mm)
    if needle.diameter_mm <= wide + 1e-9:
        depth = needle_depth(canal, needle, opening_mm)
        return depth, ((_loose(text, depth),) if depth.reaches_end else ())
    return None, (
        Finding(
            "needle-wide",
            f"{text}: a needle of {needle.label} does not enter; the canal is {wide:.2f} mm wide"
            f" {opening_mm:g} mm from the end of the working length.",
            "Choose a thinner needle.",
            "question",
            text,
        ),
    )


def _loose(text: str, depth: NeedleDepth) -> Finding:
    """Return the doubt about a needle that nothing stops; that it is to be stopped is common practice, no source."""
    return Finding(
        "needle-loose",
        f"{text}: a needle of {depth.needle.label} reaches the end of the working length and binds nowhere.",
        "Set a stop on it short of that: nothing in the canal holds it back.",
        "question",
        text,
    )


def _findings(option: Option) -> list[Finding]:
    return [*option.laid.findings, *(option.cone.findings if option.cone else ()), *option.doubts]


def _pair(one: Option, other: Option, length: float) -> Pair:
    return Pair(
        (one.text, other.text),
        tuple(crossings_mm(one.canal, other.canal, length)),
        difference_mm3(one.canal, other.canal, length),
    )


def _option_dict(option: Option) -> dict[str, Any]:
    laid, cone, needle = option.laid, option.cone, option.needle
    return {
        "option": option.text,
        "instruments": [{**p.instrument.as_dict(), "short_mm": p.short_mm} for p in option.canal.passes],
        "at_mm": laid.at_mm.tolist(),
        "diameter_mm": laid.diameter_mm.tolist(),
        "walls": [
            {
                "edge": wall.name,
                "thickness_mm": [None if math.isnan(t) else float(t) for t in wall.thickness_mm],
                "u_mm": [None if math.isnan(u) else float(u) for u in wall.u_mm],
            }
            for wall in laid.walls
        ],
        "threshold_mm": laid.threshold_mm,
        "volume_mm3": option.volume_mm3,
        "removed_mm3": option.removed_mm3,
        "cone": None
        if cone is None
        else {
            "cone": cone.cone.label,
            "limits": cone.limit_words,
            "rests_short_mm": cone.binds_mm,
            "band_short_mm": list(cone.tug_back_mm),
            "looseness_mm": cone.looseness_mm.tolist(),
        },
        "opening_mm": laid.opening_mm,
        "needle": None
        if needle is None
        else {
            "outer_diameter_mm": needle.needle.diameter_mm,
            "gauge": needle.needle.gauge,
            "binds_short_mm": needle.short_mm,
            "reaches_end": needle.reaches_end,
            "limits_short_mm": [needle.low_mm, needle.high_mm],
            "note": needle.note,
        },
    }
