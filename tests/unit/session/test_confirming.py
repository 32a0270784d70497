"""What a length-confirmation image said, beside the marks that are shown."""

import cv2
import numpy as np
import pytest

from radlength.errors import MarkError, RecordError
from radlength.imaging import Radiograph
from radlength.length import Terminus, confirm_length
from radlength.record import load_record, save_record
from radlength.session import Session
from radlength.session.confirming import NO_APEX, NO_INSTRUMENT, gap_marked

CANAL = [(20.0, 30.0), (80.0, 30.0), (140.0, 30.0), (215.0, 30.0)]
REFERENCE = ((20.0, 30.0), (190.0, 30.0))


def radiograph():
    values = np.random.default_rng(1).integers(0, 200, (240, 120)).astype(np.uint8)
    return Radiograph.from_array(values, name="tooth.png")


def marked():
    session = Session(radiograph())
    session.apply(session.with_canal(tooth="11", terminus=Terminus(offset_mm=1.0)))
    session.apply(session.with_reference(path_px=REFERENCE, length_mm=17.0, limit_mm=0.25))
    session.apply(session.with_canal_path(CANAL))
    return session


def confirmed(beyond=False):
    """A session whose record keeps a gap of 25 pixels at 0.1 mm a pixel: 2.5 mm."""
    record = marked().to_record()
    gap = [(190.0, 30.0), (215.0, 30.0)]
    done = confirm_length(
        17.0, gap, mm_per_px=0.1, rule="tip within 1 mm", beyond=beyond, terminus=Terminus(offset_mm=1.0)
    )
    return Session(radiograph(), record=record.with_confirmation(record.canals[0].id, done, gap))


def test_without_a_confirmation_there_is_nothing_to_show():
    assert marked().confirmation() is None
    assert Session(radiograph()).confirmation() is None


@pytest.mark.parametrize(("beyond", "gap", "length"), [(False, 2.5, 19.5), (True, -2.5, 14.5)])
def test_gap_and_length_are_those_that_were_kept(beyond, gap, length):
    shown = confirmed(beyond).confirmation()
    assert shown.holds
    assert shown.stored.gap.value_mm == pytest.approx(gap)
    assert shown.stored.canal_length.value_mm == pytest.approx(length)
    assert shown.stored.working_length.value_mm == pytest.approx(length - 1.0)


def test_a_name_or_a_tooth_moves_no_length():
    session = confirmed()
    session.rename_canal("12", "other")
    assert session.confirmation().holds


@pytest.mark.parametrize(
    "edit",
    [
        lambda s: s.with_canal_path([*CANAL[:-1], (216.0, 30.0)]),
        lambda s: s.with_canal_path(CANAL[:1]),
        lambda s: s.with_reference(length_mm=17.5),
        lambda s: s.with_reference(length_mm=None),
        lambda s: s.with_reference(path_px=((21.0, 30.0), REFERENCE[1])),
        lambda s: s.with_canal(terminus=Terminus(offset_mm=0.5)),
        lambda s: s.with_canal(reference=None),
    ],
)
def test_other_marks_than_those_it_was_read_on_are_told_at_once(edit):
    session = confirmed()
    new = edit(session)
    session.preview(new)
    assert not session.confirmation().holds
    session.cancel()
    assert session.confirmation().holds
    session.apply(new)
    assert not session.confirmation().holds
    session.undo()
    assert session.confirmation().holds


def test_one_of_another_canal_is_not_that_of_this_one():
    session = confirmed()
    session.add_canal("11", "second")
    assert session.confirmation() is None
    assert session.confirmation(0).holds


@pytest.mark.parametrize("length_mm", [0.01, 0.5])
def test_a_length_that_no_instrument_has_is_one_of_other_marks(length_mm):
    session = confirmed()
    session.apply(session.with_reference(length_mm=length_mm))
    assert not session.confirmation().holds


RULE = "tip within 1 mm"


@pytest.fixture
def on_disk(tmp_path):
    """A session on a file with the same marks, none of them saved; the instrument is said to lie in the canal."""
    path = tmp_path / "tooth.png"
    path.write_bytes(cv2.imencode(".png", radiograph().stored)[1].tobytes())
    session = Session.open(path)
    session.apply(marked().annotation)
    session.apply(session.with_reference(canal="single"))
    return session


