"""What a length-confirmation image said, beside the marks that are shown."""

import numpy as np
import pytest

from radlength.imaging import Radiograph
from radlength.length import Terminus, confirm_length
from radlength.session import Session

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
