"""Images opened as a time line, with the case of their folder where there is one."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from qtpy.QtWidgets import QFileDialog, QWidget

from napari_radlength._case_book import CaseBook, opened
from napari_radlength._exercise_file import is_set
from napari_radlength._images import Shot
from napari_radlength._notify import told
from radlength.session import Session

FILES = "Radiographs and cases (*.png *.jpg *.jpeg *.tif *.tiff *.dcm *.dicom radlength-case.json)"


class CaseActions(QWidget):
    """The part of the dock that opens images and knows their case."""

    _session: Session | None
    _shots: tuple[Shot, ...]
    _book: CaseBook | None = None
    case: Any
    exercise: Any

    def _refresh(self, _marks: object = None) -> None:
        raise NotImplementedError

    def _refresh_sections(self) -> None:
        raise NotImplementedError

    def show_image(self, index: int) -> None:
        """Show one of the opened images."""
        raise NotImplementedError

    def _is_unsaved(self, path: Path) -> bool:
        """Return whether an image has marks that are not in its record."""
        raise NotImplementedError

    @property
    def case_book(self) -> CaseBook | None:
        """The case of the folder whose images are open, or that folder without one; ``None`` for several folders."""
        return self._book

    @property
    def shots(self) -> tuple[Shot, ...]:
        """The images that are open, in order of time."""
        return self._shots

    def open_images(self, paths: list[Path]) -> None:
        """Open images, those of folders, or those of a case, in order of time; the first is shown.

        An image that was open stays among them where it lies in the same folder, as the other view of a tooth does, or
        has marks that are not saved.
        """
        if len(paths) == 1 and is_set(paths[0]):
            self.exercise.open_set(paths[0])
            return
        with told():
            self._book, shots = opened(paths)
            kept = [
                shot for shot in self._shots if self._is_unsaved(shot.path) or self._lies_there(shot.path)
            ]
            every = {shot.path: shot for shot in (*kept, *shots)}
            self._shots = self._in_order(every.values())
            if shots:
                self.show_image(self._shots.index(shots[0]))
            else:
                self._refresh()

    def _lies_there(self, path: Path) -> bool:
        """Return whether an image lies in the folder that is open now."""
        return self._book is not None and path.is_file() and self._book.holds(path)

    def add_images(self, paths: list[Path]) -> None:
        """Add images to those opened; the one that is shown stays."""
        with told():
            self._take(*opened(paths))
            self._refresh_sections()

    def ask_for_images(self) -> None:
        """Ask for images, or for the file of a case, and open them."""
        names, _ = QFileDialog.getOpenFileNames(self, "Open images", "", FILES)
        if names:
            self.open_images([Path(name) for name in names])

    def ask_for_folder(self) -> None:
        """Ask for a folder and open its images, or its case."""
        name = QFileDialog.getExistingDirectory(self, "Open a folder of images")
        if name:
            self.open_images([Path(name)])

    def _add_shot(self, path: Path | None) -> None:
        if path is not None and path not in [shot.path for shot in self._shots]:
            with told():
                self._take(*opened([path]))

    def _take(self, book: CaseBook | None, shots: tuple[Shot, ...]) -> None:
        """Add images to those opened; the case stays the one that was opened first."""
        self._book = self._book or book
        every = {shot.path: shot for shot in (*self._shots, *shots)}
        self._shots = self._in_order(every.values())

    def _in_order(self, shots: Iterable[Shot]) -> tuple[Shot, ...]:
        if self._book is not None:
            return self._book.in_order(shots)
        return tuple(sorted(shots, key=lambda shot: (shot.day, shot.path.name)))

    def look_at_case(self) -> None:
        """Show the case again where another program has written."""
        if self._book is not None and self._book.is_stale:
            self._refresh_sections()

    def _read_case(self) -> None:
        """Read the case again where it changed, and put the images in its order."""
        if self._book is not None and self._book.look():
            self._shots = self._book.in_order(self._shots)

    def begin_case(self) -> None:
        """Make a case of the folder; what each image was taken for is said afterwards."""
        if self._book is not None:
            with told():
                self._book.begin()
            self.add_images([self._book.home])

    def keep_stage(self) -> None:
        """Put stage, day and label of the image that is shown into the case."""
        path = self._session.radiograph.path if self._session is not None else None
        if self._book is not None and path is not None:
            with told():
                self._book.state(path, self.case.stated)
            self._refresh_sections()