def test_a_gap_is_read_from_tip_to_apex_and_kept_with_its_marks(on_disk):
    """At 0.1 mm a pixel 25 pixels are 2.5 mm: 17 and 2.5 make 19.5, less 1 is 18.5 mm."""
    done = on_disk.confirm_length(17.0, rule=RULE, set_limit_mm=0.5, who="A. Tester")
    assert done.gap.value_mm == pytest.approx(2.5)
    assert done.working_length.value_mm == pytest.approx(18.5)
    assert not on_disk.is_dirty
    (kept,) = load_record(on_disk.radiograph.path).confirmations
    assert (kept.gap_path_px, kept.who) == (((190.0, 30.0), (215.0, 30.0)), "A. Tester")
    shown = on_disk.confirmation()
    assert shown.holds
    assert shown.stored == kept


def test_a_wider_limit_of_the_set_length_widens_the_interval(on_disk):
    near, far = (on_disk.confirm_length(17.0, rule=RULE, set_limit_mm=mm).canal_length for mm in (0.1, 1.0))
    assert far.high_mm - far.low_mm > near.high_mm - near.low_mm + 0.3


def test_a_canal_marked_again_under_its_name_shows_what_is_confirmed_of_it(on_disk):
    on_disk.confirm_length(17.0, rule=RULE)
    canal = on_disk.annotation.canal
    on_disk.remove_canal()
    on_disk.apply(on_disk.with_canal(name="other"))
    assert on_disk.confirmation() is None
    on_disk.apply(on_disk.with_canal(name="single", terminus=canal.terminus))
    on_disk.apply(on_disk.with_canal_path([*CANAL[:-1], (214.0, 30.0)]))
    assert on_disk.annotation.canal.key != canal.key
    assert not on_disk.confirmation().holds
    on_disk.confirm_length(17.0, rule=RULE)
    assert on_disk.confirmation().holds


@pytest.mark.parametrize(
    ("edit", "words"),
    [
        (lambda s: s.with_canal_path(CANAL[:1]), NO_APEX),
        (lambda s: s.with_reference(path_px=REFERENCE[:1]), NO_INSTRUMENT),
        (lambda s: s.with_reference(length_mm=None), NO_INSTRUMENT),
        (lambda s: s.with_reference(placement="beside"), NO_INSTRUMENT),
        (lambda s: s.with_reference(canal="MB"), NO_INSTRUMENT),
        (lambda s: s.with_canal(reference=None), NO_INSTRUMENT),
    ],
)
def test_a_gap_that_is_not_marked_is_refused_and_nothing_is_written(on_disk, edit, words):
    on_disk.apply(edit(on_disk))
    assert gap_marked(on_disk.annotation) == (None, words)
    with pytest.raises(MarkError, match="the gap is not marked"):
        on_disk.confirm_length(17.0, rule=RULE)
    with pytest.raises(RecordError):
        load_record(on_disk.radiograph.path)


def test_an_instrument_of_which_nobody_said_where_it_lies_lies_in_the_only_canal(on_disk):
    on_disk.apply(on_disk.with_reference(canal=None))
    assert gap_marked(on_disk.annotation)[0] == ((190.0, 30.0), (215.0, 30.0))
    on_disk.add_canal("11", "second")
    on_disk.select(0)
    assert gap_marked(on_disk.annotation) == (None, NO_INSTRUMENT)


def test_over_what_another_program_wrote_nothing_is_confirmed(on_disk):
    on_disk.save()
    path = on_disk.radiograph.path
    record = load_record(path)
    save_record(record.with_canal(record.canals[0].canal, who="another"), path)
    with pytest.raises(RecordError):
        on_disk.confirm_length(17.0, rule=RULE)
    assert load_record(path).confirmations == ()
    assert on_disk.confirmation() is None


def test_a_canal_marked_again_under_its_name_keeps_the_doubt_of_its_confirmation(on_disk):
    """The window found a canal by its id here and by its name beside it: the doubt went, the confirmation stayed."""
    on_disk.apply(on_disk.with_reference(path_px=((20.0, 30.0), (206.0, 30.0))))
    assert on_disk.confirm_length(17.0, rule=RULE).verdict == "accept"
    on_disk.apply(on_disk.with_canal_path([*CANAL[:-1], (213.0, 30.0)]))
    on_disk.save()
    assert "confirmation-outdated" in [one.code for one in on_disk.estimate()[0].findings]
    on_disk.remove_canal()
    on_disk.rename_canal("11", "single")
    on_disk.apply(on_disk.with_canal_path([*CANAL[:-1], (214.0, 30.0)]))
    assert on_disk.confirmation() is not None
    assert "confirmation-outdated" in [one.code for one in on_disk.estimate()[0].findings]
