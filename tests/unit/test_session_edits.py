"""Canals and references added, renamed, carried over to another image."""

import pytest
from helpers.drawn_canal import CLICKS, canal_pixels

from radlength.errors import MarkError
from radlength.imaging import Radiograph
from radlength.record import load_record
from radlength.session import Session


@pytest.fixture
def session():
    session = Session(Radiograph.from_array(canal_pixels(), name="first.png"))
    session.apply(session.with_canal(tooth="11"))
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

    path = write_pixels(tmp_path / "tooth.png", canal_pixels())
    session = Session.open(path)
    session.apply(session.with_canal(tooth="11"))
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


@pytest.fixture
def filed(tmp_path):
    """A session on a file with two canals in its record, and the file."""
    from helpers.drawn_canal import write_pixels

    path = write_pixels(tmp_path / "tooth.png", canal_pixels())
    session = Session.open(path)
    session.apply(session.with_reference(path_px=((20.0, 30.0), (330.0, 30.0)), length_mm=12.0))
    session.apply(session.with_canal(tooth="46", name="MB"))
    session.apply(session.with_canal_path(CLICKS))
    session.add_canal("46", "ML")
    session.apply(session.with_canal_path([(row, column + 8) for row, column in CLICKS]))
    session.save()
    return session, path


def test_a_canal_that_is_renamed_keeps_its_id_and_what_was_measured_on_it(filed):
    session, path = filed
    before = load_record(path)
    session.rename_canal("47", "L")
    session.save()
    after = load_record(path)
    assert [(one.id, one.canal.label) for one in after.canals] == [
        (before.canals[0].id, "46 MB"),
        (before.canals[1].id, "47 L"),
    ]
    assert after.estimates == before.estimates
    assert after.history[len(before.history) :][0].what == "canals renamed: 46 ML is 47 L"
    assert len(after.history) == len(before.history) + 1


@pytest.mark.parametrize("reopened", [False, True])
def test_two_canals_may_change_their_names(filed, reopened):
    session, path = filed
    before = load_record(path)
    session = Session.open(path) if reopened else session
    for index, name in ((0, "x"), (1, "MB"), (0, "ML")):
        session.select(index)
        session.rename_canal("46", name)
    session.save()
    after = load_record(path)
    assert {one.id: one.canal.name for one in after.canals} == {
        before.canals[0].id: "ML",
        before.canals[1].id: "MB",
    }
    assert after.estimates == before.estimates


def test_a_canal_that_takes_the_name_of_a_deleted_one_stays_itself(filed):
    session, path = filed
    before = load_record(path)
    session.select(0)
    session.remove_canal()
    session.rename_canal("46", "MB")
    session.save()
    assert [(one.id, one.canal.label) for one in load_record(path).canals] == [(before.canals[1].id, "46 MB")]
    session.undo()
    session.undo()
    session.save()
    assert [(one.id, one.canal.label) for one in load_record(path).canals] == [
        (before.canals[1].id, "46 ML"),
        (before.canals[0].id, "46 MB"),
    ]


def test_a_canal_marked_again_under_its_name_takes_the_old_id(filed):
    session, path = filed
    before = load_record(path)
    session.remove_canal()
    session.add_canal("46", "ML")
    session.apply(session.with_canal_path(CLICKS[:2]))
    session.save()
    assert [one.id for one in load_record(path).canals] == [one.id for one in before.canals]


def test_without_a_tooth_no_length_is_told_and_nothing_is_saved(tmp_path):
    from helpers.drawn_canal import write_pixels

    session = Session.open(write_pixels(tmp_path / "tooth.png", canal_pixels()))
    session.apply(session.with_reference(path_px=((20.0, 30.0), (330.0, 30.0)), length_mm=12.0))
    session.apply(session.with_canal_path(CLICKS))
    assert session.annotation.canal.label == "tooth not chosen, single"
    found, words = session.estimate()
    assert found is None
    assert words.startswith("Choose the tooth of this canal")
    with pytest.raises(MarkError, match="its tooth is not chosen; its ISO 3950 number"):
        session.save()
    session.rename_canal("46", "MB")
    assert session.estimate()[0].canal.label == "46 MB"
    session.save()
    assert session.annotation.canal.label == "46 MB"
