"""Marking an exercise: by hand, only what is asked for, no number before it is handed in. No Qt, no napari."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import replace
from typing import Any, NoReturn

from napari_radlength._keys import key_of
from napari_radlength._marking import Marker, Role
from radlength.clean import counted
from radlength.errors import MarkError
from radlength.exercise import Task
from radlength.exercise.sitting import needed
from radlength.imaging import Radiograph
from radlength.length import Estimate
from radlength.session import Annotation, CanalDraft, Proposal, ReferenceDraft, Session

BLIND = "An exercise shows no length before it is handed in."
FEW = {"reference": 2, "canal": 2, "apex": 1}
"""Points without which a mark is none."""


class BlindSession(Session):
    """Marks on the image of an exercise: no length, nothing traced, nothing beside the image.

    Parameters
    ----------
    radiograph
        The image; where its file is, is left out, so that no record is read or written.
    task
        What is asked.
    """

    def __init__(self, radiograph: Radiograph, task: Task) -> None:
        super().__init__(replace(radiograph, path=None))
        canal = CanalDraft(tooth=task.tooth, name=task.canal, reference="instrument")
        reference = ReferenceDraft(name="instrument", canal=task.canal)
        start = Annotation((reference,), (canal,), 0, self.annotation.marking)
        self._shown = self._kept = self._on_disk = start

    @property
    def is_dirty(self) -> bool:
        """Never: marks of an exercise are handed in or dropped, and stand in no record."""
        return False

    @property
    def may_state_pitch(self) -> bool:
        """Never: the set has stated what is known of its images."""
        return False

    def estimate(self, index: int | None = None) -> tuple[Estimate | None, str]:
        """Return no estimate: the learner measures, and is told at the end."""
        del index
        return None, BLIND

    def add_canal(self, tooth: str, name: str) -> NoReturn:
        """Refuse: one canal is asked for."""
        del tooth, name
        raise MarkError("one canal is asked for", "the canal of the question", code="exercise-one-canal")

    def propose(self, what: Any = "canal", through: Any = None) -> Proposal:
        """Refuse: an exercise is marked by hand."""
        del what, through
        refuse_help()

    def propose_marks(self, marks: Annotation, name: str) -> Proposal:
        """Refuse: an exercise is marked by hand."""
        del marks, name
        refuse_help()

    def save(self, *, who: str | None = None) -> NoReturn:
        """Refuse: there is no record of an exercise."""
        del who
        raise MarkError(
            "an exercise has no record", "marks that are handed in", "hand them in", code="exercise-save"
        )


def refuse_help() -> NoReturn:
    """Say that the program places no mark here."""
    raise MarkError("an exercise is marked by hand", "clicks and drags of your own", code="exercise-by-hand")


class BlindMarker(Marker):
    """The hand on an exercise.

    Parameters
    ----------
    session
        Where marks go.
    task
        What is asked.
    clicked
        Called at every edit of a mark.
    """

    def __init__(self, session: Session, task: Task, clicked: Callable[[], None]) -> None:
        super().__init__(session)
        self._task = task
        self._clicked = clicked
        self.roles: tuple[Role, ...] = roles_of(task)
        self.tool = self.roles[0] if self.roles else None

    def use(self, role: Role | None) -> None:
        """Let clicks mark what is asked for, or nothing.

        Raises
        ------
        MarkError
            It is not asked for.
        """
        if role is not None and role not in self.roles:
            what = "the instrument" if role == "reference" else "the canal"
            raise MarkError(
                f"this exercise does not ask for {what}", "what the question says", code="exercise-role"
            )
        super().use(role)

    def click(self, role: Role, point: Sequence[float], near_px: float) -> None:
        """Add a point; where only the apex is asked for, put it there."""
        if self._task.aim == "apex":
            self.chosen = 0
            self.keep(role, [point])
        else:
            super().click(role, point, near_px)

    def keep(self, role: Role, points: Sequence[Sequence[float]], *, run: Hashable | None = None) -> None:
        """Keep points as a person placed them, and count the edit."""
        self._clicked()
        super().keep(role, points, run=run)

    def _traces(self, role: Role, count: int) -> bool:
        del role, count
        return False

    def propose(self, role: Role, *, asked: bool = False) -> None:
        """Propose nothing; say why where it was asked for."""
        self.note = ""
        del role
        if asked:
            refuse_help()

    def is_marked(self, role: Role) -> bool:
        """Whether there are points enough for an answer."""
        return len(self.handles(role)) >= FEW["apex" if self._task.aim == "apex" else role]

    def go_on(self) -> None:
        """Go to what is not marked yet; to looking only when all is."""
        self.use(next((role for role in self.roles if not self.is_marked(role)), None))

    def told(self) -> str:
        """Return how much is marked."""
        if self._task.aim == "apex":
            return "apex: marked" if self.is_marked("canal") else "apex: not marked yet"
        names = {"reference": "instrument", "canal": "canal"}
        return "; ".join(f"{names[role]}: {counted(len(self.handles(role)), 'point')}" for role in self.roles)

    def words(self) -> str:
        """Return what to do next, in one sentence."""
        task, tool = self._task, self.tool
        hands = f"{key_of('hand_in')} hands it in"
        if not self.roles:
            return f"Look, then choose in the dock; {hands}"
        if tool is None:
            done = all(self.is_marked(role) for role in self.roles)
            return f"Marked: {hands}, or drag a point" if done else "Look only. Enter: go on marking"
        count = len(self.handles(tool))
        if task.aim == "apex":
            ask = f"Click the radiographic apex of canal {task.canal}"
            return ask if not count else f"Marked: {hands}, or click again"
        if tool == "reference":
            return _steps(
                count, "the stop of the instrument", "the instrument to its tip", len(self.roles) > 1
            )
        return _steps(count, "the reference point on the crown", "the canal to the radiographic apex", False)


def roles_of(task: Task) -> tuple[Role, ...]:
    """Return what is marked in an exercise, in order."""
    fields = needed(task)
    reference: tuple[Role, ...] = ("reference",) if "reference_px" in fields else ()
    canal: tuple[Role, ...] = ("canal",) if fields & {"canal_px", "apex_px"} else ()
    return reference + canal


def marks_of(session: Session, task: Task) -> dict[str, Any]:
    """Return the marks that an exercise asks for, as its answer names them; what is not marked is left out."""
    marks = session.annotation
    canal = marks.canal.path_px
    found = {
        "reference_px": marks.reference.path_px,
        "canal_px": canal,
        "apex_px": canal[-1] if canal else None,
    }
    return {name: value for name, value in found.items() if value and name in needed(task)}


def _steps(count: int, first: str, along: str, more: bool) -> str:
    if count == 0:
        return f"Click {first}"
    if count == 1:
        return f"Click along {along}"
    after = "Enter goes on to the canal" if more else f"{key_of('hand_in')} hands it in"
    return f"{count} clicks along {along}; click on or drag, {after}"
