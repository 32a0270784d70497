"""A case and two views in a real window, with real clicks; pictures for people to look at, and nothing cut off."""

import os
import shutil
from pathlib import Path

import cv2
import numpy as np
import pytest
from helpers.two_images import marked_pair
from qtpy.QtCore import QPoint, Qt, QThreadPool
from qtpy.QtTest import QTest
from qtpy.QtWidgets import QApplication, QComboBox, QPushButton

from napari_radlength._dock import open_dock
from radlength.cli.case_demo import demo_case
from radlength.record import save_case

pytestmark = pytest.mark.gui
ROOT = Path(__file__).parents[2]
FOLDER = ROOT / "screenshots"
ARROW_PX = 24
"""Room for the arrow of a list."""


@pytest.fixture
def window(make_napari_viewer, qtbot):
    viewer = make_napari_viewer(show=True)
    dock = open_dock(viewer)
    dock.give_room()
    main = viewer.window._qt_window
    main.resize(1280, 800)
    qtbot.waitUntil(lambda: main.height() == 800)
    yield viewer, dock
    dock.hide()
    QThreadPool.globalInstance().waitForDone(20000)


def shots(viewer, dock, section, name):
    """Write what the window shows with a section at the top, dark and light; return both as grey values."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    pictures = []
    for theme in ("dark", "light"):
        viewer.theme = theme
        QApplication.processEvents()
        dock.area.verticalScrollBar().setValue(section.y() - 4)
        QApplication.processEvents()
        path = FOLDER / f"{name}-1280x800-{theme}.png"
        viewer.screenshot(canvas_only=False, flash=False, path=str(path))
        pictures.append(cv2.imread(str(path), cv2.IMREAD_GRAYSCALE))
    return pictures


def cut_off(section):
    """Return the buttons and lists of a section whose words do not fit into them."""
    found = []
    for kind, room in ((QPushButton, 4), (QComboBox, ARROW_PX)):
        for one in section.findChildren(kind):
            words = one.text() if kind is QPushButton else one.currentText()
            if one.isVisible() and one.fontMetrics().horizontalAdvance(words) + room > one.width():
                found.append((one.objectName(), words, one.width()))
    return found


def narrowest(viewer, dock):
    """Make the dock as narrow as it goes."""
    viewer.window._qt_window.resizeDocks([dock.parent()], [300], Qt.Orientation.Horizontal)
    QApplication.processEvents()
    assert dock.area.horizontalScrollBar().maximum() == 0
    return dock.area.widget().minimumSizeHint().width()


def test_a_case_in_pictures(window, tmp_path):
    viewer, dock = window
    home = tmp_path / "tooth45"
    save_case(demo_case(home), home)
    dock.open_images([home])
    dark, light = shots(viewer, dock, dock.case, "case")
    assert dark.shape == light.shape == (800, 1280)
    if "RADLENGTH_PICTURES" in os.environ:
        kept = ROOT / os.environ["RADLENGTH_PICTURES"] / "window-case.png"
        shutil.copy(FOLDER / "case-1280x800-dark.png", kept)
    side = slice(-dock.width(), None)
    assert np.median(dark[:, side]) + 60 < np.median(light[:, side])
    assert narrowest(viewer, dock) <= 300
    assert not cut_off(dock.image)
    assert not cut_off(dock.case)
    dock.case.keep.setText("far too long for the place " * 3)
    assert cut_off(dock.case)


def test_two_views_by_real_clicks_in_pictures(window, tmp_path, qtbot):
    viewer, dock = window
    dock.open_images(marked_pair(tmp_path)[1])
    views = dock.views
    for box, down in ((views.other, 1), (views.shift, 1)):
        dock.area.ensureWidgetVisible(box)
        _pick(box, down)
    dock.area.ensureWidgetVisible(views.angle)
    views.angle.setFocus()
    views.angle.selectAll()
    QTest.keyClicks(views.angle, "20")
    QTest.keyClick(views.angle, Qt.Key.Key_Return)
    assert dock.marker.tool is None
    dock.area.ensureWidgetVisible(views.solve)
    QTest.mouseClick(views.solve, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "from two views" in views.result.text(), timeout=30000)
    shots(viewer, dock, views, "two-views")
    assert narrowest(viewer, dock) <= 300
    assert not cut_off(views)
    views._begin(*views._pair)
    views._show()
    assert not cut_off(views)


def _pick(box, down):
    """Choose the entry so many below the first with the mouse and keys."""
    QTest.mouseClick(box, Qt.MouseButton.LeftButton, pos=QPoint(20, box.height() // 2))
    QApplication.processEvents()
    view = box.view()
    for _ in range(down):
        QTest.keyClick(view, Qt.Key.Key_Down)
    QTest.keyClick(view, Qt.Key.Key_Return)
    QApplication.processEvents()
    assert box.currentIndex() == down
