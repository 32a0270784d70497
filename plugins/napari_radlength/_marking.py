"""What clicks, drags and keys do to the session: traced by default, by hand where wanted. No Qt, no napari."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from napari_radlength._convert import nearest_place
from napari_radlength._guide import left_on
from napari_radlength._keys import key_of
from radlength.errors import MarkError, RadlengthError
from radlength.geometry import CARRIED, Point
from radlength.geometry.path import points_outside
from radlength.session import Annotation, Proposal, Session
from radlength.session.edits import with_reference_changed
from radlength.trade import usual_canals

Role = Literal["canal", "reference"]
ROLES: tuple[Role, ...] = ("reference", "canal")
TRACE_FROM, TRACE_TO = 3, 8
"""Clicks on a canal between which the program traces without being asked."""


PLACED = 0.1
"""How far on a point without a mouse is placed, as a share of the rows."""
NAMED = "Named {}, the first that is free of {}. Is it another canal? Type its name beside the tooth"
"""A place on the image tells no canal: the usual order of names is a guess."""
ACCEPTED: dict[Role, tuple[str, str, str]] = {
    "canal": ("canal", "next_canal", "the next one"),
    "reference": ("reference", "mark_canal", "the canal"),
}


class Marker:
    """The hand on the session.

    Parameters
    ----------
    session
        Where marks go.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.assist = True
        self.tool: Role | None = None
        self.chosen: int | None = None
        self.dragged: Point | None = None
        self._before_drag: Proposal | None = None
        self.note = ""
        self.tool = tool_for(session.annotation)

    def handles(self, role: Role) -> tuple[Point, ...]:
        """Return the points of a role that can be taken hold of, those of an open proposal first."""
        found = self.session.proposal
        if found is not None and found.what == role:
            return found.clicks_px
        marks = self.session.annotation
        return marks.canal.handles_px if role == "canal" else marks.reference.handles_px

    def use(self, role: Role | None) -> None:
        """Let clicks mark a role, or nothing."""
        self.tool = role
        self.chosen = self.dragged = None
        self.note = ""

    def click(self, role: Role, point: Sequence[float], near_px: float) -> None:
        """Add a point at the end, or between two where the click is on the line; an accepted one takes only the second.

        Outside the image there is nothing to mark.

        Parameters
        ----------
        role
            What is marked.
        point
            (row, column) pixels.
        near_px
            How near to the line a click is on it.
        """
        if points_outside(np.asarray([point]), self.session.radiograph.shape):
            self.note = "That is outside the image: click on it"
            return
        old = list(self.handles(role))
        at = self._place(role, old, point, near_px)
        if at == len(old) and self._is_accepted(role):
            what, action, then = ACCEPTED[role]
            self.note = (
                f"This {what} is accepted: {key_of(action)} for {then}; click on its line to add a point"
            )
            return
        self.chosen = at
        self.keep(role, [*old[:at], (float(point[0]), float(point[1])), *old[at:]])

    def _is_accepted(self, role: Role) -> bool:
        """Return whether a person accepted what the program found: a click elsewhere must not change it unseen."""
        marks = self.session.annotation
        assists = marks.canal.assists if role == "canal" else marks.reference.assists
        return bool(assists) and self.session.proposal is None

    def _place(self, role: Role, old: list[Point], point: Sequence[float], near_px: float) -> int:
        if len(old) < 2:
            return len(old)
        here = np.asarray(point, dtype=np.float64)
        segment, away = nearest_place(np.asarray(old), here)
        line = self._line(role)
        if line is not None:
            away = min(away, nearest_place(line, here)[1])
        beyond = bool(np.hypot(*(here - old[-1])) <= near_px) or (
            segment == len(old) - 2 and _past_end(old, here)
        )
        return len(old) if away > near_px or beyond else segment + 1

    def _line(self, role: Role) -> NDArray[np.float64] | None:
        found = self.session.proposal
        if found is not None and found.what == role:
            return found.line_px
        marks = self.session.annotation
        path = marks.canal.path_px if role == "canal" else marks.reference.path_px
        return np.asarray(path) if len(path) > 1 else None

    def keep(self, role: Role, points: Sequence[Sequence[float]], *, run: Hashable | None = None) -> None:
        """Keep points as a person placed them: one undo step, or one with the run; then let the program propose."""
        marks = self._with(role, points)
        self.dragged = None
        with self.session.changed.paused(_last):  # what is drawn is drawn once
            self.session.apply(marks, run=run)
            self.propose(role)

    def drag(self, role: Role, which: int, point: Sequence[float]) -> None:
        """Show marks with one point moved; a canal's trace follows."""
        if self.dragged is None:
            self._before_drag = self.session.proposal
        points = self._moved(role, which, point)
        self.dragged = points[which]
        self.chosen = which
        if role == "canal" and self._carried() is None and self._traces(role, len(points)):
            try:
                self.session.propose("canal", points)
            except RadlengthError as exc:
                self.note = str(exc)
            else:
                return
        self.session.preview(self._with(role, points))

    def put_down(self, role: Role, which: int, point: Sequence[float]) -> None:
        """Keep marks with one point moved: the end of a drag."""
        self.keep(role, self._moved(role, which, point))

    def put_back(self) -> None:
        """Put the point that is dragged back where it was; what was proposed before is proposed again."""
        if self.dragged is None:
            return
        was, self.dragged = self._before_drag, None
        self.session.cancel()
        if was is not None and was.method == CARRIED:
            self.session.propose_marks(was.marks, "another image")
        elif was is not None:
            self._propose(was.what)

    def _moved(self, role: Role, which: int, point: Sequence[float]) -> list[Point]:
        """Return the points with one moved; it stays on the image, half a pixel of edge included."""
        limits = np.asarray(self.session.radiograph.shape) - 0.5
        row, column = np.clip(point, -0.5, limits)
        points = list(self.handles(role))
        points[which] = float(row), float(column)
        return points

    def _traces(self, role: Role, count: int) -> bool:
        inside = self.session.annotation.reference.placement == "in_canal"
        wanted = TRACE_FROM <= count <= TRACE_TO if role == "canal" else inside and count == 2
        return self.assist and wanted and not self._has_carried(role)

    def _has_carried(self, role: Role) -> bool:
        """Return whether points of another image are left: a trace would take them for clicks of a person."""
        marks = self.session.annotation
        assists = marks.canal.assists if role == "canal" else marks.reference.assists
        return any(one.method == CARRIED for one in assists)

    def _carried(self) -> Annotation | None:
        """Return the marks of another image that are proposed, or were when the drag began."""
        found = self.session.proposal if self.dragged is None else self._before_drag
        return found.marks if found is not None and found.method == CARRIED else None

    def propose(self, role: Role, *, asked: bool = False) -> None:
        """Let the program propose where it can; a refusal becomes a note beside the marks."""
        self.note = ""
        if not asked and not self._traces(role, len(self.handles(role))):
            return
        self._propose(role, asked=asked)

    def _propose(self, role: Role, *, asked: bool = False) -> None:
        try:
            self.session.propose(role)
        except RadlengthError as exc:
            self.note = str(exc)
            if asked:
                raise

    def _with(self, role: Role, points: Sequence[Sequence[float]]) -> Annotation:
        """Return the marks with other points of a role; those proposed of another image stay with them."""
        other = self._carried()
        if role == "canal":
            return self.session.with_canal_path(points, other)
        new = self.session.with_reference_path(points, other)
        inside = new.reference.placement == "in_canal"
        owner = (new.reference.canal or new.canal.label) if inside else None
        return with_reference_changed(new, canal=owner)

    def take_back(self) -> None:
        """Remove the last point of what is marked."""
        role = self.tool or "canal"
        self.chosen = None
        self.session.discard()
        if self.handles(role):
            self.keep(role, self.handles(role)[:-1])

    def delete_chosen(self) -> None:
        """Remove the chosen point."""
        role = self.tool or "canal"
        points = self.handles(role)
        if self.chosen is None or self.chosen >= len(points):
            raise MarkError(
                "no point is chosen", remedy="click a point, then delete it", code="no-point-chosen"
            )
        self.keep(role, [point for n, point in enumerate(points) if n != self.chosen])
        self.chosen = None

    def nudge(self, rows: float, columns: float) -> None:
        """Move the chosen point, by default the last one, by pixels; a run of such moves is one undo step."""
        role = self.tool or "canal"
        points = list(self.handles(role))
        if not points:
            return
        which = len(points) - 1 if self.chosen is None else min(self.chosen, len(points) - 1)
        self.chosen = which
        moved = (points[which][0] + rows, points[which][1] + columns)
        shape = self.session.radiograph.shape
        if points_outside(np.asarray([moved]), shape) > points_outside(np.asarray([points[which]]), shape):
            self.note = "The edge of the image: the point stays on it"
            return
        points[which] = moved
        self.keep(role, points, run=("nudge", role, which, self.session.annotation.canal.key))

    def place(self, middle: Sequence[float]) -> None:
        """Place the next point without a mouse: the first in the middle, another one on along the line.

        Parameters
        ----------
        middle
            (row, column) pixels in the middle of what is seen.
        """
        if self.tool is None:
            self.note = (
                f"First {key_of('mark_reference')} for the reference or {key_of('mark_canal')} for the canal"
            )
            return
        old = self.handles(self.tool)
        place = self._next_place(old, middle)
        if old and place == old[-1]:
            self.note = "The edge of the image: move this point first"
            return
        self.click(self.tool, place, 0.0)
        if not self.note:
            keys = (key_of(action) for action in ("nudge_up", "push_up", "stride_up"))
            self.note = "Point placed: {} moves it by 0.1 pixel, {} by 1, {} by 10".format(*keys)

    def _next_place(self, old: Sequence[Point], middle: Sequence[float]) -> Point:
        rows, columns = self.session.radiograph.shape
        last = old[-1] if old else middle
        along = np.array([1.0 if last[0] < rows / 2 else -1.0, 0.0]) if old else np.zeros(2)
        if len(old) > 1:
            step = np.subtract(old[-1], old[-2])
            along = step / (float(np.hypot(*step)) or 1.0)
        row, column = np.clip(np.add(last, along * rows * PLACED), 0, (rows - 1, columns - 1))
        return float(row), float(column)

    def choose(self, step: int) -> None:
        """Choose the next point or the one before."""
        count = len(self.handles(self.tool or "canal"))
        if count:
            start = self.chosen if self.chosen is not None else (-1 if step > 0 else 0)
            self.chosen = (start + step) % count

    def go_on(self) -> None:
        """Accept what is proposed; a finished reference hands over to the canal."""
        if self.session.proposal is not None:
            self.session.accept()
        marks = self.session.annotation
        if (
            self.tool == "reference" and len(marks.reference.path_px) > 1 and marks.reference.length_mm
        ) or self.tool is None:
            self.use("canal")

    def drop(self) -> None:
        """Drop what is proposed; without a proposal stop marking."""
        if self.session.proposal is not None:
            self.session.discard()
        else:
            self.use(None)

    def next_canal(self) -> None:
        """Go to an empty canal, or add one with the next usual name of the tooth.

        Raises
        ------
        MarkError
            Something is proposed that is neither accepted nor dropped.
        """
        self.refuse_proposal()
        marks = self.session.annotation
        empty = next((n for n, canal in enumerate(marks.canals) if not canal.path_px), None)
        if empty is None:
            self.session.add_canal(marks.canal.tooth, free_name(marks, marks.canal.tooth))
        else:
            self.session.select(empty)
        self.use("canal")

    def select(self, index: int) -> None:
        """Make another canal current.

        Raises
        ------
        MarkError
            Something is proposed that is neither accepted nor dropped.
        """
        if index != self.session.annotation.current:
            self.refuse_proposal()
            self.session.select(index)

    def refuse_proposal(self, of: Role | None = None) -> None:
        """Refuse what would lose an open proposal, any or that of a role.

        Raises
        ------
        MarkError
            It is open.
        """
        found = self.session.proposal
        if found is not None and of in (None, found.what):
            raise MarkError(
                "a proposal is open",
                remedy=f"accept it ({key_of('go_on')}) or drop it ({key_of('drop')}) first",
                code="proposal-open",
            )

    def set_tooth(self, tooth: str) -> None:
        """Give the current canal a tooth; a name that its teeth usually have makes room for the new tooth's first.

        Which of several canals it is nobody has said yet: the note asks.
        """
        canal = self.session.annotation.canal
        names = _usual(tooth)
        usual_before = canal.name == "single" or canal.name in _usual(canal.tooth)
        name = canal.name
        if usual_before and names and name not in names:
            name = free_name(self.session.annotation, tooth)
        self.session.rename_canal(tooth, name)
        given = name != canal.name and len(names) > 1
        named = NAMED.format(name, ", ".join(names)) if given else ""
        left = left_on(self.session.annotation, canal.tooth) if tooth != canal.tooth else ""
        self.note = "\n".join(filter(None, (named, left)))


def tool_for(marks: Annotation) -> Role | None:
    """Return what is to be marked next, or nothing where both are there."""
    reference, canal = marks.reference, marks.canal
    if reference.path_px and reference.finished() is None:
        return "reference"
    if canal.path_px:
        return None
    return "canal" if reference.path_px else "reference"


def free_name(marks: Annotation, tooth: str) -> str:
    """Return a name no canal of the tooth has yet: the usual ones first."""
    taken = {canal.name for canal in marks.canals if canal.tooth == tooth}
    usual = [name for name in _usual(tooth) if name not in taken]
    return usual[0] if usual else f"canal {len(marks.canals) + 1}"


def _usual(tooth: str) -> tuple[str, ...]:
    return usual_canals(tooth) if tooth else ()


def _last(_before: tuple[Annotation], after: tuple[Annotation]) -> tuple[Annotation]:
    return after


def _past_end(points: Sequence[Sequence[float]], here: NDArray[np.float64]) -> bool:
    last, before = np.asarray(points[-1]), np.asarray(points[-2])
    return bool(np.dot(here - last, last - before) > 0)
