"""The layers that show a session, and the way back from clicks on them.

Clicks live on Points layers; the curve is drawn from them on a view-only Shapes layer. A Shapes polyline for the clicks
keeps float32 vertices, cannot take the last click back while drawing, and one key deletes the whole path. Points keep
float64, every click is one event, and there is no half-drawn state.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import numpy as np

from napari_radlength._convert import ROLE_KEY, curve_line, points_array
from napari_radlength._keys import KEYS

if TYPE_CHECKING:
    from napari.components import ViewerModel
    from napari.layers import Points, Shapes

    from radlength.session import Annotation, Session

BLUE, ORANGE = "#56b4e9", "#e69f00"
"""Canal and reference: colours told apart with any colour vision (Okabe and Ito 2008)."""

STYLES: dict[str, dict[str, Any]] = {
    "canal": {"name": "canal clicks", "face_color": BLUE},
    "reference": {"name": "reference clicks", "face_color": ORANGE},
}


class SessionLayers:
    """Layers of one viewer that show one session.

    Parameters
    ----------
    viewer
        Where they are.
    session
        What they show.
    actions
        The dock's actions by name, for the keys.
    """

    def __init__(self, viewer: ViewerModel, session: Session, actions: dict[str, Callable[[], None]]) -> None:
        self._viewer = viewer
        self._session = session
        self._actions = actions
        self._busy = False
        self._points: dict[str, Points] = {}
        self._curves: Shapes | None = None
        self._connected = False
        self._size = max(session.radiograph.shape) / 110

    def connect(self) -> None:
        """Show the session and follow it; doing it twice changes nothing."""
        if self._connected:
            return
        self._connected = True
        self._session.changed.connect(self._repaint)
        self._viewer.layers.events.removed.connect(self._on_layer_removed)
        self._repaint(self._session.annotation)

    def disconnect(self) -> None:
        """Stop following the session and leave no callback behind; the layers stay."""
        if not self._connected:
            return
        self._connected = False
        self._session.changed.disconnect(self._repaint)
        self._viewer.layers.events.removed.disconnect(self._on_layer_removed)
        for role, layer in self._points.items():
            self._watch(layer, role, watch=False)
        self._points = {}
        self._curves = None

    def mark(self, role: str) -> None:
        """Make the ``"canal"`` or the ``"reference"`` the layer that takes clicks."""
        layer = self._points_layer(role)
        self._viewer.layers.selection.active = layer
        layer.mode = "add"

    def _repaint(self, marks: Annotation) -> None:
        if self._busy:
            return
        with self._guarded():
            self._set_curves(marks)
            for role, path in (("reference", marks.reference.path_px), ("canal", marks.canal.path_px)):
                layer = self._points_layer(role)
                data = points_array(path)
                if not np.array_equal(layer.data, data):
                    layer.data = data
                    layer.selected_data = set()
                self._style_ends(layer, role)

    def _style_ends(self, layer: Points, role: str) -> None:
        """Give the ends shapes of their own: diamond and cross on a canal, squares on a reference."""
        count = len(layer.data)
        if not count:
            return
        first, last = ("diamond", "cross") if role == "canal" else ("square", "square")
        layer.symbol = [first, *["disc"] * (count - 2), *[last] * (count > 1)]
        layer.size = [1.8 * self._size, *[self._size] * (count - 2), *[1.8 * self._size] * (count > 1)]

    def _set_curves(self, marks: Annotation) -> None:
        lines, colours = [], []
        for reference in marks.references:
            lines.append(curve_line(reference.path_px))
            colours.append(ORANGE)
        for canal in marks.canals:
            lines.append(curve_line(canal.path_px))
            colours.append(BLUE)
        shown = [(line, colour) for line, colour in zip(lines, colours, strict=True) if line is not None]
        layer = self._curves_layer()
        layer.data = []
        if shown:
            layer.add_paths(
                [line for line, _ in shown], edge_color=[colour for _, colour in shown], edge_width=2
            )

    def _points_layer(self, role: str) -> Points:
        from napari.layers import Points

        layer = self._points.get(role)
        if layer is not None and layer in self._viewer.layers:
            return layer
        layer = self._found(role, Points)
        if layer is None:
            layer = Points(
                np.empty((0, 2)),
                ndim=2,
                size=self._size,
                border_color="black",
                metadata={ROLE_KEY: role},
                **STYLES[role],
            )
            self._viewer.add_layer(layer)
        self._points[role] = layer
        self._watch(layer, role, watch=True)
        return layer

    def _curves_layer(self) -> Shapes:
        from napari.layers import Shapes

        if self._curves is not None and self._curves in self._viewer.layers:
            return self._curves
        layer = self._found("curves", Shapes)
        if layer is None:
            layer = Shapes(ndim=2, name="curves", metadata={ROLE_KEY: "curves"})
            layer.editable = False
            self._viewer.add_layer(layer)
        self._curves = layer
        return layer

    def _found(self, role: str, kind: type[Any]) -> Any:
        """Return the layer of a role that an earlier dock left in the viewer."""
        return next(
            (
                layer
                for layer in self._viewer.layers
                if isinstance(layer, kind) and layer.metadata.get(ROLE_KEY) == role
            ),
            None,
        )

    def _watch(self, layer: Points, role: str, *, watch: bool) -> None:
        slots = _SLOTS[role]
        for emitter, slot in ((layer.events.data, slots[0]), (layer.events.set_data, slots[1])):
            method = getattr(self, slot)
            emitter.disconnect(method)
            if watch:
                emitter.connect(method)
        for entry in KEYS:
            if watch:
                layer.bind_key(entry.key, self._key(entry.action), overwrite=True)
            else:
                layer.bind_key(entry.key, None)

    def _key(self, action: str) -> Callable[[Any], None]:
        return lambda _layer: self._actions[action]()

    def _on_canal_data(self, event: Any) -> None:
        self._edited("canal", event, keep=True)

    def _on_canal_drag(self, event: Any) -> None:
        self._edited("canal", event, keep=False)

    def _on_reference_data(self, event: Any) -> None:
        self._edited("reference", event, keep=True)

    def _on_reference_drag(self, event: Any) -> None:
        self._edited("reference", event, keep=False)

    def _edited(self, role: str, event: Any, *, keep: bool) -> None:
        """Take layer data into the session: a step for a finished edit, a preview for a drag."""
        if self._busy or (keep and str(getattr(event, "action", "")).lower().endswith("ing")):
            return
        data = self._points[role].data
        with self._guarded():
            if role == "canal":
                new = self._session.with_canal_path(data)
            else:
                marks = self._session.annotation
                inside = marks.reference.placement == "in_canal"
                owner = marks.reference.canal or marks.canal.name
                new = self._session.with_reference(
                    path_px=self._session.with_reference_path(data).reference.path_px,
                    canal=owner if inside else None,
                )
            (self._session.apply if keep else self._session.preview)(new)
            self._set_curves(new)
            self._style_ends(self._points[role], role)

    def _on_layer_removed(self, event: Any) -> None:
        """Bring a layer of ours back when somebody deletes it: the marks are in the session."""
        if event.value in (*self._points.values(), self._curves) and not self._busy:
            for role, layer in list(self._points.items()):
                if layer is event.value:
                    self._watch(layer, role, watch=False)
                    del self._points[role]
            if event.value is self._curves:
                self._curves = None

    @contextmanager
    def _guarded(self) -> Iterator[None]:
        self._busy = True
        try:
            yield
        finally:
            self._busy = False


_SLOTS = {
    "canal": ("_on_canal_data", "_on_canal_drag"),
    "reference": ("_on_reference_data", "_on_reference_drag"),
}
