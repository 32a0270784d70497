"""The case of a folder as the window shows it: read, watched, and added to through the core. Knows no window."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from napari_radlength._images import Shot, shots_in
from radlength.errors import RecordError
from radlength.finding import Finding
from radlength.record import Case, add_image, case_path, load_case, record_path, save_case
from radlength.record.case import CASE_NAME
from radlength.record.case_files import case_file_findings
from radlength.record.case_findings import case_findings
from radlength.record.case_images import STAGES
from radlength.record.case_models import ImageAdded

NOT_STATED = "not stated"
FILE_DAY = "not stated; day of the file"
"""Label of an image whose day nobody stated either."""
NOT_IN_CASE = "not in the case"
_AFTER_ALL = len(STAGES)


@dataclass(frozen=True, slots=True)
class Stated:
    """What a person says of an image: what it was taken for, a label of their own, and the day, ``YYYY-MM-DD``."""

    stage: str
    label: str
    taken: str


class CaseBook:
    """The case of a folder, or the folder that has none yet.

    Parameters
    ----------
    home
        The folder.
    """

    def __init__(self, home: Path) -> None:
        self.home = home
        self.case: Case | None = None
        self.refused: RecordError | None = None
        self.findings: tuple[Finding, ...] = ()
        self._seen: object = None
        self.look()

    @property
    def is_stale(self) -> bool:
        """Whether the case, one of its images or one of its records changed on disk since it was read."""
        return self._stamp() != self._seen

    def look(self) -> bool:
        """Read the case again where something of it changed on disk; return whether anything did."""
        if self._seen is not None and not self.is_stale:
            return False
        self.case, self.refused, self.findings = None, None, ()
        if case_path(self.home).exists():
            try:
                self.case = load_case(self.home)
                self.findings = (*case_file_findings(self.case, self.home), *case_findings(self.case))
            except RecordError as exc:
                self.refused = exc
        self._seen = self._stamp()
        return True

    def _stamp(self) -> tuple[object, ...]:
        images = self.case.images if self.case is not None else ()
        files = [self.home / one.path for one in images]
        return tuple(map(_stat, [case_path(self.home), *files, *map(record_path, files)]))

    def image_of(self, path: Path | None) -> ImageAdded | None:
        """Return what the case says of an image, ``None`` where it does not know it."""
        known = self.case.images if self.case is not None and path is not None else ()
        return next((one for one in known if _same(self.home / one.path, path)), None)

    def in_order(self, shots: Iterable[Shot]) -> tuple[Shot, ...]:
        """Return images with the day and the stage that the case states, in order of time, then of stage."""
        outside = {self.home / path for path in self._outside()}
        told = [self._told(shot) for shot in shots if shot.path not in outside]
        return tuple(sorted(told, key=lambda shot: (shot.day, _rank(shot), shot.path.name)))

    def _told(self, shot: Shot) -> Shot:
        if self.case is None:
            return replace(shot, stage="")
        added = self.image_of(shot.path)
        if added is None:
            return replace(shot, stage=NOT_IN_CASE)
        stated = added.label != FILE_DAY
        stage = added.label if added.stage == "other" else added.stage
        return replace(
            shot, day=added.taken.isoformat(), stated=stated, stage=stage if stated else NOT_STATED
        )

    def files(self) -> list[Path]:
        """Return the images of the case that lie in its folder, then those of the folder itself."""
        images = self.case.images if self.case is not None else ()
        return [*(self.home / one.path for one in images if one.path not in self._outside()), self.home]

    def _outside(self) -> set[str]:
        """Return images that are links out of the folder: they are somebody else's and are not opened."""
        return {str(one.subject) for one in self.findings if one.code == "case-image-outside"}

    def begin(self) -> None:
        """Make a case of the images that lie in the folder: stages are not stated until somebody does.

        Raises
        ------
        RecordError
            There is a case, or the folder cannot be written.
        """
        case = Case.new()
        for shot in shots_in([self.home]):
            label = NOT_STATED if shot.stated else FILE_DAY
            taken = date.fromisoformat(shot.day)
            case = add_image(
                case, self.home, shot.path, stage="other", label=label, taken=taken, view=NOT_STATED
            )
        save_case(case, self.home)

    def holds(self, path: Path | None) -> bool:
        """Whether an image lies in the folder, or below it."""
        return path is not None and path.resolve().is_relative_to(self.home.resolve())

    def is_marked_anew(self, path: Path | None) -> bool:
        """Whether the record of an image was made or changed since the case took it."""
        added = self.image_of(path)
        if added is None or path is None:
            return False
        changed = ("case-record-changed", "case-record-missing")
        doubts = {one.code for one in self.findings if one.subject == added.path}
        return bool(doubts.intersection(changed)) or (
            added.record_path is None and record_path(path).is_file()
        )

    def why_not(self, path: Path | None) -> str:
        """Return why nothing can be stated of an image, empty where it can."""
        if self.case is None:
            return "There is no case yet."
        if not self.holds(path):
            return f"This image does not lie in the folder of the case ({self.home.name})."
        added = self.image_of(path)
        bad = ("case-image-edited", "case-image-outside")
        lost = [one for one in self.findings if added and one.subject == added.path and one.code in bad]
        return str(lost[0]) if lost else ""

    def state(self, path: Path, stated: Stated) -> None:
        """Put what a person says of an image into the case, as a new entry that replaces the old one.

        Raises
        ------
        RecordError
            No day, no stage, or the case was changed by somebody else meanwhile.
        """
        why = self.why_not(path)
        if self.case is None or why:
            raise RecordError(why, remedy="nothing was changed", code="case-not-stated", subject=path.name)
        added = self.image_of(path)
        view = added.view if added is not None else NOT_STATED
        taken = _day(stated.taken, path)
        case = add_image(
            self.case, self.home, path, stage=stated.stage, label=stated.label, taken=taken, view=view
        )
        save_case(case)


def opened(paths: Iterable[Path]) -> tuple[CaseBook | None, tuple[Shot, ...]]:
    """Return the case, or the one folder, that paths belong to, and their images in order.

    Parameters
    ----------
    paths
        Images, folders, or the file of a case, which stands for its folder.

    Raises
    ------
    RecordError
        A case was named that cannot be trusted.
    """
    given = list(paths)
    named = [path.parent if path.name == CASE_NAME else path for path in given]
    homes = {path if path.is_dir() else path.parent for path in named}
    if len(homes) != 1:
        return None, shots_in(named)
    book = CaseBook(homes.pop())
    if book.refused is not None and any(path.name == CASE_NAME for path in given):
        raise book.refused
    files = [file for path in named for file in (book.files() if path == book.home else [path])]
    return book, book.in_order(shots_in(files))


def _day(words: str, path: Path) -> date:
    try:
        return date.fromisoformat(words.strip())
    except ValueError as exc:
        raise RecordError(
            "the day on which the image was taken is not stated" if not words.strip() else f"no day: {words}",
            "year-month-day: 2026-01-02",
            code="case-day",
            subject=path.name,
        ) from exc


def _rank(shot: Shot) -> int:
    return STAGES.index(shot.stage) if shot.stage in STAGES else _AFTER_ALL


def _same(one: Path, other: Path | None) -> bool:
    return other is not None and one.resolve() == other.resolve()


def _stat(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size
