"""The dock on a viewer model: no window of napari, real widgets."""

import numpy as np
import pytest
from napari.components import ViewerModel
from napari.layers import Image
from napari.layers._source import layer_source
from qtpy.QtWidgets import QAbstractButton, QAbstractSpinBox, QComboBox, QLineEdit

from napari_radlength._convert import IMAGE_KEY, ROLE_KEY, image_layer
from napari_radlength._keys import KEYS
from napari_radlength._viewer import words_overlay
from radlength.imaging import Radiograph
from radlength.length import Terminus
from radlength.record import dump_record, load_record, record_path
from radlength.session import Session, unsaved_path
from radlength.trade import CAUTION

CANAL = [(50.0, 150.0), (120.0, 152.0), (190.0, 156.0), (260.0, 164.0), (320.0, 178.0), (360.0, 192.0)]
REFERENCE = [*CANAL[:-1], (345.0, 187.0)]


@pytest.fixture
def viewer():
    return ViewerModel()


@pytest.fixture
def dock(viewer, make_dock):
    return make_dock(viewer)


@pytest.fixture
def marked(dock, image_file):
    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    session = dock.session
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_reference(path_px=tuple(REFERENCE), length_mm=21.0, limit_mm=0.25))
    session.apply(session.with_canal_path(CANAL))
    return dock


def layer(viewer, role):
    return next(one for one in viewer.layers if one.metadata.get(ROLE_KEY) == role)


def test_an_empty_dock_says_what_to_do_first(dock, viewer):
    assert dock.headline.length.text() == "no length yet"
    assert dock.headline.terms.text() == "Open a radiograph: drop a file on the window."
    assert words_overlay(viewer).text == "Drop a radiograph on the window"
    assert CAUTION in dock.caution.words.text().replace("&#x27;", "'")


def test_every_disabled_control_says_why(dock, marked):
    kinds = (QAbstractButton, QComboBox, QAbstractSpinBox, QLineEdit)
    for widget in (dock, marked):
        for kind in kinds:
            for control in widget.findChildren(kind):
                if control.objectName().startswith("radlength"):
                    assert control.isEnabled() or control.toolTip(), control.objectName()


def test_every_control_has_a_name_for_screen_readers(marked):
    for kind in (QAbstractButton, QComboBox, QAbstractSpinBox, QLineEdit):
        for control in marked.findChildren(kind):
            if control.objectName().startswith("radlength"):
                named = control.accessibleName() or (isinstance(control, QAbstractButton) and control.text())
                assert named, control.objectName()


def test_a_length_is_always_labelled(marked):
    assert marked.headline.what.text() == "canal length, 11 single"
    assert "No working length" in marked.headline.terms.text()
    marked.canal.rule.setCurrentText("own offset")
    marked.canal.rule.activated.emit(marked.canal.rule.currentIndex())
    assert marked.headline.what.text() == "working length, 11 single"
    assert "short of the radiographic apex" in marked.headline.terms.text()
    assert "canal length" in marked.result.other.text()


def test_the_length_on_the_image_is_labelled_too(marked, viewer):
    words = list(layer(viewer, "lengths").features["words"])
    assert words[0].startswith("11 single\ncanal length ")
    assert words[-1] == "10 mm by reference 1"
    marked.edit_canal(terminus=Terminus(offset_mm=1.0))
    assert layer(viewer, "lengths").features["words"].iloc[0].startswith("11 single\nworking length ")


def test_findings_status_and_caution_are_visible(marked):
    assert marked.headline.status.text() == "estimate, not confirmed"
    assert marked.caution.words.isVisible()
    marked.session.apply(marked.session.with_canal_path([CANAL[0], CANAL[-1]]))
    assert "The canal has 2 clicks" in marked.result.findings.text()
    assert "Mark at least 7 points" in marked.result.findings.text()


def test_a_serious_finding_is_seen_without_scrolling(marked):
    assert "Serious" not in marked.headline.doubts.text()
    marked.session.apply(marked.session.with_reference_path([*CANAL[:-1], (385.0, 200.0)]))
    assert "Serious:" in marked.headline.doubts.text()
    assert "beyond the marked apex" in marked.headline.doubts.text()
    assert marked.headline.doubts.isVisible()


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


def test_turning_flipping_and_scaling_changes_no_byte_of_the_record(marked, viewer, image_file):
    def edited():
        marked.marker.use("canal")
        marked.marker.chosen = 2
        marked.marker.nudge(0.5, -0.25)
        marked.session.undo()
        return dump_record(marked.session.to_record()).split(b'"estimates"')[0]

    marked.save()
    plain = edited()
    for change in (lambda: marked.turn(1), marked.flip, lambda: marked.turn(3), lambda: scale(viewer)):
        change()
        assert edited() == plain


