"""The dock on a viewer model: no window of napari, real widgets."""

import numpy as np
import pytest
from napari.components import ViewerModel
from qtpy.QtWidgets import QPushButton

from napari_radlength._convert import IMAGE_KEY, ROLE_KEY, image_layer
from napari_radlength._dock import LengthDock
from napari_radlength._keys import KEYS
from radlength.imaging import Radiograph
from radlength.record import dump_record, load_record, record_path
from radlength.session import Session
from radlength.trade import CAUTION

CANAL = [(50.0, 150.0), (120.0, 152.0), (190.0, 156.0), (260.0, 164.0), (320.0, 178.0), (360.0, 192.0)]
REFERENCE = [*CANAL[:-1], (345.0, 187.0)]


@pytest.fixture
def viewer():
    return ViewerModel()


@pytest.fixture
def dock(viewer, qtbot):
    widget = LengthDock(viewer)
    qtbot.addWidget(widget)
    widget.show()
    return widget


@pytest.fixture
def marked(dock, image_file):
    dock.show_session(Session.open(image_file))
    session = dock.session
    session.apply(session.with_reference(path_px=tuple(REFERENCE), length_mm=21.0, limit_mm=0.25))
    session.apply(session.with_canal_path(CANAL))
    return dock


def layer(viewer, role):
    return next(one for one in viewer.layers if one.metadata.get(ROLE_KEY) == role)


def test_an_empty_dock_says_what_to_do_first(dock):
    assert dock.result.length.text() == "no length yet"
    assert dock.result.terms.text() == "Open a radiograph: drop a file on the window."
    assert dock.result.caution.text() == CAUTION


def test_every_disabled_button_says_why(dock, marked):
    for widget in (dock, marked):
        for button in widget.findChildren(QPushButton):
            assert button.isEnabled() or button.toolTip(), button.text()


def test_a_length_is_always_labelled(marked):
    assert marked.result.what.text() == "canal length, 11 single"
    assert "No working length" in marked.result.terms.text()
    marked.canal.rule.setCurrentText("own offset")
    marked.canal.rule.activated.emit(marked.canal.rule.currentIndex())
    assert marked.result.what.text() == "working length, 11 single"
    assert "short of the radiographic apex" in marked.result.terms.text()
    assert "canal length" in marked.result.other.text()


def test_findings_status_and_caution_are_visible(marked):
    assert marked.result.status.text() == "estimate, not confirmed"
    assert marked.result.caution.isVisible()
    marked.session.apply(marked.session.with_canal_path([CANAL[0], CANAL[-1]]))
    assert "The canal has 2 clicks" in marked.result.findings.text()
    assert "Mark at least 7 points" in marked.result.findings.text()


def test_clicks_on_a_layer_reach_the_session(dock, viewer, image_file):
    dock.show_session(Session.open(image_file))
    dock.mark_canal()
    points = layer(viewer, "canal")
    assert viewer.layers.selection.active is points
    assert points.mode == "add"
    for point in CANAL:
        points.add(point)
    assert dock.session.annotation.canal.path_px == tuple(CANAL)
    dock.mark_reference()
    for point in REFERENCE:
        layer(viewer, "reference").add(point)
    assert dock.session.annotation.reference.path_px == tuple(REFERENCE)
    assert dock.session.annotation.reference.canal == "single"
    dock.reference.length.setValue(21.0)
    assert dock.result.length.text().startswith("22")


def test_the_length_follows_while_a_point_is_dragged(marked, viewer):
    points = layer(viewer, "canal")
    before = marked.result.length.text()
    steps = len(marked.session._past)
    moved = points.data.copy()
    moved[-1] += (30, 10)
    with points.events.data.blocker():
        points._data = moved
        points.events.set_data()
    assert marked.result.length.text() != before
    assert len(marked.session._past) == steps


def test_undo_redo_and_take_back_move_the_layers(marked, viewer):
    marked.take_back()
    assert len(layer(viewer, "canal").data) == 5
    marked.undo()
    assert len(layer(viewer, "canal").data) == 6
    marked.redo()
    assert len(layer(viewer, "canal").data) == 5


def test_the_layers_delete_key_is_an_undo_step(marked, viewer):
    points = layer(viewer, "canal")
    points.selected_data = {2}
    points.remove_selected()
    assert len(marked.session.annotation.canal.path_px) == 5
    marked.undo()
    assert marked.session.annotation.canal.path_px == tuple(CANAL)


