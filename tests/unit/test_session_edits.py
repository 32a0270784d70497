"""Canals and references added, renamed, carried over to another image."""

import pytest
from helpers.drawn_canal import CLICKS, canal_pixels

from radlength.errors import MarkError
from radlength.imaging import Radiograph
from radlength.session import Session


@pytest.fixture
def session():
    session = Session(Radiograph.from_array(canal_pixels(), name="first.png"))
    session.apply(
        session.with_reference(path_px=((20.0, 30.0), (330.0, 30.0)), length_mm=12.0, canal="single")
    )
    session.apply(session.with_canal_path(CLICKS))
    return session


def test_an_instrument_goes_with_the_canal_it_lies_in(session):
    session.rename_canal("46", "MB")
    assert session.annotation.canal.label == "46 MB"
    assert session.annotation.reference.canal == "MB"
    session.undo()
    assert session.annotation.reference.canal == "single"


def test_another_canals_instrument_keeps_its_canal(session):
    session.add_canal("11", "second")
    session.rename_canal("11", "third")
    assert session.annotation.reference.canal == "single"


def test_a_name_is_needed_and_only_once(session):
    session.add_canal("11", "second")
    with pytest.raises(MarkError, match="11 single is there already"):
        session.rename_canal("11", "single")
    with pytest.raises(MarkError, match="a canal without a name"):
        session.rename_canal("11", " ")


def test_a_canal_gets_a_reference_of_its_own(session):
    session.add_canal("11", "second")
    session.add_reference()
    assert session.annotation.canal.reference == "reference 2"
    assert session.annotation.reference.path_px == ()
    session.select(0)
    assert session.annotation.reference.length_mm == 12.0


def test_marks_of_another_image_are_a_proposal_that_is_never_trusted(session):
    session.propose()
    session.accept()
    other = Session(Radiograph.from_array(canal_pixels(seed=8)[:300], name="second.png"))
    found = other.propose_marks(session.annotation, "first.png")
    assert not found.trusted
    assert [finding.code for finding in found.findings] == ["carried-over"]
    assert "first.png" in found.findings[0].sentence
    assert found.clicks_px == tuple(CLICKS[:2])
    other.accept()
    canal, reference = other.annotation.canal, other.annotation.reference
    assert {(one.method, one.confidence) for one in (*canal.assists, *reference.assists)} == {
        ("carried over", 0.0)
    }
    assert canal.handles_px == tuple(CLICKS[:2])
    other.apply(other.with_canal_path([CLICKS[0], (200.0, 76.0)]))
    assert [(one.first, one.last) for one in other.annotation.canal.assists] == [(0, 0)]


def test_a_change_of_how_well_marks_are_placed_is_in_the_record(session):
    from dataclasses import replace

    from radlength.uncertainty import Marking

    session.apply(replace(session.annotation, marking=Marking(apex_mm=0.5)))
    record = session.to_record()
    assert record.marking.apex_mm == 0.5


def test_a_canal_that_is_gone_leaves_the_record(tmp_path):
    from helpers.drawn_canal import write_pixels

    from radlength.record import load_record

    path = write_pixels(tmp_path / "tooth.png", canal_pixels())
    session = Session.open(path)
    session.apply(session.with_canal_path(CLICKS))
    session.add_canal("11", "second")
    session.apply(session.with_canal_path([(row, column + 8) for row, column in CLICKS]))
    session.save()
    session.remove_canal()
    session.save()
    assert [entry.canal.name for entry in load_record(path).canals] == ["single"]


def test_an_estimate_is_made_once_for_the_same_marks(session):
    first, _ = session.estimate()
    assert session.estimate()[0] is first
    for row in range(60):
        session.apply(session.with_canal_path([CLICKS[0], (150.0 + row, 70.0), CLICKS[2]]))
        session.estimate()
    assert len(session._estimates) <= 52
