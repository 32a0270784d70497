"""The real window, with real clicks and keys, under a display."""

from pathlib import Path

import pytest
from qtpy.QtCore import QPoint, Qt
from qtpy.QtTest import QTest

from napari_radlength import _launch
from napari_radlength._convert import ROLE_KEY
from napari_radlength._dock import open_dock
from radlength.record import load_record
from radlength.session import Session

pytestmark = pytest.mark.gui
SCREENSHOTS = Path(__file__).parents[2] / "screenshots"


@pytest.fixture
def viewer(make_napari_viewer):
    made = make_napari_viewer(show=True)
    made.window.resize(1280, 800)
    return made


def click(viewer, layer, point):
    """Click with the mouse where a (row, column) of the image is drawn."""
    canvas = viewer.window._qt_viewer.canvas
    world = layer.data_to_world(point)
    transform = canvas.view.scene.transform
    x, y = transform.map([world[-1], world[-2], 0, 1])[:2]
    QTest.mouseMove(canvas.native, QPoint(round(x), round(y)))
    QTest.mouseClick(canvas.native, Qt.MouseButton.LeftButton, pos=QPoint(round(x), round(y)))


def layer(viewer, role):
    return next(one for one in viewer.layers if one.metadata.get(ROLE_KEY) == role)


def test_marking_with_the_mouse_saving_and_reopening(viewer, image_file, qtbot):
    dock = open_dock(viewer)
    dock.show_session(Session.open(image_file))
    qtbot.wait(300)
    canal = [(60, 150), (130, 150), (200, 150), (270, 150), (340, 150)]
    dock.mark_canal()
    for point in canal:
        click(viewer, layer(viewer, "canal"), point)
        qtbot.wait(30)
    dock.mark_reference()
    for point in (canal[0], (320, 150)):
        click(viewer, layer(viewer, "reference"), point)
        qtbot.wait(30)
    dock.reference.length.setValue(20.0)
    marks = dock.session.annotation
    assert len(marks.canal.path_px) == 5
    assert len(marks.reference.path_px) == 2
    found, _ = dock.session.estimate()
    true_mm = 20.0 * (340 - 60) / (320 - 60)
    assert found.canal_length.value_mm == pytest.approx(true_mm, abs=0.3)
    QTest.keyClick(viewer.window._qt_viewer.canvas.native, Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    if dock.session.is_dirty:
        dock.save()
    stored = load_record(image_file).estimates[-1].canal_length.value_mm
    assert stored == pytest.approx(found.canal_length.value_mm)
    again, _ = Session.open(image_file).estimate()
    assert again.canal_length.value_mm == pytest.approx(found.canal_length.value_mm, abs=1e-3)


def test_backspace_takes_the_last_click_back(viewer, image_file, qtbot):
    dock = open_dock(viewer)
    dock.show_session(Session.open(image_file))
    qtbot.wait(200)
    dock.mark_canal()
    for row in (60, 150, 240):
        layer(viewer, "canal").add((row, 150))
    canvas = viewer.window._qt_viewer.canvas
    QTest.keyClick(canvas.native, Qt.Key.Key_Backspace)
    assert len(dock.session.annotation.canal.path_px) == 2
    QTest.keyClick(canvas.native, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert len(dock.session.annotation.canal.path_px) == 3


def test_the_dock_survives_closing_and_opening(viewer, image_file, qtbot):
    dock = open_dock(viewer)
    dock.show_session(Session.open(image_file))
    container = dock.parent()
    for _ in range(3):
        container.hide()
        qtbot.wait(20)
        container.show()
        qtbot.wait(20)
    dock.session.apply(dock.session.with_canal_path([(60, 150), (340, 150)]))
    assert len(layer(viewer, "canal").data) == 2
    assert len(dock.session.changed) == 2


def test_launch_opens_the_image_in_a_window(image_file, monkeypatch):
    import napari

    seen = []
    monkeypatch.setattr(napari, "run", lambda: seen.append(napari.current_viewer()))
    assert _launch.launch(image_file) == 0
    assert [one.title for one in seen] == ["radlength: tooth.png"]
    assert seen[0].layers[0].name == "tooth.png"
    seen[0].close()


def test_a_screenshot_for_people(viewer, demo_session, qtbot):
    dock = open_dock(viewer)
    dock.show_session(demo_session)
    qtbot.wait(800)
    SCREENSHOTS.mkdir(exist_ok=True)
    picture = SCREENSHOTS / "window-1280x800.png"
    assert viewer.window._qt_window.grab().save(str(picture))
    assert picture.stat().st_size > 50_000
    assert dock.result.length.text().startswith("21.5 mm")