def test_nothing_done_in_the_layer_list_loses_a_mark(marked, viewer):
    points = layer(viewer, "canal")
    points.name = "something else"
    points.visible = False
    viewer.layers.move(0, 2)
    viewer.layers.remove(points)
    viewer.layers.remove(layer(viewer, "curves"))
    marked.take_back()
    marked.undo()
    assert len(layer(viewer, "canal").data) == 6
    assert marked.session.annotation.canal.path_px == tuple(CANAL)


def test_turning_flipping_and_scaling_changes_no_byte_of_the_record(marked, viewer, image_file):
    marked.save()
    plain = dump_record(marked.session.to_record()).split(b'"estimates"')[0]
    for one in viewer.layers:
        one.rotate = 30
        one.scale = (-2, 3)
        one.translate = (5, 7)
    viewer.dims.order = (1, 0)
    marked.take_back()
    marked.undo()
    assert dump_record(marked.session.to_record()).split(b'"estimates"')[0] == plain


def test_saving_and_reopening_restores_marks(marked, viewer, image_file, qtbot):
    marked.save()
    assert record_path(image_file).exists()
    assert marked.record.words.text() == "all marks are in the record"
    shown = marked.result.length.text()
    other = LengthDock(ViewerModel())
    qtbot.addWidget(other)
    other.show_session(Session.open(image_file))
    assert other.result.length.text() == shown
    assert load_record(image_file).canals[0].canal.path_px == tuple(CANAL)


def test_a_refusal_is_a_sentence_and_not_a_crash(marked, image_file, monkeypatch):
    said = []
    monkeypatch.setattr("napari.utils.notifications.show_error", said.append)
    marked.save()
    path = record_path(image_file)
    path.write_bytes(path.read_bytes() + b" ")
    marked.take_back()
    marked.save()
    assert len(said) == 1
    assert "changed" in said[0]


def test_canals_are_added_chosen_and_removed(marked):
    marked.canal.tooth.setCurrentText("46")
    marked.canal.tooth.activated.emit(marked.canal.tooth.currentIndex())
    marked.canal.add.click()
    assert [canal.name for canal in marked.session.annotation.canals] == ["single", "MB"]
    assert marked.canal.chooser.currentText() == "46 MB (0 points)"
    marked.canal.chooser.activated.emit(0)
    assert marked.result.what.text() == "canal length, 46 single"
    marked.canal.remove.click()
    assert [canal.name for canal in marked.session.annotation.canals] == ["MB"]


def test_the_placement_reaches_the_estimate(marked):
    marked.reference.placement.setCurrentIndex(1)
    assert marked.session.annotation.reference.placement == "beside"
    assert "beside the tooth" in marked.result.findings.text()


def test_closing_and_opening_leaves_no_callbacks(marked, viewer):
    def callbacks():
        points = layer(viewer, "canal")
        return (
            len(marked.session.changed),
            len(viewer.layers.events.removed.callbacks),
            len(points.events.data.callbacks),
        )

    start = callbacks()
    for _ in range(3):
        marked.hide()
        marked.show()
    assert callbacks() == start
    marked.hide()
    assert len(marked.session.changed) == 0


def test_two_viewers_do_not_meet(qtbot, image_file, tmp_path):
    other_file = tmp_path / "other.png"
    other_file.write_bytes(image_file.read_bytes())
    docks = [LengthDock(ViewerModel()) for _ in range(2)]
    for widget, path in zip(docks, (image_file, other_file), strict=True):
        qtbot.addWidget(widget)
        widget.show_session(Session.open(path))
    docks[0].session.apply(docks[0].session.with_canal_path(CANAL))
    assert docks[1].session.annotation.canal.path_px == ()


def test_a_radiograph_added_to_the_viewer_starts_a_session(dock, viewer):
    radiograph = Radiograph.from_array(np.zeros((40, 30), np.uint8), name="array.tif")
    data, settings, _ = image_layer(radiograph)
    viewer.add_image(data, **settings)
    assert dock.session.radiograph is radiograph
    assert layer(viewer, "canal").ndim == 2
    assert not dock.record.save.isEnabled()
    assert viewer.layers[0].metadata[IMAGE_KEY] is radiograph


def test_every_key_is_an_action_of_the_dock(dock):
    assert all(callable(getattr(dock, entry.action)) for entry in KEYS)
    assert len({entry.key for entry in KEYS}) == len(KEYS)
