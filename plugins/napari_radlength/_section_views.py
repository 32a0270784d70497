"""Two marked images of one tooth together: which, what is asked about the exposures, and what the core makes of it."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from qtpy.QtCore import QSignalBlocker
from qtpy.QtWidgets import QFileDialog, QVBoxLayout

from napari_radlength._form import FormSection
from napari_radlength._notify import told
from napari_radlength._pairing import (
    SHIFTS,
    Asked,
    Chosen,
    Job,
    job_of,
    marked_labels,
    needs_pitch,
    stated_pair,
)
from napari_radlength._viewer import worker_of
from napari_radlength._widgets import FIRST, button, choices, enable, label, row, set_items, spin
from radlength.cli.marker_file import Marker, read_marker
from radlength.errors import RadlengthError
from radlength.session import Session

if TYPE_CHECKING:
    from radlength.length.two_views import TwoViewEstimate

ONE_IMAGE = (
    "A second image of the tooth, the tube shifted and nothing else moved, shows how far a canal bends "
)
ONE_IMAGE += "toward the tube. Open it too."
CHOOSE_IMAGE = "choose the other image"
CHOOSE_OTHER = "Choose the other image of the tooth: the tube shifted, stop and instrument as they were."
CHOOSE_SHIFT = "the tube went …"
SHIFT_WORDS = ("the tube went mesial", "the tube went distal", "the tube went left", "the tube went right")
"""As `SHIFTS`; left and right as the picture is stored."""
NO_CANAL = "Mark the canal on this image first."
NO_CANAL_THERE = "No canal is marked on the other image: show it and mark the same canals."
NO_SHIFT = "Say where the tube went: no image tells it, and a wrong direction turns sides and bends over."
NO_PITCH = "Type the pixel pitch of the detector: neither the file nor the record states it."


@dataclass(frozen=True, slots=True)
class _Asked:
    """A pair and what was asked about it: a result belongs to it alone."""

    chosen: Chosen
    asked: Asked

    @property
    def key(self) -> object:
        return self.chosen.marks, self.asked


class ViewsSection(FormSection):
    """Pairing of the current canal with the same canal on another open image.

    Parameters
    ----------
    dock
        It knows the images that are open.
    """

    def __init__(self, dock: Any) -> None:
        super().__init__("Two views")
        self._dock = dock
        self._pair: tuple[Path | None, Path | None] = (None, None)
        self._marker = Marker()
        self._of: object = None
        self._worker: Any = None
        self._job: Job | None = None
        self.words = label("radlength_views_words")
        self.other = choices("radlength_views_image", "the other image of the tooth")
        self.canal = choices("radlength_views_canal", "the canal on the other image")
        self.shift = choices("radlength_views_shift", "where the tube went", [CHOOSE_SHIFT, *SHIFT_WORDS])
        self.shifted = choices(
            "radlength_views_shifted",
            "the image that was taken with the tube shifted",
            ["for the other image", "for this image"],
        )
        self.angle = _number("radlength_views_angle", "how far the tube went", 90.0, " °", "angle not known")
        self.spread = _number("radlength_views_spread", "standard uncertainty of the angle", 30.0, " °", "")
        self.spread.setPrefix("± ")
        self.spread.setValue(5.0)
        self.pitch = _number(
            "radlength_views_pitch", "pixel pitch of the detector", 0.2, " mm", "pixel pitch: not stated"
        )
        self.pitch.setDecimals(4)
        self.pitch.setSingleStep(0.001)
        self.marker = button(
            "Marker file…",
            "radlength_views_marker",
            self.ask_for_marker,
            tip="a marker of known shape on both images tells the angle",
        )
        self.solve = button("Solve both", "radlength_views_solve", self.start, tip="the length in space")
        self.result = label("radlength_views_result")
        self.result.hide()
        self._arrange()

    def _arrange(self) -> None:
        column = QVBoxLayout(self)
        for part in (self.words, self.other, self.canal):
            column.addWidget(part)
        column.addWidget(self.shift)
        column.addWidget(self.shifted)
        column.addLayout(row(self.angle, self.spread))
        column.addWidget(self.pitch)
        column.addLayout(row(self.marker, self.solve))
        column.addWidget(self.result)
        self.other.activated.connect(self._choose)
        for box in (self.canal, self.shift, self.shifted):
            box.activated.connect(lambda _index: self._show())
        for field in (self.angle, self.spread, self.pitch):
            field.valueChanged.connect(lambda _value: self._show())

    @property
    def chosen(self) -> Path | None:
        """The other image that was chosen."""
        return self._pair[1]

    @property
    def asked(self) -> Asked:
        """What a person has said of the exposures."""
        return Asked(
            shift=SHIFTS[self.shift.currentIndex() - 1] if self.shift.currentIndex() > 0 else "",
            shifted="other" if self.shifted.currentIndex() == 0 else "this",
            angle_deg=self.angle.value() or None,
            u_angle_deg=self.spread.value(),
            pitch_mm=self.pitch.value() or None,
            marker=self._marker,
        )

    def show_dock(self, dock: Any) -> None:
        """Show which images can be paired; a result whose marks moved goes."""
        here = dock.session.radiograph.path if dock.session is not None else None
        there = self._pair[1] if self._pair[0] == here else None
        others = [shot for shot in dock.shots if shot.path != here]
        if there not in [shot.path for shot in others]:
            there = None
        if (here, there) != self._pair:
            self._begin(here, there)
        labels = [CHOOSE_IMAGE, *(shot.label for shot in others)]
        at = next((n for n, shot in enumerate(others, 1) if shot.path == there), 0)
        with QSignalBlocker(self.other):
            set_items(self.other, labels, at)
        self._show()

    def _choose(self, index: int) -> None:
        """Take another image: it is opened, the one that is shown stays."""
        here = self._dock.session.radiograph.path if self._dock.session is not None else None
        others = [shot.path for shot in self._dock.shots if shot.path != here]
        there = others[index - 1] if index > 0 else None
        self._begin(here, there)
        self._dock.pair_with(there)

    def _begin(self, here: Path | None, there: Path | None) -> None:
        """Ask anew for another pair: what was said of one is not true of the next; a case may say it."""
        self._pair, self._marker = (here, there), Marker()
        book = self._dock.case_book
        asked = stated_pair(book.case, book.home, here, there) if book is not None else None
        asked = asked or Asked()
        controls = (self.shift, self.shifted, self.angle, self.spread)
        blockers = [QSignalBlocker(one) for one in controls]
        self.shift.setCurrentIndex(1 + SHIFTS.index(asked.shift) if asked.shift in SHIFTS else 0)
        self.shifted.setCurrentIndex(0 if asked.shifted == "other" else 1)
        self.angle.setValue(asked.angle_deg or 0.0)
        self.spread.setValue(asked.u_angle_deg)
        del blockers
        self.canal.clear()

    def _there(self) -> Session | None:
        path = self._pair[1]
        found: Session | None = self._dock.session_of(path, only_known=True) if path is not None else None
        return found

    def _current(self) -> _Asked | None:
        """Return the pair as it is chosen now, ``None`` while something of it is missing."""
        here, there = self._dock.session, self._there()
        if here is None or there is None or not self.canal.count():
            return None
        days = {shot.path: shot.day if shot.stated else "" for shot in self._dock.shots}
        both = days.get(self._pair[0], ""), days.get(self._pair[1], "")
        canal = here.annotation.canal.label
        return _Asked(Chosen(here, there, canal, self.canal.currentText(), both), self.asked)

    def _show(self) -> None:
        here, there = self._dock.session, self._there()
        several = here is not None and len(self._dock.shots) > 1
        for part in (self.other, self.canal, self.shift, self.shifted, self.angle, self.spread, self.solve):
            part.setVisible(several)
        self.marker.setVisible(several)
        self._show_canals(here, there)
        bare = [one for one in (here, there) if one is not None and needs_pitch(one)]
        self.pitch.setVisible(several and there is not None and bool(bare))
        why = self._why_not(here, there, pitch=bool(bare))
        for part in (self.shift, self.shifted, self.angle, self.spread, self.marker):
            enable(part, there is not None, "Choose the other image first.")
        enable(
            self.canal, bool(self.canal.count()), NO_CANAL_THERE if there else "Choose the other image first."
        )
        enable(self.solve, not why and self._worker is None, why or "Both images are being solved.")
        self.words.setText(escape(why))
        self.words.setVisible(bool(why))
        now = self._current()
        if self._of is not None and (now is None or now.key != self._of):
            self.drop()

    def _show_canals(self, here: Session | None, there: Session | None) -> None:
        labels = marked_labels(there) if there is not None else []
        mine = here.annotation.canal.label if here is not None else ""
        known = self.canal.currentText()
        same = [self.canal.itemText(n) for n in range(self.canal.count())] == labels
        if not same or self.canal.property("radlength_for") != mine:
            self.canal.setProperty("radlength_for", mine)
            known = mine if mine in labels else known
            set_items(self.canal, labels, labels.index(known) if known in labels else 0)

    def _why_not(self, here: Session | None, there: Session | None, *, pitch: bool) -> str:
        """Return what is missing first."""
        missing = {
            FIRST: here is None,
            ONE_IMAGE: len(self._dock.shots) < 2,
            NO_CANAL: here is not None and here.annotation.canal.finished() is None,
            CHOOSE_OTHER: there is None,
            NO_CANAL_THERE: there is not None and not marked_labels(there),
            NO_PITCH: pitch and not self.pitch.value(),
            NO_SHIFT: not self.asked.shift,
        }
        return next((words for words, is_missing in missing.items() if is_missing), "")

    def ask_for_marker(self) -> None:
        """Ask for the file of a marker and read it."""
        name, _ = QFileDialog.getOpenFileName(self, "Marker of known shape", "", "Marker (*.json)")
        if name:
            with told():
                self._marker = read_marker(Path(name))
            self._show()

    def start(self) -> None:
        """Solve both images on a thread of its own."""
        now = self._current()
        if now is None or not self.solve.isEnabled():
            return
        self.drop()
        self._of = now.key
        try:
            job = job_of(now.chosen, now.asked)
        except RadlengthError as exc:
            self._say_refused(str(exc))
        else:
            self._job = job
            self._worker = worker_of(_solve, job)
            self._worker.returned.connect(self._done)
            self._worker.errored.connect(self._failed)
            self._worker.start()
            self.result.setText("solving both images …")
        self.result.show()
        self._show()

    def _say_refused(self, words: str) -> None:
        self.result.setText(f"<b>Refused:</b> {escape(words)}")

    def drop(self) -> None:
        """Show no result, and forget what is under way."""
        if self._worker is not None:
            self._worker.returned.disconnect(self._done)
            self._worker.errored.disconnect(self._failed)
            self._worker = None
        self._of = self._job = None
        self.result.setText("")
        self.result.setVisible(False)

    def hideEvent(self, event: Any) -> None:
        """Leave nothing under way behind."""
        self.drop()
        super().hideEvent(event)

    def _failed(self, error: Exception) -> None:
        """Say what nobody foresaw."""
        self._worker = None
        logging.getLogger(__name__).error("two views", exc_info=error)
        self._say_refused(f"it could not be finished ({error})")
        self._show()

    def _done(self, found: tuple[Job, TwoViewEstimate | None, str]) -> None:
        from napari_radlength._views_words import result_words

        job, estimate, refused = found
        if job is not self._job:  # it was on its way before the question changed
            return
        self._worker = None
        if estimate is None:
            self._say_refused(refused)
        else:
            self.result.setText(result_words(job, estimate))
        self.result.setVisible(True)
        self._show()


def _solve(job: Job) -> tuple[Job, TwoViewEstimate | None, str]:
    try:
        return job, job.solve(), ""
    except RadlengthError as exc:
        return job, None, str(exc)


def _number(name: str, words: str, high: float, suffix: str, none: str) -> Any:
    """Return a field whose zero says that nothing is stated, where `none` has words for it."""
    field = spin(name, words, 0.0, high, 1.0)
    field.setSuffix(suffix)
    field.setDecimals(0)
    field.setSpecialValueText(none)
    field.setProperty("radlength_tip", words)
    field.setToolTip(words)
    field.setMinimumWidth(40)
    return field
