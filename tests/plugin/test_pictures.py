"""Pictures of the window for people to look at: two screens, dark and light.

They are written to ``screenshots``; that of the README is written again by
``RADLENGTH_PICTURES=fixtures/pictures sh tests/run -k pictures``.
"""

import os
import shutil
from pathlib import Path

import cv2
import numpy as np
import pytest
from qtpy.QtCore import QThreadPool
from qtpy.QtWidgets import QApplication

from napari_radlength._dock import open_dock

pytestmark = pytest.mark.gui
ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "screenshots"
SCREENS = [(1280, 800), (1920, 1080)]


def shot(viewer, name):
    """Write what the window shows and return it as grey values."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    path = FOLDER / name
    QApplication.processEvents()
    viewer.screenshot(canvas_only=False, flash=False, path=str(path))
    return cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)


def test_the_window_in_pictures(make_napari_viewer, demo_session, qtbot):
    viewer = make_napari_viewer(show=True)
    dock = open_dock(viewer)
    dock.give_room()
    dock.show_session(demo_session)
    qtbot.waitUntil(lambda: not dock.image.quality.text().startswith("looking"), timeout=30000)
    window = viewer.window._qt_window
    brightness = {}
    for width, height in SCREENS:
        window.resize(width, height)
        qtbot.waitUntil(lambda size=(width, height): (window.width(), window.height()) == size)
        for theme in ("dark", "light"):
            viewer.theme = theme
            dock.fit()
            picture = shot(viewer, f"window-{width}x{height}-{theme}.png")
            assert picture.shape == (height, width)
            side = picture[:, -dock.width() :]
            brightness[width, theme] = float(np.median(side))
            foot = dock.caution.mapTo(window, dock.caution.rect().bottomRight())
            assert foot.y() < height
            assert foot.x() < width
            assert dock.width() <= 0.3 * width
    viewer.theme = "dark"
    dock.show_shape()
    dock.area.ensureWidgetVisible(dock.shape)
    shot(viewer, "window-shape.png")
    assert dock.shape.is_shown
    assert brightness[1280, "dark"] + 60 < brightness[1280, "light"]
    assert dock.headline.length.text().startswith("21.5 mm")
    if "RADLENGTH_PICTURES" in os.environ:
        shutil.copy(
            FOLDER / "window-1280x800-dark.png", ROOT / os.environ["RADLENGTH_PICTURES"] / "window.png"
        )
    dock.hide()
    QThreadPool.globalInstance().waitForDone(20000)