def scale(viewer):
    for one in list(viewer.layers):
        one.rotate = 30
        one.scale = (-2, 3)
        one.translate = (5, 7)
    viewer.dims.order = (1, 0)


def test_marks_stay_on_the_image_whoever_moves_either(marked, viewer, image_file):
    image, points = viewer.layers[image_file.name], layer(viewer, "canal")
    marked.turn(1)
    assert image.data_to_world((0, 0)) != (0, 0)
    for one in (points, layer(viewer, "curves"), layer(viewer, "lengths")):
        assert one.data_to_world((50, 150)) == pytest.approx(image.data_to_world((50, 150)))
    points.scale = (4, 4)
    points.translate = (9, 9)
    assert points.data_to_world((50, 150)) == pytest.approx(image.data_to_world((50, 150)))


def test_four_quarters_and_two_flips_are_none(marked, viewer, image_file):
    image = viewer.layers[image_file.name]
    before = image.data_to_world((12, 34))
    for _ in range(4):
        marked.turn(1)
    marked.flip()
    marked.flip()
    assert image.data_to_world((12, 34)) == pytest.approx(before)
    assert image.data_to_world((199.5, 149.5)) == pytest.approx((199.5, 149.5))


def test_an_arrow_moves_up_on_the_screen_however_the_view_is_turned(marked):
    marked.mark_canal()
    marked.turn(1)
    image = marked.layers.image
    before = image.data_to_world(marked.session.annotation.canal.path_px[-1])
    marked.push_up()
    after = image.data_to_world(marked.session.annotation.canal.path_px[-1])
    assert np.subtract(after, before) == pytest.approx((-1, 0), abs=1e-6)


def test_saving_and_reopening_restores_marks(marked, image_file, make_dock):
    marked.save()
    assert record_path(image_file).exists()
    assert marked.record.words.text() == "all marks are in the record"
    shown = marked.headline.length.text()
    other = make_dock(ViewerModel())
    other.show_session(Session.open(image_file))
    assert other.headline.length.text() == shown
    assert load_record(image_file).canals[0].canal.path_px == tuple(CANAL)


def test_a_refusal_is_a_sentence_and_not_a_crash(marked, image_file, monkeypatch):
    said = []
    monkeypatch.setattr("napari.utils.notifications.show_error", said.append)
    marked.save()
    path = record_path(image_file)
    path.write_bytes(path.read_bytes() + b" ")
    marked.take_back_canal()
    marked.save()
    assert len(said) == 1
    assert "changed" in said[0]


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
    assert list(layer(viewer, "lengths").features["words"]) == ["10 mm by reference 1"]
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


def test_closing_and_opening_leaves_no_callbacks(marked, viewer):
    def callbacks():
        points = layer(viewer, "canal")
        image = marked.layers.image
        return (
            len(marked.session.changed),
            len(viewer.layers.events.removed.callbacks),
            len(viewer.layers.events.inserted.callbacks),
            len(points.events.data.callbacks),
            len(points.events.scale.callbacks),
            len(image.events.affine.callbacks),
            len(points.mouse_drag_callbacks),
            len(viewer.mouse_move_callbacks),
            len(points.keymap),
            len(viewer.keymap),
        )

    start = callbacks()
    for _ in range(3):
        marked.hide()
        marked.show()
    assert callbacks() == start
    points = layer(viewer, "canal")
    marked.hide()
    assert len(marked.session.changed) == 0
    assert points.mouse_drag_callbacks == []
    assert viewer.mouse_move_callbacks == []
    assert len(points.keymap) == len(viewer.keymap) == 0


def test_two_viewers_do_not_meet(make_dock, image_file, tmp_path):
    other_file = tmp_path / "other.png"
    other_file.write_bytes(image_file.read_bytes())
    docks = [make_dock(ViewerModel()) for _ in range(2)]
    for widget, path in zip(docks, (image_file, other_file), strict=True):
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


def test_an_image_that_another_reader_brought_in_is_read_again_from_its_file(dock, viewer, image_file, qtbot):
    with layer_source(path=str(image_file)):
        plain = Image(np.zeros((400, 300)))
    viewer.add_layer(plain)
    qtbot.waitUntil(lambda: dock.session is not None)
    assert dock.session.radiograph.path == image_file
    assert plain not in viewer.layers
    assert viewer.layers[0].metadata.get(IMAGE_KEY) is dock.session.radiograph


