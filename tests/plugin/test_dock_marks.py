"""Marks edited through the dock and its layers, on a viewer model."""

import numpy as np
import pytest
from helpers.drawn_canal import CLICKS, canal_pixels, write_pixels
from helpers.marked_dock import CANAL, REFERENCE, layer

from napari_radlength._convert import image_layer
from napari_radlength._keys import KEYS
from radlength.session import Session


def test_points_added_by_naparis_own_tool_reach_the_session(dock, viewer, image_file):
    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    dock.set_tooth("11")
    dock.mark_canal()
    points = layer(viewer, "canal")
    assert viewer.layers.selection.active is points
    for point in CANAL:
        points.add(point)
    assert dock.session.annotation.canal.path_px == tuple(CANAL)
    dock.mark_reference()
    for point in REFERENCE:
        layer(viewer, "reference").add(point)
    assert dock.session.annotation.reference.path_px == tuple(REFERENCE)
    assert dock.session.annotation.reference.canal == "single"
    dock.reference.length.setValue(21.0)
    assert dock.headline.length.text().startswith("22")


def test_undo_redo_and_take_back_move_the_layers(marked, viewer):
    marked.take_back_canal()
    assert len(layer(viewer, "canal").data) == 5
    marked.undo()
    assert len(layer(viewer, "canal").data) == 6
    marked.redo()
    assert len(layer(viewer, "canal").data) == 5
    marked.take_back_reference()
    assert len(layer(viewer, "reference").data) == 5


def test_ends_keep_their_shapes_when_an_empty_canal_was_looked_at(marked, viewer):
    def shapes():
        return [str(one) for one in layer(viewer, "canal").symbol]

    ends = ["diamond", *["disc"] * (len(CANAL) - 2), "cross"]
    assert shapes() == ends
    marked.edit_canal(colour="#009e73")
    marked.next_canal()
    assert shapes() == []
    marked.select(0)
    assert shapes() == ends


def test_the_layers_delete_key_is_an_undo_step(marked, viewer):
    points = layer(viewer, "canal")
    points.selected_data = {2}
    points.remove_selected()
    assert len(marked.session.annotation.canal.path_px) == 5
    marked.undo()
    assert marked.session.annotation.canal.path_px == tuple(CANAL)


def test_nothing_done_in_the_layer_list_loses_a_mark(marked, viewer, qtbot):
    points = layer(viewer, "canal")
    points.name = "something else"
    points.visible = False
    viewer.layers.move(0, 2)
    viewer.layers.remove(points)
    for role in ("curves", "current", "lengths", "reference"):
        viewer.layers.remove(layer(viewer, role))
    qtbot.waitUntil(lambda: len(viewer.layers) == 6)
    assert len(layer(viewer, "canal").data) == 6
    marked.take_back_canal()
    marked.undo()
    assert marked.session.annotation.canal.path_px == tuple(CANAL)


def test_an_image_layer_that_is_deleted_takes_no_mark_with_it(marked, viewer, image_file):
    from radlength.imaging import read_radiograph

    viewer.layers.remove(viewer.layers[image_file.name])
    marked.take_back_canal()
    marked.turn(1)
    data, settings, _ = image_layer(read_radiograph(image_file))
    viewer.add_image(data, **settings)
    assert len(marked.session.annotation.canal.path_px) == 5
    assert marked.session.can_undo
    assert marked.layers.image is viewer.layers[image_file.name]


def test_canals_are_added_chosen_renamed_hidden_coloured_and_removed(marked, viewer):
    marked.set_tooth("46")
    assert marked.session.annotation.canal.name == "MB"
    marked.canal.add.click()
    assert [canal.name for canal in marked.session.annotation.canals] == ["MB", "ML"]
    assert marked.canal.chooser.currentText() == "46 ML (0 points)"
    marked.canal.chooser.activated.emit(0)
    assert marked.headline.what.text() == "canal length, 46 MB"
    assert "46 ML" in marked.result.all.text()
    marked.set_name("mesial")
    marked.canal.hidden.click()
    assert set(layer(viewer, "lengths").features["words"]) == {"10 mm by reference 1"}
    marked.canal.colour.setCurrentIndex(3)
    marked.canal.colour.activated.emit(3)
    assert marked.session.annotation.canal.colour == "#f0e442"
    marked.canal.remove.click()
    assert [canal.name for canal in marked.session.annotation.canals] == ["ML"]
    for _ in range(4):
        marked.record.undo.click()
    assert [canal.label for canal in marked.session.annotation.canals] == ["46 MB", "46 ML"]


