"""A pixel pitch that somebody states where the file has none."""

import pytest
from helpers.noise_session import CANAL, session_on, write_noise

from radlength.errors import ImageError
from radlength.length import estimate_length
from radlength.record import load_record
from radlength.session import Session


@pytest.fixture
def image(tmp_path):
    return write_noise(tmp_path / "tooth.png")


@pytest.fixture
def session(image):
    return session_on(image)


def test_without_one_there_is_no_length_and_with_one_that_of_the_core(session):
    assert session.estimate()[0] is None
    session.state_pitch(0.03)
    found = session.estimate()[0]
    image = session.radiograph.with_stated_pitch(0.03, 0.03)
    known = estimate_length(session.annotation.canal.finished(), None, radiograph=image)
    assert found.canal_length == known.canal_length
    assert any("stated pixel spacing" in finding.sentence for finding in found.findings)


def test_it_is_undone_and_done_again(session):
    session.state_pitch(0.03)
    session.state_pitch(0.02)
    short = session.estimate()[0].canal_length.value_mm
    session.undo()
    assert session.estimate()[0].canal_length.value_mm == pytest.approx(short * 1.5)
    session.undo()
    assert session.estimate()[0] is None
    session.redo()
    session.redo()
    assert session.estimate()[0].canal_length.value_mm == pytest.approx(short)


def test_the_record_keeps_it_and_the_next_session_uses_it(session, image):
    session.state_pitch(0.03)
    assert session.is_dirty
    session.save(who="anna")
    assert not session.is_dirty
    record = load_record(image)
    assert record.stated_pitch_mm == (0.03, 0.03)
    assert "detector pitch stated: 0.03 x 0.03 mm" in [entry.what for entry in record.history]
    again = Session.open(image)
    assert again.estimate()[0].canal_length == session.estimate()[0].canal_length
    again.state_pitch(0.02)
    again.save()
    assert load_record(image).stated_pitch_mm == (0.02, 0.02)


def test_what_is_in_the_record_stays_when_its_statement_is_undone(session):
    session.state_pitch(0.03)
    known = session.estimate()[0].canal_length
    session.save()
    session.undo()
    assert session.estimate()[0].canal_length == known


def test_unsaved_it_comes_back(session, image):
    session.state_pitch(0.03)
    session.keep_unsaved()
    again = Session.open(image)
    again.apply(again.unsaved())
    assert again.estimate()[0].canal_length == session.estimate()[0].canal_length


@pytest.mark.parametrize("pitch", [0.0, 0.3, -0.03, float("nan")])
def test_what_no_detector_has_is_refused(session, pitch):
    with pytest.raises(ImageError, match="pixel pitch"):
        session.state_pitch(pitch)
    assert session.annotation.pitch_mm is None


def test_a_confirmation_on_another_pitch_does_not_hold(session):
    session.apply(session.with_reference(path_px=tuple(CANAL[:-1]), length_mm=21.0, canal="single"))
    session.state_pitch(0.03)
    session.save()
    session.confirm_length(21.0, rule="tip within 1 mm")
    assert session.confirmation().holds
    session.state_pitch(0.02)
    assert not session.confirmation().holds
    session.undo()
    assert session.confirmation().holds