def test_pixels_that_are_not_square_are_shown_in_their_true_shape():
    radiograph = Radiograph.from_array(np.zeros((40, 30), np.uint8), row_mm=0.06, column_mm=0.03)
    assert image_layer(radiograph)[1]["scale"] == (2.0, 1.0)


def test_every_key_is_an_action_of_the_dock(dock):
    assert all(callable(getattr(dock, entry.action)) for entry in KEYS)
    assert len({entry.key for entry in KEYS}) == len(KEYS)


def test_display_settings_change_no_stored_value_and_no_length(marked, viewer, image_file):
    image = viewer.layers[image_file.name]
    stored = marked.session.radiograph.stored.copy()
    shown, length = image.data.copy(), marked.headline.length.text()
    seen = []
    for _ in range(marked.image.preset.count()):
        marked.next_preset()
        seen.append((image.contrast_limits, image.data.sum()))
    assert len(set(map(str, seen))) == marked.image.preset.count()
    marked.toggle_invert()
    assert image.colormap.name == "gray_r"
    marked.image.gamma.setValue(5)
    assert image.gamma == pytest.approx(2.5**0.5, abs=1e-3)
    assert marked.image.preset.currentText() == "as stored"
    assert np.array_equal(image.data, shown)
    assert np.array_equal(marked.session.radiograph.stored, stored)
    assert marked.headline.length.text() == length


def test_marks_are_hidden_and_shown(marked, viewer):
    marked.toggle_marks()
    assert not any(
        layer(viewer, role).visible for role in ("canal", "reference", "curves", "current", "lengths")
    )
    marked.toggle_marks()
    assert all(layer(viewer, role).visible for role in ("canal", "reference", "curves", "current", "lengths"))


def test_unsaved_marks_come_back_after_a_crash(marked, image_file, make_dock):
    marked.keep_unsaved()
    assert unsaved_path(image_file).exists()
    other = make_dock(ViewerModel())
    other.show_session(Session.open(image_file))
    assert other.recovery.isVisible()
    other.keep_unsaved()
    other.recovery.bring.click()
    assert not other.recovery.isVisible()
    assert other.session.annotation.canal.path_px == tuple(CANAL)
    other.undo()
    assert other.session.annotation.canal.path_px == ()


def test_unsaved_marks_that_wait_for_a_choice_are_not_written_over(marked, image_file, make_dock):
    marked.keep_unsaved()
    kept = unsaved_path(image_file).read_bytes()
    other = make_dock(ViewerModel())
    other.show_session(Session.open(image_file))
    other.session.apply(other.session.with_canal_path(CANAL[:2]))
    other.keep_unsaved()
    assert unsaved_path(image_file).read_bytes() == kept
    other.recovery.leave.click()
    other.keep_unsaved()
    assert unsaved_path(image_file).read_bytes() != kept


def test_the_quality_of_the_image_is_told(marked, qtbot):
    qtbot.waitUntil(lambda: not marked.image.quality.text().startswith("looking"), timeout=20000)
    assert marked.image.quality.text()


def test_the_caution_is_readable_on_a_light_theme(marked, viewer):
    dark = marked.caution.words.styleSheet()
    viewer.theme = "light"
    assert marked.caution.words.styleSheet() != dark


def test_an_image_with_unsaved_marks_closes_after_one_question(marked, monkeypatch, image_file):
    from qtpy.QtWidgets import QMessageBox

    buttons = QMessageBox.StandardButton
    asked = []

    def answer(with_):
        monkeypatch.setattr(QMessageBox, "question", lambda *words: asked.append(words[2]) or with_)

    assert marked.may_close()
    marked.ask_on_close = True
    answer(buttons.Cancel)
    assert not marked.may_close()
    answer(buttons.Discard)
    assert marked.may_close()
    answer(buttons.Save)
    assert marked.may_close()
    assert record_path(image_file).exists()
    assert marked.may_close()
    assert asked == ["Marks on tooth.png are not in the record."] * 3


def test_images_are_asked_for_and_opened(dock, image_file, monkeypatch):
    from qtpy.QtWidgets import QFileDialog

    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *_words: ([], ""))
    dock.image.open.click()
    assert dock.session is None
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *_words: ([str(image_file)], ""))
    dock.image.open.click()
    assert dock.session.radiograph.path == image_file
    dock.next_image()
    dock.toggle_beside()
    dock.carry_marks()
    assert dock.session.proposal is None


def test_an_image_that_cannot_be_read_is_said(dock, tmp_path, monkeypatch):
    said = []
    monkeypatch.setattr("napari.utils.notifications.show_error", said.append)
    broken = tmp_path / "broken.png"
    broken.write_text("no image")
    dock.open_images([broken])
    assert len(said) == 1
    assert dock.session is None


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
