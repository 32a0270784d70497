"""The dock *Working length*: the length on top, sections in working order, the caution always visible."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from qtpy.QtCore import Qt, QTimer
from qtpy.QtWidgets import QDockWidget, QMessageBox, QScrollArea, QVBoxLayout, QWidget

from napari_radlength._actions import MarkingActions
from napari_radlength._binding import KeyBinding
from napari_radlength._cursor import CursorInset
from napari_radlength._focus import FocusRing
from napari_radlength._guide import NOT_FLAT, OTHER_MARKS, all_hidden, next_step
from napari_radlength._images import Shot
from napari_radlength._keeping import KeepingActions
from napari_radlength._keys import help_text
from napari_radlength._layers import SessionLayers
from napari_radlength._marking import Marker
from napari_radlength._none_guard import guard
from napari_radlength._notify import told
from napari_radlength._palette import CAUTION, HINT
from napari_radlength._quality import QualityWorker
from napari_radlength._section_record import Recovery
from napari_radlength._section_result import CautionLine, Headline
from napari_radlength._sections import SECTIONS
from napari_radlength._several import SeveralImages
from napari_radlength._viewer import grid_of, is_flat, say_on_image
from napari_radlength._viewing import ViewingActions
from napari_radlength._work import WorkLine
from radlength.session import Session

if TYPE_CHECKING:
    from napari.components import ViewerModel

guard()

WIDTH = 300
REST_MS = 150


class LengthDock(MarkingActions, KeepingActions, ViewingActions, SeveralImages):
    """Measure a working length on the current image.

    Parameters
    ----------
    napari_viewer
        The viewer; napari finds it by the name of the parameter.
    """

    result: Any
    record: Any
    exercise: Any

    def __init__(self, napari_viewer: ViewerModel) -> None:
        QWidget.__init__(self)
        self._viewer = napari_viewer
        self._session: Session | None = None
        self._marker: Marker | None = None
        self._layers: SessionLayers | None = None
        self._sessions: dict[tuple[str, str], Session] = {}
        self._turned: dict[tuple[str, str], Any] = {}
        self._shots: tuple[Shot, ...] = ()
        self._was_preview = False
        self._tool_seen: str | None = None
        self.setObjectName("radlength_dock")
        self.setAccessibleName("Working length")
        self.setMinimumWidth(WIDTH)
        self.headline, self.caution = Headline(), CautionLine()
        self.recovery = Recovery(self)
        self.work = WorkLine()
        self.sections = {name: make(self) for name, make in SECTIONS}
        for name, section in self.sections.items():
            setattr(self, name, section)
        self._build()
        self._quality = QualityWorker(self.image.show_quality, self.work)
        self._keys = KeyBinding(self, napari_viewer)
        self._inset = CursorInset(self, napari_viewer)
        self._autosave = self._make_autosave()
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(REST_MS)
        self._rest.timeout.connect(self._refresh_result)
        self._connect_viewer()
        self._follow_image()

    def _build(self) -> None:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(4, 4, 4, 4)
        for section in self.sections.values():
            column.addWidget(section)
        column.addStretch(1)
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setWidget(inside)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.setSpacing(0)
        for part in (self.headline, self.recovery, self.area, self.work, self.caution):
            outer.addWidget(part)
        outer.setStretchFactor(self.area, 1)
        self._ring = FocusRing(self, self.area)
        self._paint_caution()

    def _paint_caution(self, _event: object = None) -> None:
        theme = "light" if "light" in str(self._viewer.theme) else "dark"
        for one in (self.caution.words, self.headline.status):
            one.setStyleSheet(f"color: {CAUTION[theme]}; font-weight: bold;")
        self.setStyleSheet(f"QLineEdit {{ placeholder-text-color: {HINT[theme]}; }}")
        self._ring.set_theme(theme)

    @property
    def viewer(self) -> ViewerModel:
        """The viewer it is in."""
        return self._viewer

    @property
    def session(self) -> Session | None:
        """The session shown, ``None`` before an image is open."""
        return self._session

    @property
    def marker(self) -> Marker | None:
        """The hand on the session."""
        return self._marker

    @property
    def layers(self) -> SessionLayers | None:
        """The layers that show the session."""
        return self._layers

    def give_room(self) -> None:
        """Close the other docks of the window, so that the image has their room; the View menu has them."""
        for other in self.window().findChildren(QDockWidget):
            if other is not self.parent() and other.isVisible():
                other.hide()

    def show_keys(self) -> None:
        """Show the table of keys."""
        box = QMessageBox(self)
        box.setObjectName("radlength_key_table")
        box.setWindowTitle("Keys")
        box.setText(help_text())
        box.setModal(False)
        box.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        box.show()

    def go_on(self) -> None:
        """Accept what is proposed and go on, in an exercise to what it asks for next."""
        if self.exercise.in_hand:
            self._mark(lambda marker: marker.go_on())
        else:
            super().go_on()

    def hand_in(self) -> None:
        """Hand in the exercise in hand; without one nothing."""
        if self.exercise.in_hand:
            self.exercise.hand_in()

    def _told(self, do: Callable[[], None]) -> None:
        """Run an edit; say a refusal as a sentence, and what to do next on the image."""
        with told():
            do()
        self._refresh_points()
        self.say()

    def _refresh_points(self) -> None:
        if self._layers is not None:
            self._layers.repaint()

    def _scroll_to_tool(self) -> None:
        """Bring the section of what is marked into sight."""
        tool = self._marker.tool if self._marker is not None else None
        if tool != self._tool_seen and tool is not None:
            self.area.ensureWidgetVisible(self.reference if tool == "reference" else self.canal, 0, 0)
        self._tool_seen = tool

    def say(self) -> None:
        """Say what to do next on the image."""
        self._scroll_to_tool()
        tool = self._marker.tool if self._marker is not None else None
        assist = self._marker is None or self._marker.assist
        words = self.exercise.words() or next_step(self._session, tool, assist=assist)
        if self._marker is not None and self._marker.note:
            words = f"{words}\n{self._marker.note}"
        other = self._session is not None and self._session.other_marks is not None
        if self._session is not None and not is_flat(self._viewer):
            words = NOT_FLAT
        hidden = self._layers is not None and self._layers.are_hidden
        lines = (words, all_hidden() if hidden else "", OTHER_MARKS if other else "", self._beside_words())
        say_on_image(self._viewer, "\n".join(filter(None, lines)))

    def _refresh(self, _marks: object = None) -> None:
        session = self._session
        found, missing = session.estimate() if session is not None else (None, "")
        self.headline.show_session(session, found, missing)
        self.shape.show_session(session, found)
        if self._layers is not None and not self.shape.is_shown:
            self._layers.show_outline(())
        preview = session is not None and session.is_preview
        in_hand = self._marker is not None and self._marker.dragged is not None
        if preview and self._was_preview and in_hand:
            self._rest.start()
        else:
            self._rest.stop()
            self._refresh_result()
            self._refresh_sections()
        self._was_preview = preview
        self.say()
        if session is not None and session.is_dirty and not self._autosave.isActive():
            self._autosave.start()

    def _refresh_result(self) -> None:
        """Show what stands below the length; while a point is dragged only when the hand rests."""
        session = self._session
        self.result.show_session(session, session.estimate()[0] if session is not None else None)

    def _refresh_sections(self) -> None:
        session = self._session
        self._read_case()
        self.image.show_session(session)
        why = "" if self._before() is not None else "The image before has no marks, or was not opened yet."
        beside = "" if self._beside_or_none() is not None else "The image before was not opened yet."
        name = session.radiograph.name if session is not None else ""
        self.headline.show_image(name, self._at(), len(self._shots))
        self.image.show_images([shot.label for shot in self._shots], self._at(), why, beside)
        self.reference.show_session(session)
        self.canal.show_session(session, assist=self._marker is None or self._marker.assist)
        self.result.show_all(session)
        self.record.show_session(session)
        for section in self.sections.values():
            show_dock = getattr(section, "show_dock", None)
            if show_dock is not None:
                show_dock(self)

    def _on_layer_removed(self, event: Any) -> None:
        self._keep_turned(event.value)
        QTimer.singleShot(0, self._restore_layers)

    def _on_flat(self, _event: Any) -> None:
        self.say()

    def _connect_viewer(self, *, follow: bool = True) -> None:
        for emitter, call in (
            (self._viewer.layers.events.inserted, self._on_layer_inserted),
            (self._viewer.layers.events.removed, self._on_layer_removed),
            (self._viewer.events.theme, self._paint_caution),
            (self._viewer.dims.events.ndisplay, self._on_flat),
            (grid_of(self._viewer).events.enabled, self._on_flat),
        ):
            emitter.disconnect(call)
            if follow:
                emitter.connect(call)

    def _connect(self) -> None:
        if self._session is None or self._marker is None or self._layers is not None:
            return
        self._layers = SessionLayers(self._viewer, self._marker, self._told, self._keys)
        self._layers.connect()
        self._session.changed.connect(self._refresh)
        self._keys.bind()
        self._inset.connect()
        self._refresh()

    def _leave(self) -> None:
        if self._marker is not None:
            self._marker.put_back()
        if self._layers is not None and self._session is not None:
            self.keep_unsaved()
            self._autosave.stop()
            self._layers.disconnect()
            self._session.changed.disconnect(self._refresh)
            self._layers = None
            self._keys.release()
            self._inset.disconnect()

    def hideEvent(self, event: Any) -> None:
        """Let go of everything: closing a dock hides it and never closes it."""
        self.let_go()
        super().hideEvent(event)

    def let_go(self) -> None:
        """Leave no callback behind; doing it twice changes nothing."""
        self._leave()
        self._rest.stop()
        self._quality.stop()
        self._connect_viewer(follow=False)
        say_on_image(self._viewer, "")

    def showEvent(self, event: Any) -> None:
        """Take hold again."""
        self._connect_viewer()
        self._connect()
        if self._session is not None:
            self._quality.go_on(self._session.radiograph)
        super().showEvent(event)


def open_dock(viewer: Any) -> LengthDock:
    """Return a dock added at the right of a viewer window."""
    dock = LengthDock(viewer)
    viewer.window.add_dock_widget(dock, name="Working length", area="right")
    return dock
