"""Two teeth whose canals share a name: which of them an instrument lies in."""

import numpy as np
import pytest

from radlength.imaging import Radiograph, read_radiograph
from radlength.length import estimate_length
from radlength.record import Record, load_record
from radlength.record.measure import measure_record
from radlength.scale import Reference
from radlength.session import Session
from radlength.session.confirming import NO_INSTRUMENT, gap_marked

FIRST = [(20.0, 30.0), (80.0, 30.0), (140.0, 31.0), (190.0, 32.0), (215.0, 33.0)]
SECOND = [(row, column + 60) for row, column in FIRST]
STOP_TO_TIP = ((20.0, 30.0), (140.0, 31.0), (190.0, 32.0))


def radiograph():
    values = np.random.default_rng(1).integers(0, 200, (240, 120)).astype(np.uint8)
    return Radiograph.from_array(values, name="teeth.png")


@pytest.fixture
def lent():
    """Tooth 11 with an instrument, tooth 21 measured by it; each has one canal of the same name."""
    session = Session(radiograph())
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_reference(path_px=STOP_TO_TIP, length_mm=17.0, limit_mm=0.25, canal="single"))
    session.apply(session.with_canal_path(FIRST))
    session.add_canal("21", "single")
    session.apply(session.with_canal_path(SECOND))
    return session


def codes(session, index):
    return [finding.code for finding in session.estimate(index)[0].findings]


def test_the_tooth_that_lends_its_instrument_has_it_and_the_other_borrows_it(lent):
    assert "reference-borrowed" not in codes(lent, 0)
    assert "reference-borrowed" in codes(lent, 1)
    canal = lent.annotation.canal.finished()
    instrument = Reference(STOP_TO_TIP, 17.0, 0.25, "in_canal", "reference 1", "another")
    known = estimate_length(canal, instrument, radiograph=radiograph())
    found = lent.estimate(1)[0]
    assert (found.canal_length.low_mm, found.canal_length.high_mm) == pytest.approx(
        (known.canal_length.low_mm, known.canal_length.high_mm)
    )


def test_the_record_says_in_which_tooth_it_lies(lent):
    assert [one.canal for one in lent.to_record().references] == ["11 single"]
    again = Session(radiograph(), record=lent.to_record())
    assert "reference-borrowed" not in codes(again, 0)
    assert "reference-borrowed" in codes(again, 1)


def test_the_tooth_is_written_where_each_has_an_instrument_of_its_own_and_commands_read_it_alike(lent):
    lent.add_reference()
    own = [(row, column + 60) for row, column in STOP_TO_TIP]
    lent.apply(lent.with_reference(path_px=tuple(own), length_mm=17.0, canal="21 single"))
    assert [one.canal for one in lent.annotation.references] == ["11 single", "21 single"]
    assert "reference-borrowed" not in codes(lent, 0) + codes(lent, 1)
    known = [found for _, found in measure_record(lent.to_record(), radiograph())]
    assert [one.canal_length for one in known] == [lent.estimate(n)[0].canal_length for n in (0, 1)]
    assert [one.findings for one in known] == [lent.estimate(n)[0].findings for n in (0, 1)]


def test_a_name_alone_is_written_where_one_canal_has_it(lent):
    lent.remove_canal()
    assert [one.canal for one in lent.annotation.references] == ["single"]


def test_it_stays_where_it_lies_through_names_undo_and_redo(lent):
    lent.rename_canal("21", "second")
    assert lent.annotation.reference.canal == "single"
    assert "reference-borrowed" in codes(lent, 1)
    lent.select(0)
    lent.rename_canal("11", "second")
    assert lent.annotation.reference.canal == "11 second"
    assert ("reference-borrowed" in codes(lent, 0), "reference-borrowed" in codes(lent, 1)) == (False, True)
    lent.undo()
    lent.undo()
    assert ("reference-borrowed" in codes(lent, 0), "reference-borrowed" in codes(lent, 1)) == (False, True)
    lent.redo()
    lent.redo()
    assert ("reference-borrowed" in codes(lent, 0), "reference-borrowed" in codes(lent, 1)) == (False, True)


def test_an_instrument_whose_canal_is_deleted_is_not_that_of_a_namesake(lent):
    lent.select(0)
    lent.remove_canal()
    assert lent.annotation.canal.label == "21 single"
    assert "reference-borrowed" in codes(lent, 0)


def test_a_record_that_tells_no_tooth_is_read_by_where_the_instrument_lies(lent):
    record = lent.to_record()
    plain = [Reference(STOP_TO_TIP, 17.0, 0.25, "in_canal", "reference 1", "single")]
    canals = [entry.canal for entry in record.canals]
    for order in (canals, canals[::-1]):
        older = Record.new(radiograph(), canals=order, references=plain)
        session = Session(radiograph(), record=older)
        borrowed = {
            canal.tooth: "reference-borrowed" in codes(session, n)
            for n, canal in enumerate(session.annotation.canals)
        }
        assert borrowed == {"11": False, "21": True}


def test_no_gap_starts_at_the_instrument_of_another_tooth(lent):
    assert gap_marked(lent.annotation) == (None, NO_INSTRUMENT)
    lent.select(0)
    assert gap_marked(lent.annotation)[0] == (STOP_TO_TIP[-1], FIRST[-1])


def test_a_saved_record_opens_with_the_same_lengths(lent, tmp_path):
    import cv2

    path = tmp_path / "teeth.png"
    cv2.imwrite(str(path), np.random.default_rng(1).integers(0, 200, (240, 120)).astype(np.uint8))
    session = Session(read_radiograph(path))
    session.apply(lent.annotation)
    session.save()
    again = Session.open(path)
    assert load_record(path).references[0].canal == "11 single"
    for index in (0, 1):
        assert again.estimate(index)[0].canal_length == session.estimate(index)[0].canal_length


def test_saying_again_where_it_lies_is_no_step(lent):
    before = lent.annotation
    lent.select(0)
    lent.apply(lent.with_reference(canal="single"))
    lent.select(1)
    assert lent.annotation == before
    lent.undo()
    assert lent.annotation.canals[1].path_px == ()
