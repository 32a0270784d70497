"""What the dock shows, on a viewer model: no window of napari, real widgets."""

import numpy as np
import pytest
from helpers.marked_dock import CANAL, layer
from napari.components import ViewerModel
from qtpy.QtWidgets import QAbstractButton, QAbstractSpinBox, QComboBox, QLineEdit

from napari_radlength._viewer import words_overlay
from radlength.length import Terminus
from radlength.record import dump_record
from radlength.session import Session
from radlength.trade import CAUTION


def test_an_empty_dock_says_what_to_do_first(dock, viewer):
    assert dock.headline.length.text() == "no length yet"
    assert dock.headline.terms.text() == "Open a radiograph: drop a file on the window."
    assert words_overlay(viewer).text.rstrip() == "Drop a radiograph on the window"
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
    words = list(dict.fromkeys(layer(viewer, "lengths").features["words"]))
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


def test_the_quality_of_the_image_is_told(marked, qtbot):
    qtbot.waitUntil(lambda: not marked.image.quality.text().startswith("looking"), timeout=20000)
    assert marked.image.quality.text()


def test_the_caution_is_readable_on_a_light_theme(marked, viewer):
    dark = marked.caution.words.styleSheet()
    viewer.theme = "light"
    assert marked.caution.words.styleSheet() != dark