def test_a_name_that_is_taken_is_refused_in_words(marked, monkeypatch):
    said = []
    monkeypatch.setattr("napari.utils.notifications.show_error", said.append)
    marked.next_canal()
    marked.set_name("single")
    assert said == ["11 single is there already; give it another name"]
    assert marked.canal.name.text() == "canal 2"


def test_the_placement_reaches_the_estimate(marked):
    marked.reference.placement.setCurrentIndex(1)
    assert marked.session.annotation.reference.placement == "beside"
    assert "beside the tooth" in marked.result.findings.text()


def test_a_canal_has_a_reference_of_its_own_or_none(marked):
    marked.reference.own.click()
    assert marked.session.annotation.canal.reference == "reference 2"
    assert marked.marker.tool == "reference"
    chooser = marked.reference.chooser
    assert [chooser.itemText(n) for n in range(3)] == [
        "reference 1",
        "reference 2",
        "none: the file's own scale",
    ]
    chooser.setCurrentIndex(2)
    chooser.activated.emit(2)
    assert marked.session.annotation.canal.reference is None
    chooser.setCurrentIndex(0)
    chooser.activated.emit(0)
    assert marked.headline.length.text().startswith("22")


def test_every_key_is_an_action_of_the_dock(dock):
    assert all(callable(getattr(dock, entry.action)) for entry in KEYS)
    assert len({entry.key for entry in KEYS}) == len(KEYS)


def test_every_nudge_key_moves_its_way(marked):
    marked.mark_canal()
    start = marked.session.annotation.canal.path_px[-1]
    moves = [marked.nudge_up, marked.nudge_left, marked.push_down, marked.push_right]
    for move in moves:
        move()
    assert np.subtract(marked.session.annotation.canal.path_px[-1], start) == pytest.approx(
        (0.9, 0.9), abs=2e-3
    )
    for move in (marked.nudge_down, marked.nudge_right, marked.push_up, marked.push_left):
        move()
    assert np.subtract(marked.session.annotation.canal.path_px[-1], start) == pytest.approx((0, 0), abs=2e-3)


def test_tracing_is_asked_for_by_a_key_and_refused_in_words(marked, monkeypatch):
    said = []
    monkeypatch.setattr("napari.utils.notifications.show_error", said.append)
    marked.mark_canal()
    marked.trace()
    assert marked.session.proposal is not None
    marked.drop()
    marked.toggle_assist()
    assert marked.marker.assist
    marked.session.apply(marked.session.with_canal_path(CANAL[:1]))
    marked.trace()
    assert len(said) == 1


def test_a_point_that_is_not_chosen_is_not_deleted(marked, monkeypatch):
    said = []
    monkeypatch.setattr("napari.utils.notifications.show_error", said.append)
    marked.mark_canal()
    marked.delete_point()
    assert said == ["no point is chosen; click a point, then delete it"]
    marked.next_point()
    marked.next_point()
    marked.previous_point()
    marked.delete_point()
    assert marked.session.annotation.canal.path_px == tuple(CANAL[1:])


def test_a_click_that_is_traced_is_drawn_once(dock, tmp_path):
    session = Session.open(write_pixels(tmp_path / "drawn.png", canal_pixels()))
    dock.show_session(session)
    dock.mark_canal()
    dock.marker.keep("canal", CLICKS[:-1])
    told = []
    session.changed.connect(told.append)
    dock.marker.keep("canal", CLICKS)
    assert session.proposal is not None
    assert told == [session.annotation]


def test_a_run_of_nudges_is_one_step_and_the_next_points_another(marked):
    before = marked.session.annotation
    marked.next_point()
    for _ in range(12):
        marked.nudge_down()
    moved = marked.session.annotation
    marked.next_point()
    marked.push_left()
    marked.undo()
    assert marked.session.annotation == moved
    marked.undo()
    assert marked.session.annotation == before
    marked.redo()
    assert marked.session.annotation == moved
