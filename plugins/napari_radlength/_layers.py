"""The layers that show a session, and the way back from edits that napari's own tools make on them.

The points a person placed stand on Points layers; lines are drawn from the session on a Vectors layer, and the lengths
on a layer of words. A Shapes polyline keeps float32 vertices, cannot take the last click back while drawing, and one
key deletes the whole path. Points keep float64, and every click is one event.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, Protocol

import numpy as np

from napari_radlength._convert import IMAGE_KEY, ROLE_KEY, SESSION_KEY, points_array
from napari_radlength._drawing import Drawing, drawn, drawn_current, drawn_outline, padded
from napari_radlength._marking import ROLES, Marker, Role
from napari_radlength._mouse import Mouse
from napari_radlength._palette import REFERENCE, canal_colour
from napari_radlength._viewer import TRANSFORMS, keep_shaders, place_like, set_data_lightly

if TYPE_CHECKING:
    from napari.components import ViewerModel
    from napari.layers import Layer, Points

NAMES = {
    "curves": "other curves",
    "outline": "prepared outline",
    "current": "current curve",
    "reference": "reference points",
    "canal": "canal points",
    "lengths": "lengths",
}
"""Names of the layers, from below to above."""


class LayerKeys(Protocol):
    """Binds keys on a layer, and gives them back."""

    def bind_layer(self, layer: Any) -> None:
        """Bind them."""

    def release_layer(self, layer: Any) -> None:
        """Give them back."""


class SessionLayers:
    """Layers of one viewer that show one session.

    Parameters
    ----------
    viewer
        Where they are.
    marker
        The session and the hand on it.
    told
        Runs what an edit does and says refusals as sentences.
    keys
        Binds keys on a layer of points, and gives them back.
    """

    def __init__(
        self,
        viewer: ViewerModel,
        marker: Marker,
        told: Callable[[Callable[[], None]], None],
        keys: LayerKeys,
    ) -> None:
        self._keys = keys
        self._viewer = viewer
        self._marker = marker
        self._session = marker.session
        self._told = told
        self._busy = False
        self._layers: dict[str, Layer] = {}
        self._mice: dict[str, Mouse] = {}
        self._image: Layer | None = None
        self._connected = False
        self._shown = True
        self._size = max(self._session.radiograph.shape) / 90

    def connect(self) -> None:
        """Show the session and follow it; doing it twice changes nothing."""
        if self._connected:
            return
        self._connected = True
        self._session.changed.connect(self.repaint)
        self._viewer.layers.events.removed.connect(self._on_layer_removed)
        self._image = self._image_layer()
        if self._image is not None:
            _follow(self._image, self._on_moved, follow=True)
            self._keys.bind_layer(self._image)
        self.repaint()
        self.activate()

    def disconnect(self) -> None:
        """Stop following the session and leave no callback behind; the layers stay."""
        if not self._connected:
            return
        self._connected = False
        self._session.changed.disconnect(self.repaint)
        self._viewer.layers.events.removed.disconnect(self._on_layer_removed)
        if self._image is not None:
            _follow(self._image, self._on_moved, follow=False)
            self._keys.release_layer(self._image)
            self._image = None
        for role in list(self._layers):
            self._forget(role)

    def remove(self) -> None:
        """Take the layers out of the viewer, for another image."""
        layers = list(self._layers.values())
        self.disconnect()
        for layer in layers:
            if layer in self._viewer.layers:
                self._viewer.layers.remove(layer)

    def toggle(self) -> None:
        """Hide every layer of marks, or show them again."""
        self._shown = not any(layer.visible for layer in self._layers.values())
        for layer in self._layers.values():
            layer.visible = self._shown

    @property
    def are_hidden(self) -> bool:
        """Whether none of the layers of marks is shown, by the key or in napari's list of layers."""
        return bool(self._layers) and not any(layer.visible for layer in self._layers.values())

    def activate(self) -> None:
        """Let the layer of the tool take the mouse; without a tool the image has it."""
        tool = self._marker.tool
        layer = self._layer(tool) if tool is not None else self._image
        if layer is not None:
            self._viewer.layers.selection.active = layer
        if tool is not None:
            self._layers[tool].mode = "pan_zoom"

    def repaint(self, _marks: object = None) -> None:
        """Draw the session as it is shown."""
        if self._busy:
            return
        with self._guarded():
            dragged = self._marker.dragged if self._session.is_preview else None
            self._paint_vectors(
                "current",
                *padded(*drawn_current(self._session, self._size, dragged)),
                light=dragged is not None,
            )
            if dragged is None:
                self._paint_points()
                self._paint_drawing(drawn(self._session, self._size))
            self._show_words(shown=dragged is None)

    def show_outline(self, sides: Sequence[Any]) -> None:
        """Show a prepared outline by its sides, (row, column) pixels each; none takes it away."""
        if sides or "outline" in self._layers:
            with self._guarded():
                self._paint_vectors("outline", *drawn_outline(sides))

    def _paint_points(self) -> None:
        for role in ROLES:
            layer = self._layer(role)
            data = points_array(self._marker.handles(role))
            if not np.array_equal(layer.data, data):
                layer.selected_data = set()
                layer.data = data
            self._style_points(layer, role)
            chosen = self._marker.chosen
            here = self._marker.tool == role and chosen is not None and chosen < len(data)
            opacity = 1.0 if self._marker.tool in (role, None) else 0.35
            if layer.opacity != opacity:
                layer.opacity = opacity
            if str(layer.mode) == "pan_zoom":
                wanted = {chosen} if here else set()
                if set(layer.selected_data) != wanted:
                    layer.selected_data = wanted

    def _style_points(self, layer: Points, role: Role) -> None:
        """Ends have shapes of their own: diamond and cross on a canal, squares on a reference; discs between."""
        count = len(layer.data)
        marks = self._session.annotation
        colour = REFERENCE if role == "reference" else canal_colour(marks.current, marks.canal.colour)
        look = (role, count, colour)
        if layer.metadata.get("radlength_look") == look:
            return
        layer.metadata["radlength_look"] = look
        if not count:
            return
        first, last = ("diamond", "cross") if role == "canal" else ("square", "square")
        ends = [last] * (count > 1)
        layer.symbol = [first, *["disc"] * (count - 2), *ends]
        layer.size = [1.3 * self._size, *[0.8 * self._size] * (count - 2), *[1.3 * self._size for _ in ends]]
        layer.face_color = colour
        layer.border_color = colour

    def _paint_vectors(self, role: str, steps: Any, colours: Any, *, light: bool = False) -> None:
        """Show lines; what has not changed is not touched, and a drag pays for nothing but the lines."""
        if not len(steps) and not self._is_there(role):
            return
        layer = self._layer(role)
        look, hues = (steps.tobytes(), light), colours.tobytes()
        if layer.metadata.get("radlength_look") != look:
            layer.metadata["radlength_look"] = look
            if len(layer.data) != len(steps):
                layer.edge_color = "white"
                layer.metadata["radlength_hues"] = None
            if light:
                set_data_lightly(layer, steps)
            else:
                layer.data = steps
        if len(steps) and layer.metadata.get("radlength_hues") != hues:
            layer.metadata["radlength_hues"] = hues
            layer.edge_color = colours

    def _paint_drawing(self, drawing: Drawing) -> None:
        self._paint_vectors("curves", drawing.steps, drawing.colours)
        if not drawing.words and not self._is_there("lengths"):
            return
        words = self._layer("lengths")
        shown = (drawing.words, drawing.places.round(1).tolist(), drawing.inks)
        if words.metadata.get("radlength_look") == shown:
            return
        words.metadata["radlength_look"] = shown
        words.data = np.empty((0, 2))
        if drawing.words:
            # four times in black behind the light ones: read on any grey
            behind = np.array([[-1, -1], [1, 1], [-1, 1], [1, -1], [0, 0]]) * self._size / 11
            words.data = (drawing.places + behind[:, None]).reshape(-1, 2)
            words.features = {"words": list(drawing.words) * len(behind)}
            words.text = {
                "string": "{words}",
                "size": 9,
                "color": ["black"] * (len(behind) - 1) * len(drawing.words) + list(drawing.inks),
                "anchor": "center",
            }

    def _show_words(self, *, shown: bool) -> None:
        """Keep lengths off the image during a drag: they would be old, and they cost half of the painting."""
        if self._is_there("lengths"):
            text = self._layer("lengths").text
            if text.visible != shown:
                text.visible = shown

    def _is_there(self, role: str) -> bool:
        """Return whether a layer is there: one that has nothing to show yet is not made."""
        return role in self._layers or self._found(role) is not None

    def _layer(self, role: str) -> Any:
        layer = self._layers.get(role)
        if layer is not None and layer in self._viewer.layers:
            return layer
        layer = self._found(role)
        if layer is None:
            layer = self._made(role)
            active = self._viewer.layers.selection.active
            self._viewer.layers.insert(self._place_of(role), layer)
            if role == "current":
                keep_shaders(self._viewer, layer)
            if active is not None:
                self._viewer.layers.selection.active = active
        self._layers[role] = layer
        layer.metadata[SESSION_KEY] = self._session
        if self._image is not None:
            place_like(layer, self._image)
        self._watch(layer, role)
        return layer

    def _place_of(self, role: str) -> int:
        """Return where a new layer goes: the layers of marks lie in the order of their names, above the image."""
        above = list(NAMES)[list(NAMES).index(role) + 1 :]
        roles = [one.metadata.get(ROLE_KEY) for one in self._viewer.layers]
        return next((n for n, one in enumerate(roles) if one in above), len(roles))

    def _made(self, role: str) -> Layer:
        from napari.layers import Points, Vectors

        settings: dict[str, Any] = {
            "ndim": 2,
            "name": NAMES[role],
            "metadata": {ROLE_KEY: role},
            "visible": self._shown,
        }
        if role in ("curves", "current", "outline"):
            return Vectors(
                np.empty((0, 2, 2)), edge_width=self._size / 5, vector_style="line", opacity=0.9, **settings
            )
        if role == "lengths":
            return Points(np.empty((0, 2)), size=1, face_color="transparent", border_width=0, **settings)
        return Points(
            np.empty((0, 2)),
            size=self._size,
            border_color="black",
            border_width=0,
            canvas_size_limits=(7, 16),
            **settings,
        )

    def _found(self, role: str) -> Layer | None:
        """Return the layer of a role that an earlier dock left in the viewer."""
        return next((one for one in self._viewer.layers if one.metadata.get(ROLE_KEY) == role), None)

    def _image_layer(self) -> Layer | None:
        radiograph = self._session.radiograph
        return next((one for one in self._viewer.layers if one.metadata.get(IMAGE_KEY) is radiograph), None)

    @property
    def image(self) -> Any:
        """The layer of the radiograph, ``None`` where somebody removed it."""
        return self._image if self._image in self._viewer.layers else None

    def _watch(self, layer: Any, role: str) -> None:
        _follow(layer, self._on_moved, follow=True)
        if role not in ROLES:
            return
        known: Role = "canal" if role == "canal" else "reference"
        self._mice[role] = Mouse(self._viewer, layer, known, self._marker, self._told)
        layer.events.data.connect(self._on_data)
        self._keys.bind_layer(layer)

    def _forget(self, role: str) -> None:
        layer = self._layers.pop(role)
        _follow(layer, self._on_moved, follow=False)
        if role in self._mice:
            self._mice.pop(role).leave()
            layer.events.data.disconnect(self._on_data)
            self._keys.release_layer(layer)

    def _on_moved(self, event: Any) -> None:
        """Keep every layer of marks where the image is, whoever moves either."""
        if self._busy or self._image is None:
            return
        with self._guarded():
            for layer in self._layers.values():
                place_like(layer, self._image)

    def _on_data(self, event: Any) -> None:
        """Take an edit of napari's own tools into the session: one undo step."""
        if self._busy or str(getattr(event, "action", "")).lower().endswith("ing"):
            return
        role: Role = "canal" if event.source is self._layers.get("canal") else "reference"
        points = [tuple(point) for point in event.source.data]
        self._told(lambda: self._marker.keep(role, points))

    def _on_layer_removed(self, event: Any) -> None:
        """Let go of a layer of ours that somebody deletes; the next painting makes a new one."""
        for role in [role for role, layer in self._layers.items() if layer is event.value]:
            self._forget(role)

    @contextmanager
    def _guarded(self) -> Iterator[None]:
        self._busy = True
        try:
            yield
        finally:
            self._busy = False


def _follow(layer: Any, call: Callable[[Any], None], *, follow: bool) -> None:
    for name in TRANSFORMS:
        emitter = getattr(layer.events, name)
        emitter.disconnect(call)
        if follow:
            emitter.connect(call)
