"""One button does it: a click adds a point, a drag on a point moves it, a drag elsewhere moves the view."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from napari_radlength._marking import Marker, Role
from napari_radlength._viewer import allow_pan, is_flat, zoom_of

if TYPE_CHECKING:
    from napari.components import ViewerModel
    from napari.layers import Points

GRAB, NEAR, STILL = 11.0, 8.0, 4.0
"""Screen pixels: to take hold of a point, to be on the line, to count as a click."""


class Mouse:
    """The mouse on the layer of one role.

    Parameters
    ----------
    viewer
        Where the layer is.
    layer, role
        The layer that shows the points of the role.
    marker
        What clicks and drags go to.
    told
        Called after a click, with what it does; errors of the core become sentences there.
    """

    def __init__(
        self,
        viewer: ViewerModel,
        layer: Points,
        role: Role,
        marker: Marker,
        told: Callable[[Callable[[], None]], None],
    ) -> None:
        self._viewer = viewer
        self._layer = layer
        self._role: Role = role
        self._marker = marker
        self._told = told
        self._left = False
        layer.mouse_drag_callbacks.append(self.on_press)
        layer.mouse_move_callbacks.append(self.on_hover)

    def leave(self) -> None:
        """Let go of the layer."""
        self._left = True
        for callbacks, mine in (
            (self._layer.mouse_drag_callbacks, self.on_press),
            (self._layer.mouse_move_callbacks, self.on_hover),
        ):
            if mine in callbacks:
                callbacks.remove(mine)

    def on_hover(self, _layer: Any, event: Any) -> None:
        """Keep the view still where a point can be taken hold of."""
        if self._active():
            allow_pan(self._viewer, allowed=self._grabbed(self._here(event)) is None)

    def on_press(self, _layer: Any, event: Any) -> Iterator[None]:
        """Follow one press of the left button to its release."""
        if not self._active() or event.button != 1:
            return
        start = np.asarray(event.position[-2:], dtype=np.float64)
        which = self._grabbed(self._here(event))
        count = len(self._marker.handles(self._role))
        allow_pan(self._viewer, allowed=which is None)
        moved = dragged = False
        yield
        while event.type == "mouse_move":
            moved = moved or self._far(start, event)
            if moved and which is not None and self._holds(count, dragged=dragged):
                self._marker.drag(self._role, which, self._here(event))
                dragged = True
            yield
        allow_pan(self._viewer, allowed=True)
        if which is None or self._holds(count, dragged=dragged):
            self._release(which, self._here(event), moved=moved or self._far(start, event))

    def _holds(self, count: int, *, dragged: bool) -> bool:
        """Return whether the point is still in the hand: a key or another image takes it out in a drag."""
        same = self._active() and len(self._marker.handles(self._role)) == count
        return same and not self._left and not (dragged and self._marker.dragged is None)

    def _far(self, start: Any, event: Any) -> bool:
        away = np.hypot(*(np.asarray(event.position[-2:]) - start)) * zoom_of(self._viewer)
        return bool(away > STILL)

    def _release(self, which: int | None, here: Any, *, moved: bool) -> None:
        if which is None and not moved:
            near = NEAR / self._screen_px()
            self._told(lambda: self._marker.click(self._role, here, near))
        elif which is not None and moved:
            self._told(lambda: self._marker.put_down(self._role, which, here))
        elif which is not None:
            self._marker.chosen = which
            self._told(lambda: None)

    def _active(self) -> bool:
        return (
            str(self._layer.mode) == "pan_zoom" and self._marker.tool == self._role and is_flat(self._viewer)
        )

    def _here(self, event: Any) -> tuple[float, float]:
        row, column = self._layer.world_to_data(event.position)[-2:]
        return float(row), float(column)

    def _screen_px(self) -> float:
        """Return screen pixels a pixel of the image."""
        return zoom_of(self._viewer) * float(np.abs(self._layer.scale[-1]))

    def _grabbed(self, here: tuple[float, float]) -> int | None:
        points = np.asarray(self._marker.handles(self._role)).reshape(-1, 2)
        if not len(points):
            return None
        away = np.hypot(*(points - here).T) * self._screen_px()
        nearest = int(away.argmin())
        return nearest if away[nearest] <= GRAB else None
