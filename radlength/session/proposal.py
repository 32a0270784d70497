"""Marks that a program proposes, for a person to accept or not. Nothing here is kept by itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from radlength.clean import clean, counted
from radlength.errors import MarkError
from radlength.finding import Finding
from radlength.geometry import CARRIED, Assist, Point, fit_curve
from radlength.geometry.path import cumulative_length
from radlength.imaging import Radiograph
from radlength.session.drafts import Annotation, CanalDraft, ReferenceDraft, points
from radlength.session.edits import with_canal_changed, with_reference_changed
from radlength.session.handles import carried
from radlength.session.polarity import found_on_inverted
from radlength.tracing import Trace, Tracer
from radlength.tracing.instrument import find_instrument

What = Literal["canal", "reference"]


@dataclass(frozen=True, slots=True, eq=False)
class Proposal:
    """A canal or a reference instrument as a program sees it.

    Parameters
    ----------
    what
        ``"canal"`` or ``"reference"``.
    marks
        All marks as they would be after accepting it.
    line_px
        (row, column) pixels of the line to draw, shape (N, 2).
    clicks_px
        A person's clicks that it runs through.
    confidence
        For every stretch between two clicks, from 0 to 1; see the method.
    trusted
        Whether nothing speaks against it. Draw an untrusted one differently.
    findings
        What speaks against it, and what is worth knowing.
    method, version
        How it was made.
    """

    what: What
    marks: Annotation
    line_px: NDArray[np.float64]
    clicks_px: tuple[Point, ...]
    confidence: tuple[float, ...]
    trusted: bool
    findings: tuple[Finding, ...]
    method: str
    version: str

    @property
    def path_px(self) -> tuple[Point, ...]:
        """The points that would be kept."""
        return self._draft.path_px

    @property
    def assists(self) -> tuple[Assist, ...]:
        """Which of :attr:`path_px` the program placed."""
        return self._draft.assists

    def on(self, *, inverted: bool) -> Proposal:
        """Return it saying of every point the program placed that somebody called the image inverted, where so."""
        if not inverted:
            return self
        change = with_canal_changed if self.what == "canal" else with_reference_changed
        return replace(self, marks=change(self.marks, assists=found_on_inverted(self.assists)))

    @property
    def _draft(self) -> CanalDraft | ReferenceDraft:
        return self.marks.canal if self.what == "canal" else self.marks.reference


def propose_canal(marks: Annotation, clicks: Sequence[Point], tracer: Tracer) -> Proposal:
    """Return the current canal traced through clicks: every click stays, points of the trace stand between.

    A click of another image that nobody has moved is still told as carried over.

    Raises
    ------
    MarkError
        Clicks no canal can run through.
    """
    trace = tracer.trace(clicks)
    path, assists = _between_clicks(trace, clicks)
    assists = _with_carried(path, assists, marks.canal)
    return Proposal(
        "canal",
        with_canal_changed(marks, path_px=path, assists=assists),
        trace.path_px,
        tuple(clicks),
        trace.confidence,
        trace.trusted,
        trace.findings,
        trace.method,
        trace.version,
    )


def propose_reference(
    marks: Annotation, clicks: Sequence[Point], radiograph: Radiograph, pixel: float | None
) -> Proposal:
    """Return the current reference instrument between its stop and its tip; the click at the stop stays.

    What is known of its shape tells how far the tip lies beyond the edge that is seen.

    Raises
    ------
    MarkError
        Not an instrument in a canal, or one that lies in another; clicks none can lie between.
    """
    if marks.reference.canal not in (None, *marks.canal.names):
        raise MarkError(
            f"{marks.reference.name} lies in canal {clean(marks.reference.canal)}, which only lends it",
            f"an instrument in {marks.canal.label}",
            "give this canal a reference of its own, or go to that canal",
            code="propose-borrowed",
            subject=marks.reference.name,
        )
    if marks.reference.placement != "in_canal" or len(clicks) < 2:
        raise MarkError(
            f"nothing to find for a reference {marks.reference.placement!r} with {counted(len(clicks), 'click')}",
            "an instrument in a canal, clicked at its stop and at its tip",
            "mark a reference beside the tooth by its two ends",
            code="propose-reference",
            subject=marks.reference.name,
        )
    known = marks.reference
    found = find_instrument(
        radiograph,
        clicks[0],
        clicks[-1],
        size=known.size,
        taper=known.taper,
        tip_form=known.tip_form,
        stated_pixel_mm=pixel,
    )
    owner = marks.reference.canal or marks.canal.label
    path = points(found.points_px().tolist())
    assists = _with_carried(path, (found.assist(),), marks.reference)
    return Proposal(
        "reference",
        with_reference_changed(marks, path_px=path, assists=assists, canal=owner),
        found.path_px,
        (clicks[0], clicks[-1]),
        (found.confidence,),
        found.trusted,
        found.findings,
        found.method,
        found.version,
    )


def propose_carried(marks: Annotation, name: str) -> Proposal:
    """Return marks of another image as a proposal that is never trusted.

    Parameters
    ----------
    marks
        Carried over already.
    name
        The image they come from.
    """
    path = marks.canal.path_px
    doubt = Finding(
        "carried-over",
        f"These points were placed on {name}.",
        "Drag each of them to its place on this image.",
    )
    line = np.asarray(path, dtype=np.float64).reshape(-1, 2)
    return Proposal("canal", marks, line, marks.canal.handles_px, (0.0,), False, (doubt,), CARRIED, "1")


def pixel_guess(marks: Annotation) -> float | None:
    """Return the size of a pixel that the finished references make likely, in millimetres, or ``None``.

    It only tells a trace how wide a canal may be.
    """
    for draft in marks.references:
        reference = draft.finished()
        if reference is not None:
            side = reference.length_mm / fit_curve(reference.path_px).length
            if 0.005 <= side <= 0.2:
                return side
    return None


def _between_clicks(trace: Trace, clicks: Sequence[Point]) -> tuple[tuple[Point, ...], tuple[Assist, ...]]:
    """Return the path that is kept, and whose its points are: every click, and steps of the trace between."""
    line = trace.path_px
    along = cumulative_length(line)
    places = _places(line, along, clicks)
    path: list[Point] = []
    assists = []
    for n, (low, high) in enumerate(pairwise(places)):
        path.append(clicks[n])
        count = max(round((trace.enough - 2) * (high - low) / along[-1]), 1)
        steps = np.linspace(low, high, count + 2)[1:-1]
        path += points(np.column_stack([np.interp(steps, along, line[:, axis]) for axis in (0, 1)]).tolist())
        last = len(path) - 1
        assists.append(Assist(last - count + 1, last, trace.method, trace.version, trace.confidence[n]))
    return points([*path, clicks[-1]]), tuple(assists)


def _with_carried(
    path: Sequence[Point], assists: tuple[Assist, ...], draft: CanalDraft | ReferenceDraft
) -> tuple[Assist, ...]:
    """Return whose the points of a proposal are, those among them that came over from another image included."""
    placed = {n for one in assists for n in range(one.first, one.last + 1)}
    old = [one for one in draft.assists if one.method == CARRIED]
    kept = [one for one in carried(path, draft.path_px, old) if one.first not in placed]
    return tuple(sorted((*assists, *kept), key=lambda one: one.first))


def _places(line: NDArray[np.float64], along: NDArray[np.float64], clicks: Sequence[Point]) -> list[float]:
    """Return how far along the line each click lies, never running back."""
    nearest = [float(along[np.hypot(*(line - click).T).argmin()]) for click in clicks]
    nearest[0], nearest[-1] = 0.0, float(along[-1])
    return list(np.maximum.accumulate(nearest))


def same_clicks(proposal: Proposal | None, before: Annotation, after: Annotation) -> bool:
    """Return whether what a proposal was made from is as it was."""
    if proposal is None or before.current != after.current:
        return False
    if proposal.what == "canal":
        return before.canal.path_px == after.canal.path_px
    same = before.reference_index == after.reference_index
    return same and before.reference.path_px == after.reference.path_px
