"""What a length-confirmation image said is seen in the window, and never as the words of other marks."""

from dataclasses import replace

import numpy as np
import pytest
from helpers.drawn_canal import canal_pixels, write_pixels

from napari_radlength._confirmation_words import long_words, short_words
from napari_radlength._drawing import drawn
from napari_radlength._palette import OTHER
from radlength.length import Terminus, confirm_length
from radlength.session import Session

GAP = [(190.0, 30.0), (215.0, 30.0)]
"""25 pixels at 0.1 mm: 2.5 mm."""


def confirmed(path, *, beyond=False, set_mm=17.0):
    session = Session.open(path)
    session.apply(session.with_canal(tooth="11", terminus=Terminus(offset_mm=1.0)))
    session.apply(session.with_reference(path_px=((20.0, 30.0), GAP[0]), length_mm=17.0, limit_mm=0.25))
    session.apply(session.with_canal_path([(20.0, 30.0), (120.0, 30.0), GAP[1]]))
    record = session.to_record()
    done = confirm_length(
        set_mm,
        GAP,
        mm_per_px=0.1,
        rule="tip within 1 mm",
        beyond=beyond,
        terminus=Terminus(offset_mm=1.0),
    )
    record = record.with_confirmation(record.canals[0].id, done, GAP)
    return Session(session.radiograph, record=record)


@pytest.fixture
def image(tmp_path):
    return write_pixels(tmp_path / "drawn.png", canal_pixels())


def lines_in(session, colour):
    found = drawn(session, 4.0)
    rgb = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
    return found.steps[(np.abs(found.colours[:, :3] - rgb) < 1e-6).all(1)]


def test_set_length_gap_direction_and_both_lengths_are_told(dock, image):
    dock.show_session(confirmed(image))
    told = dock.result.confirmed.text()
    assert "set length 17.00 mm" in told
    assert "gap 2.50 mm" in told
    assert "the tip lies short of the apex" in told
    assert "canal length 19.5 mm" in told
    assert "working length 18.5 mm" in told
    assert (
        "rule 'tip within 1 mm': repeat, move the stop, then take the image again".replace("'", "&#x27;")
        in told
    )
    assert "working length 18.5 mm" in dock.headline.confirmed.text()
    assert dock.headline.confirmed.isVisibleTo(dock)


def test_a_tip_beyond_the_apex_is_told_without_a_sign_to_read(dock, image):
    dock.show_session(confirmed(image, beyond=True, set_mm=22.0))
    told = dock.result.confirmed.text()
    assert "gap 2.50 mm (" in told
    assert "the tip lies beyond the apex" in told
    assert "canal length 19.5 mm" in told
    assert "-2.5" not in told


def test_an_interval_on_both_sides_of_the_apex_says_so(image):
    shown = confirmed(image).confirmation()
    for value, low, high, where in ((0.1, -0.2, 0.6, "beyond it"), (-0.1, -0.6, 0.2, "short of it")):
        gap = shown.stored.gap.model_copy(update={"value_mm": value, "low_mm": low, "high_mm": high})
        one = replace(shown, stored=shown.stored.model_copy(update={"gap": gap}))
        assert "gap 0.10 mm (-0.2 to 0.6) along the canal, scale corrected" in long_words(one)
        assert f"within the interval it may lie {where}" in long_words(one)


def test_after_a_mark_is_moved_its_numbers_are_those_of_other_marks(dock, image):
    dock.show_session(confirmed(image))
    assert len(lines_in(dock.session, OTHER[0]))
    dock.session.apply(dock.session.with_canal_path([(20.0, 30.0), (120.0, 30.0), (225.0, 30.0)]))
    assert "read on other marks" in dock.headline.confirmed.text()
    assert "mm" not in dock.headline.confirmed.text()
    assert "Read on other marks than these" in dock.result.confirmed.text()
    assert not len(lines_in(dock.session, OTHER[0]))
    dock.undo()
    assert "18.5 mm" in dock.headline.confirmed.text()
    assert len(lines_in(dock.session, OTHER[0]))


def test_the_gap_is_drawn_from_the_tip_to_the_apex(image):
    steps = lines_in(confirmed(image), OTHER[0])
    assert steps[0, 0] == pytest.approx(GAP[0])
    assert steps[-1].sum(0) == pytest.approx(GAP[1])


def test_a_serious_doubt_confirms_nothing(image):
    shown = confirmed(image).confirmation()
    stored = shown.stored.model_copy(update={"verdict": "accept", "serious": True})
    assert "it confirms nothing" in long_words(replace(shown, stored=stored))


def test_without_a_confirmation_nothing_is_said(dock, marked):
    assert short_words(None) == long_words(None) == ""
    assert not marked.headline.confirmed.isVisibleTo(marked)
    assert not marked.result.confirmed.isVisibleTo(marked)
