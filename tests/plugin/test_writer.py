"""Save Selected Layers of napari on layers of marks: the session is written, never what a layer holds."""

import json
import warnings

import numpy as np
import pytest
from helpers.marked_dock import CANAL, layer, mark
from napari.layers import Points

from napari_radlength._dock import open_dock
from radlength.record import load_record, record_path
from radlength.session import Session
from radlength.trade import CAUTION


@pytest.fixture
def window(make_napari_viewer, image_file):
    """A viewer with marks that are not saved."""
    viewer = make_napari_viewer(show=False)
    dock = open_dock(viewer)
    dock.show()
    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    mark(dock.session)
    viewer.layers.selection = {layer(viewer, "canal"), layer(viewer, "current")}
    yield dock
    dock.hide()


def save(dock, path):
    """Save the selected layers as the File menu does, and return what was written and what was said."""
    with warnings.catch_warnings(record=True) as said:
        warnings.simplefilter("always")
        written = dock.viewer.layers.save(str(path), selected=True)
    return written, " ".join(str(one.message) for one in said)


def test_the_record_is_saved_from_the_session_and_not_from_the_layer(window, image_file):
    points = layer(window.viewer, "canal")
    with points.events.data.blocker(), points.events.blocker_all():
        points.data = np.zeros((4, 2))
    path = record_path(image_file)
    assert save(window, path)[0] == [str(path)]
    assert load_record(image_file).canals[0].canal.path_px == tuple(CANAL)
    assert not window.session.is_dirty


def test_elsewhere_it_is_a_copy_with_its_history_and_replaces_nothing(window, image_file, tmp_path):
    place = tmp_path / "copy.radlength.json"
    assert save(window, place)[0] == [str(place)]
    told = json.loads(place.read_text())
    assert (told["format"], told["caution"]) == ("radlength-record", CAUTION)
    assert len(told["canals"]) == 1
    assert told["history"][0]["what"] == "record made"
    assert window.session.is_dirty
    assert not record_path(image_file).exists()
    written, said = save(window, place)
    assert written == []
    assert "a copy replaces nothing" in said


def test_marks_go_out_as_lines(window, tmp_path):
    place = tmp_path / "marks.geojson"
    assert save(window, place)[0] == [str(place)]
    found = json.loads(place.read_text())
    assert [tuple(reversed(point)) for point in found["features"][0]["geometry"]["coordinates"]] == CANAL


def test_what_cannot_be_written_is_said_in_words(window, tmp_path):
    assert "a name that ends in .radlength.json" in save(window, tmp_path / "marks.json")[1]
    window.session.apply(window.session.with_canal(tooth=""))
    assert "its tooth is not chosen" in save(window, tmp_path / "a.radlength.json")[1]
    window.viewer.add_layer(Points(np.zeros((2, 2))))
    window.viewer.layers.selection = {window.viewer.layers[-1]}
    assert "layers that the dock Working length made" in save(window, tmp_path / "b.radlength.json")[1]
    assert not list(tmp_path.glob("*.json"))
