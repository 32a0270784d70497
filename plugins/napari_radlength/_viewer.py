"""The calls to napari that move from version to version, in one place."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext, suppress
from functools import cache
from inspect import isgeneratorfunction, signature
from textwrap import fill
from typing import TYPE_CHECKING, Any, cast

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from napari.components import ViewerModel

TRANSFORMS = ("scale", "rotate", "shear", "translate", "affine")
"""What places a layer in the world; its data know nothing of it."""

LETTER_PX = 9.6
"""Width of a letter of the words on the image, in a sentence of wide ones."""
LETTERS = 100
"""Letters of a line of them in a window of 1280 pixels."""
ROOM = 16
"""Letters after which the box behind a line is one short: napari measures a font of a whole size, and draws another."""


def say_on_image(viewer: ViewerModel, words: str) -> None:
    """Write what to do next on the image, in lines that fit on it."""
    overlay = words_overlay(viewer)
    lines = [line for part in words.split("\n") for line in fill(part, _letters(viewer)).split("\n")]
    words = "\n".join(line + "\N{NO-BREAK SPACE}" * (len(line) // ROOM) for line in lines)
    if (overlay.text, overlay.visible) == (words, bool(words)):
        return
    overlay.text = words
    overlay.font_size = 10
    overlay.position = "top_left"
    overlay.visible = bool(words)


def _letters(viewer: ViewerModel) -> int:
    """Return how many letters a line on the image has room for."""
    with suppress(AttributeError):
        width = int(viewer.window._qt_viewer.canvas.native.width())  # noqa: SLF001
        return max(int(width / LETTER_PX) - 2, 20)
    return LETTERS


def words_overlay(viewer: ViewerModel) -> Any:
    """Return the words on the image: they moved to the canvas in 0.9."""
    overlays = getattr(getattr(viewer, "canvas", None), "overlays", None)
    return viewer.text_overlay if overlays is None else overlays.text


def set_data_lightly(layer: Any, data: NDArray[np.float64]) -> None:
    """Show other data of a layer while it is dragged: neither its thumbnail nor the extent of the scene is made again.

    The viewer is not told either: it would make its dimensions again. The next data set in the usual way do all that.
    """
    with layer._block_refresh(), layer.events.extent.blocker(), layer.events.data.blocker():  # noqa: SLF001
        layer.data = data
    layer.refresh(thumbnail=False, highlight=False, extent=False)


def at_once(viewer: ViewerModel) -> AbstractContextManager[None]:
    """Return a context in which layers come and go together: napari tidies up once, and not for each of them."""
    together = getattr(viewer.layers, "batched_update", nullcontext)
    return cast("AbstractContextManager[None]", together())


def worker_of(steps: Callable[..., Any], *given: Any) -> Any:
    """Return what does work on a thread, not started yet: a generator function step by step, another at once.

    ``create_worker`` puts work on napari's list of tasks (0.9), which the window shows by their addresses before it
    closes, and where work that fails raises a TypeError.
    """
    from napari.qt.threading import FunctionWorker, GeneratorWorker

    return (GeneratorWorker if isgeneratorfunction(steps) else FunctionWorker)(steps, *given)


def is_flat(viewer: ViewerModel) -> bool:
    """Return whether marks lie on the image: in a 3-D view or a grid of layers a click is on no place of it."""
    return int(viewer.dims.ndisplay) == 2 and not grid_of(viewer).enabled


def grid_of(viewer: ViewerModel) -> Any:
    """Return the grid of layers: it moved to the canvas in 0.9."""
    grid = getattr(getattr(viewer, "canvas", None), "grid", None)
    return viewer.grid if grid is None else grid


def flatten(viewer: ViewerModel) -> None:
    """Lay image and marks upon each other."""
    viewer.dims.ndisplay = 2
    grid_of(viewer).enabled = False


def keep_shaders(viewer: ViewerModel, layer: Any) -> None:
    """Let lines that move keep their shaders: the mesh of vispy makes the same ones anew with all data it is given.

    Where napari or vispy call these things otherwise, nothing is changed and a drag costs what it did.
    """
    with suppress(AttributeError, KeyError):
        node = viewer.window._qt_viewer.canvas.layer_to_visual[layer].node  # noqa: SLF001
        to_vec4, colours = node._ensure_vec4_func, node._build_color_transform  # noqa: SLF001
        node.unfreeze()
        node._ensure_vec4_func = cache(to_vec4)  # noqa: SLF001
        plain: list[Any] = []

        def transform(rgba: NDArray[np.float32]) -> Any:
            if rgba.ndim == 2 and rgba.shape[1] == 1:
                return colours(rgba)
            if not plain:
                plain.append(colours(rgba))
            return plain[0]

        node._build_color_transform = transform  # noqa: SLF001
        node.freeze()


def empty_layer(layer: Any) -> None:
    """Let an image layer that was taken out of the viewer hold no pixels: its controls outlive it (napari 0.9)."""
    layer.data = np.zeros((1, 1), np.float32)
    layer.visible = True  # only what is visible is sliced again


def zoom_of(viewer: ViewerModel) -> float:
    """Return screen pixels a world unit."""
    return float(_camera(viewer).zoom)


def middle_of(viewer: ViewerModel) -> tuple[float, float]:
    """Return the (row, column) of the world in the middle of what is seen."""
    center = _camera(viewer).center
    return float(center[-2]), float(center[-1])


def allow_pan(viewer: ViewerModel, *, allowed: bool) -> None:
    """Let a drag move the view, or keep it still while a point is dragged."""
    _camera(viewer).mouse_pan = allowed


def _camera(viewer: ViewerModel) -> Any:
    """Return the camera: it moved to the scene in 0.9."""
    return getattr(getattr(viewer, "scene", None), "camera", None) or viewer.camera


def fit_view(viewer: ViewerModel) -> None:
    """Show the whole of what is visible: other images that are open are hidden layers."""
    reset = getattr(viewer, "reset_view", None)
    if reset is None:
        return
    if "layers" in signature(reset).parameters:
        reset(layers=[layer for layer in viewer.layers if layer.visible])
    else:
        reset()


def place_like(layer: Any, image: Any) -> None:
    """Give a layer the place of the image in the world; nothing where it has it."""
    for name in TRANSFORMS:
        wanted = np.asarray(getattr(image, name))
        if not np.array_equal(np.asarray(getattr(layer, name)), wanted):
            setattr(layer, name, wanted)


def turned(image: Any, *, quarter: int = 0, flip: bool = False) -> NDArray[np.float64]:
    """Return the affine of the image turned by quarters, or flipped left to right, about its middle, shape (3, 3)."""
    rows, columns = image.data.shape[-2:]
    corner = image.data_to_world((0, 0)), image.data_to_world((rows - 1, columns - 1))
    middle = np.mean(corner, axis=0)[-2:]
    turn = np.eye(3)
    for _ in range(quarter % 4):
        turn = np.array([[0.0, 1, 0], [-1, 0, 0], [0, 0, 1]]) @ turn
    if flip:
        turn = np.diag([1.0, -1, 1]) @ turn
    there, back = np.eye(3), np.eye(3)
    there[:2, 2], back[:2, 2] = middle, -middle
    moved: NDArray[np.float64] = there @ turn @ back @ np.asarray(image.affine.affine_matrix)[-3:, -3:]
    return moved
