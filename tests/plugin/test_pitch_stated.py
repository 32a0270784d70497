"""The pixel pitch of the detector, stated in the window where the file has none."""

import numpy as np
from qtpy.QtCore import Qt
from qtpy.QtTest import QTest

from napari_radlength._section_image import NO_PITCH
from radlength.record import load_record
from radlength.session import Session


def unmeasured(dock, image_file):
    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    dock.session.apply(dock.session.with_canal(tooth="11"))
    dock.session.apply(dock.session.with_canal_path([(20.0, 150.0), (200.0, 150.0), (380.0, 150.0)]))
    assert dock.headline.length.text() == "no length yet"


def typed(field, text):
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, text)
    QTest.keyClick(field, Qt.Key.Key_Return)


def test_a_typed_pitch_gives_a_length_and_is_undone(dock, image_file):
    unmeasured(dock, image_file)
    field = dock.image.pitch
    assert (field.isHidden(), field.text()) == (False, NO_PITCH)
    typed(field, "0.06")
    known = dock.session.estimate()[0].canal_length
    assert dock.headline.length.text() == str(known)
    assert dock.session.measured_image.scale.row_mm == 0.06
    dock.undo()
    assert (dock.headline.length.text(), field.text()) == ("no length yet", NO_PITCH)
    dock.redo()
    assert (dock.headline.length.text(), field.text()) == (str(known), "pixel pitch 0.0600 mm")
    dock.save()
    assert load_record(image_file).stated_pitch_mm == (0.06, 0.06)


def test_what_no_detector_has_is_said_and_not_shown_as_stated(dock, image_file, said):
    unmeasured(dock, image_file)
    typed(dock.image.pitch, "0.001")
    assert "0.005 to 0.2 mm for an intra-oral detector" in said[0]
    assert (dock.headline.length.text(), dock.image.pitch.text()) == ("no length yet", NO_PITCH)


def test_a_file_that_states_its_scale_is_not_asked(dock, tmp_path):
    from radlength.imaging import Radiograph

    image = Radiograph.from_array(np.zeros((400, 300), np.uint8), name="tooth.png").with_stated_pitch(
        0.03, 0.03
    )
    dock.show_session(Session(image))
    assert dock.image.pitch.isHidden()


def test_no_exercise_asks_for_it(dock, tmp_path):
    from helpers.exercise_window import published

    dock.exercise.open_set(published(tmp_path))
    dock.exercise.begin.code.setText("A07")
    dock.exercise.start()
    assert not dock.image.isHidden()
    assert dock.image.pitch.isHidden()
