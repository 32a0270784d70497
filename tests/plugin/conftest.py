import json
from importlib import resources
from pathlib import Path

import cv2
import numpy as np
import pytest
from helpers.drawn_canal import CLICKS, canal_pixels
from helpers.staged_case import write_case, write_images

from napari_radlength._marking import Marker
from napari_radlength._none_guard import guard
from radlength.imaging import Radiograph
from radlength.session import Session

guard()

DEMO = Path(str(resources.files("radlength"))) / "demo"


@pytest.fixture(scope="session", autouse=True)
def _state_of_its_own(tmp_path_factory):
    """Keep what a window remembers of images out of the list of whoever runs the tests."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("RADLENGTH_STATE", str(tmp_path_factory.mktemp("state")))
        yield


@pytest.fixture
def image_file(tmp_path):
    """A plain image of 400 x 300 pixels on disk."""
    path = tmp_path / "tooth.png"
    cv2.imwrite(str(path), np.random.default_rng(0).integers(0, 90, (400, 300)).astype(np.uint8))
    return path


@pytest.fixture
def demo_session(tmp_path):
    """The invented case of the demo, marked."""
    from radlength.cli.marks_file import record_from_marks
    from radlength.imaging import read_radiograph

    path = tmp_path / "invented-premolar.png"
    path.write_bytes((DEMO / path.name).read_bytes())
    record = record_from_marks(DEMO / "invented-premolar.marks.json", read_radiograph(path))
    assert "canals" in json.loads((DEMO / "invented-premolar.marks.json").read_text())
    return Session(read_radiograph(path), record=record)


@pytest.fixture
def marker():
    """The hand on a drawn canal, without any window."""
    return Marker(Session(Radiograph.from_array(canal_pixels(), name="tooth.png")))


@pytest.fixture
def traced(marker):
    """The same with the canal clicked."""
    marker.use("canal")
    for point in CLICKS:
        marker.click("canal", point, 3.0)
    return marker


@pytest.fixture
def make_dock(qtbot):
    """Make docks on viewers, shown, that let go of everything at the end."""
    from qtpy.QtCore import QThreadPool

    from napari_radlength._dock import LengthDock

    made = []

    def make(viewer):
        dock = LengthDock(viewer)
        qtbot.addWidget(dock)
        dock.show()
        made.append(dock)
        return dock

    yield make
    for dock in made:
        dock.hide()
    QThreadPool.globalInstance().waitForDone(20000)


@pytest.fixture
def viewer():
    """A viewer without a window."""
    from napari.components import ViewerModel

    return ViewerModel()


@pytest.fixture
def dock(viewer, make_dock):
    """A dock on it."""
    return make_dock(viewer)


@pytest.fixture
def marked(dock, image_file):
    """A dock with a reference and a canal marked by hand."""
    from helpers.marked_dock import mark

    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    mark(dock.session)
    return dock


@pytest.fixture
def folder(tmp_path):
    """Four small images of one tooth."""
    return write_images(tmp_path)


@pytest.fixture
def case_folder(folder):
    """The same with a case of three of them."""
    return write_case(folder)


@pytest.fixture
def said(monkeypatch):
    """Sentences told as errors."""
    told = []
    monkeypatch.setattr("napari.utils.notifications.show_error", told.append)
    return told


@pytest.fixture
def surely(monkeypatch):
    """Whoever hands in an exercise is sure of it: the question is not put."""
    monkeypatch.setattr("napari_radlength._section_exercise.ExerciseSection.is_sure", lambda _section: True)


@pytest.fixture
def own_app(mock_app_model):
    """An application of napari for one test that opens a window by itself: plugins enter one only once."""
    from napari._qt._qapp_model.qactions import init_qactions
    from napari.plugins import _initialize_plugins

    _initialize_plugins.cache_clear()
    init_qactions.cache_clear()
    return mock_app_model


@pytest.fixture
def open_window(make_napari_viewer, qtbot):
    """Open a window with a dock and a hand on it."""
    from helpers.window_play import Hand
    from qtpy.QtCore import QThreadPool
    from qtpy.QtWidgets import QApplication

    from napari_radlength._dock import open_dock

    hands = []

    def make(path=None):
        viewer = make_napari_viewer(show=True)
        dock = open_dock(viewer)
        dock.give_room()
        viewer.window.resize(1280, 800)
        if path is not None:
            dock.open_images([path])
        qtbot.waitUntil(lambda: viewer.window._qt_window.height() == 800)
        dock.fit()
        QApplication.processEvents()
        hands.append(Hand(viewer, dock))
        return hands[-1]

    yield make
    for one in hands:
        one.dock.hide()
        one.let_go()
    QThreadPool.globalInstance().waitForDone(20000)
