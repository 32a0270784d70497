"""The dock *Working length*: sections in working order, the result large at the top, the caution always visible."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from qtpy.QtCore import Qt
from qtpy.QtWidgets import QScrollArea, QVBoxLayout, QWidget

from napari_radlength._convert import IMAGE_KEY, image_layer
from napari_radlength._layers import SessionLayers
from napari_radlength._notify import told
from napari_radlength._panels import CanalPanel, RecordPanel, ReferencePanel, ResultPanel
from radlength.session import Session

if TYPE_CHECKING:
    from napari.components import ViewerModel

WIDTH = 320


class LengthDock(QWidget):
    """Measure a working length on the current image.

    Parameters
    ----------
    napari_viewer
        The viewer; napari finds it by the name of the parameter.
    """

    def __init__(self, napari_viewer: ViewerModel) -> None:
        super().__init__()
        self._viewer = napari_viewer
        self._session: Session | None = None
        self._layers: SessionLayers | None = None
        self.setObjectName("radlength_dock")
        self.setMinimumWidth(WIDTH)
        self.result = ResultPanel()
        self.reference = ReferencePanel(self.mark_reference, self._edit_reference)
        self.canal = CanalPanel(
            self.mark_canal, self._edit_canal, self._add_canal, self._remove_canal, self._select
        )
        self.record = RecordPanel(self.save, self.undo, self.redo)
        self._build()
        self._viewer.layers.events.inserted.connect(self._on_layer_inserted)
        self._follow_image()

    def _build(self) -> None:
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(6, 6, 6, 6)
        for panel in (self.result, self.reference, self.canal, self.record):
            column.addWidget(panel)
        column.addStretch(1)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setWidget(inside)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(scroll)

    @property
    def session(self) -> Session | None:
        """The session shown, ``None`` before an image is open."""
        return self._session

    def show_session(self, session: Session) -> None:
        """Show an image and its marks; the image layer is added where it is not there yet."""
        self._leave()
        self._session = session
        shown = [layer.metadata.get(IMAGE_KEY) for layer in self._viewer.layers]
        if not any(other is session.radiograph for other in shown):
            data, settings, _ = image_layer(session.radiograph)
            self._viewer.add_image(data, **settings)
        self._connect()
        reset = getattr(self._viewer, "reset_view", None)
        if reset is not None:
            reset()

    def undo(self) -> None:
        """Take the last step back."""
        self._with_session(Session.undo)

    def redo(self) -> None:
        """Do the step again."""
        self._with_session(Session.redo)

    def save(self) -> None:
        """Save the record."""
        if self._session is None:
            return
        with told():
            path = self._session.save()
            self._viewer.status = f"record saved: {path.name}"
        self._refresh()

    def take_back(self) -> None:
        """Remove the last click of the layer that takes clicks."""
        active = self._viewer.layers.selection.active
        role = "reference" if active is not None and active.name.startswith("reference") else "canal"
        self._with_session(lambda session: session.take_back(role))

    def mark_reference(self) -> None:
        """Let clicks mark the reference."""
        self._mark("reference", "Click the stop of the reference, points along it, then its tip.")

    def mark_canal(self) -> None:
        """Let clicks mark the canal."""
        self._mark("canal", "Click the reference point, points along the canal, last the radiographic apex.")

    def _mark(self, role: str, hint: str) -> None:
        if self._layers is not None:
            self._layers.mark(role)
            self._viewer.status = hint

    def _with_session(self, do: Callable[[Session], None]) -> None:
        if self._session is not None:
            with told():
                do(self._session)

    def _edit_reference(self, **changes: Any) -> None:
        if changes.get("placement") == "beside":
            changes["canal"] = None
        self._with_session(lambda session: session.apply(session.with_reference(**changes)))

    def _edit_canal(self, **changes: Any) -> None:
        self._with_session(lambda session: session.apply(session.with_canal(**changes)))

    def _add_canal(self, tooth: str, name: str) -> None:
        self._with_session(lambda session: session.add_canal(tooth, name))
        self.mark_canal()

    def _remove_canal(self) -> None:
        self._with_session(Session.remove_canal)

    def _select(self, index: int) -> None:
        self._with_session(lambda session: session.select(index))

    def _refresh(self, _marks: object = None) -> None:
        for panel in (self.result, self.reference, self.canal, self.record):
            panel.show_session(self._session)

    def _follow_image(self) -> None:
        """Start a session on the newest image layer that carries a radiograph."""
        radiographs = [layer.metadata.get(IMAGE_KEY) for layer in self._viewer.layers]
        found = next((radiograph for radiograph in reversed(radiographs) if radiograph is not None), None)
        if found is None:
            self._refresh()
            return
        if self._session is None or found is not self._session.radiograph:
            with told():
                session = Session.open(found.path) if found.path is not None else Session(found)
                session.radiograph = found
                self.show_session(session)

    def _on_layer_inserted(self, event: Any) -> None:
        if event.value.metadata.get(IMAGE_KEY) is not None:
            self._follow_image()

    def _connect(self) -> None:
        if self._session is None or self._layers is not None:
            return
        actions = {name: getattr(self, name) for name in _ACTIONS}
        self._layers = SessionLayers(self._viewer, self._session, actions)
        self._layers.connect()
        self._session.changed.connect(self._refresh)
        self._refresh()

    def _leave(self) -> None:
        if self._layers is not None and self._session is not None:
            self._layers.disconnect()
            self._session.changed.disconnect(self._refresh)
            self._layers = None

    def hideEvent(self, event: Any) -> None:
        """Let go of everything: closing a dock hides it and never closes it."""
        self._leave()
        self._viewer.layers.events.inserted.disconnect(self._on_layer_inserted)
        super().hideEvent(event)

    def showEvent(self, event: Any) -> None:
        """Take hold again."""
        self._viewer.layers.events.inserted.disconnect(self._on_layer_inserted)
        self._viewer.layers.events.inserted.connect(self._on_layer_inserted)
        self._connect()
        super().showEvent(event)


_ACTIONS = ("undo", "redo", "take_back", "save", "mark_reference", "mark_canal")


def open_dock(viewer: Any) -> LengthDock:
    """Return a dock added at the right of a viewer window."""
    dock = LengthDock(viewer)
    viewer.window.add_dock_widget(dock, name="Working length", area="right")
    return dock
