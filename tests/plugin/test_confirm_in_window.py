"""A length is confirmed in the window by the marks that are there, with the numbers that the command line gives."""

from html import escape

import pytest
from helpers.cases import run
from helpers.drawn_canal import canal_pixels, write_pixels
from helpers.window_play import Hand
from qtpy.QtCore import Qt, QThreadPool
from qtpy.QtWidgets import QApplication

from napari_radlength._dock import open_dock
from napari_radlength._section_confirm import CHOOSE_RULE, FOLLOWED, KEPT, NO_LENGTH, NO_RULE
from radlength.length import Terminus
from radlength.record import load_record, save_record
from radlength.session import Session
from radlength.session.confirming import NO_APEX, NO_INSTRUMENT
from radlength.trade import CAUTION, repeat_rule, repeat_rules

RULE = "tip within 1 mm"
TIP, APEX = (205.0, 31.0), (213.0, 33.0)
CANAL = [(20.0, 30.0), (80.0, 30.5), (140.0, 30.0), TIP, APEX]


def mark(session, *, tip=TIP):
    """Mark a canal, and in it an instrument of 18.5 mm whose tip is 8.2 pixels short of the apex."""
    session.apply(session.with_canal(tooth="46", name="MB", terminus=Terminus(offset_mm=1.0)))
    session.apply(
        session.with_reference(path_px=((20.0, 30.0), tip), length_mm=18.5, limit_mm=0.25, canal="MB")
    )
    session.apply(session.with_canal_path(CANAL))


def choose(section, rule=RULE):
    section.rule.setCurrentText(rule)


@pytest.fixture
def image(tmp_path):
    return write_pixels(tmp_path / "drawn.png", canal_pixels())


@pytest.fixture
def ready(dock, image):
    """A dock on which all but the rule is there."""
    dock.show_session(Session.open(image))
    mark(dock.session)
    return dock


@pytest.fixture
def hand(make_napari_viewer, image):
    viewer = make_napari_viewer(show=True)
    dock = open_dock(viewer)
    dock.give_room()
    viewer.window.resize(1280, 800)
    dock.show_session(Session.open(image))
    dock.set_assist(False)
    mark(dock.session)
    QApplication.processEvents()
    made = Hand(viewer, dock)
    yield made
    dock.hide()
    made.let_go()
    QThreadPool.globalInstance().waitForDone(20000)


def why(dock):
    section = dock.confirm
    assert not section.confirm.isEnabled()
    assert section.words.isVisibleTo(dock)
    assert section.words.text() == escape(section.confirm.toolTip())
    return section.confirm.toolTip()


def cli_confirms(image, *more):
    gap = f"{TIP[0]},{TIP[1]} {APEX[0]},{APEX[1]}"
    done = run("confirm", image, "--canal", "MB", "--gap", gap, "--rule", RULE, *more)
    assert done.code == 0, done.err


@pytest.mark.gui
@pytest.mark.parametrize("beyond", [False, True])
def test_the_window_keeps_what_the_command_line_keeps(hand, image, tmp_path, beyond):
    section = hand.dock.confirm
    assert section.length.text() == "18.50 mm"
    assert section.limit.text() == "0.25 mm"
    choose(section)
    section.beyond.setChecked(beyond)
    section.confirm.setFocus()
    hand.key(Qt.Key.Key_Return, on=section.confirm)
    record = load_record(image)
    (made,) = record.confirmations
    assert record.history[-1].what == f"canal 46 MB confirmed: {made.verdict}"
    assert made.gap_path_px == (TIP, APEX)

    other = tmp_path / "other" / image.name
    other.parent.mkdir()
    other.write_bytes(image.read_bytes())
    session = Session.open(other)
    mark(session)
    session.save()
    cli_confirms(other, "--set-length", "18.5", *(["--beyond"] if beyond else []))
    (same,) = load_record(other).confirmations
    left = {"when", "canal"}
    assert made.model_dump(exclude=left) == same.model_dump(exclude=left)
    assert made.marks_sha256 == same.marks_sha256
    sign = -1 if beyond else 1
    assert made.gap.value_mm * sign == pytest.approx(18.5 / 175 * 68**0.5, abs=0.1)


@pytest.mark.gui
def test_it_is_shown_at_once_and_the_caution_stays(hand):
    dock = hand.dock
    choose(dock.confirm)
    dock.confirm.confirm.click()
    QApplication.processEvents()
    told = dock.result.confirmed.text()
    assert "set length 18.50 mm" in told
    assert "short of the apex" in told
    assert "the gap is drawn on the image" in told
    assert dock.headline.confirmed.isVisible()
    assert dock.caution.words.isVisible()
    assert dock.caution.words.text().replace("&#x27;", "'") == CAUTION
    inside = dock.area.widget()
    assert inside.minimumSizeHint().width() <= dock.area.viewport().width()
    assert hand.window.height() == 800


@pytest.mark.gui
def test_a_mark_moved_afterwards_makes_it_one_of_other_marks(hand):
    dock = hand.dock
    choose(dock.confirm)
    dock.confirm.confirm.click()
    assert dock.session.confirmation().holds
    for edit in (
        lambda s: s.with_canal_path([*CANAL[:-1], (214.0, 33.0)]),
        lambda s: s.with_reference_path([(20.0, 30.0), (204.0, 31.0)]),
    ):
        dock.session.apply(edit(dock.session))
        assert "Read on other marks than these" in dock.result.confirmed.text()
        assert dock.confirm.confirm.isEnabled()
        dock.undo()
        assert dock.session.confirmation().holds
        assert why(dock) == KEPT


def test_undo_takes_marks_back_and_no_confirmation(ready, image):
    choose(ready.confirm)
    ready.confirm.confirm.click()
    assert "undo does not take it back" in ready.confirm.confirm.property("radlength_tip")
    for _ in range(5):
        ready.undo()
    assert ready.session.annotation.canal.path_px == ()
    mark(ready.session)
    ready.save()
    assert len(load_record(image).confirmations) == 1


def test_each_thing_that_is_missing_is_told_and_nothing_is_kept(ready, image):
    section, session = ready.confirm, ready.session
    assert section.rule.currentText() == CHOOSE_RULE
    assert why(ready) == NO_RULE
    section.confirm.click()
    section.make()
    choose(section)
    assert section.confirm.isEnabled()
    section.length.setValue(0.0)
    assert why(ready) == NO_LENGTH
    section.length.setValue(18.5)
    for change, words in (
        (lambda: session.with_canal_path(CANAL[:1]), NO_APEX),
        (lambda: session.with_reference_path([(20.0, 30.0)]), NO_INSTRUMENT),
        (lambda: session.with_reference(length_mm=None), NO_INSTRUMENT),
        (lambda: session.with_reference(placement="beside", canal=None), NO_INSTRUMENT),
        (lambda: session.with_reference(canal="ML"), NO_INSTRUMENT),
        (lambda: session.with_canal(reference=None), NO_INSTRUMENT),
        (lambda: session.with_canal(tooth=""), "Choose the tooth of this canal"),
    ):
        session.apply(change())
        assert why(ready).startswith(words)
        section.make()
        session.undo()
        assert section.confirm.isEnabled() or section.length.value() == 0
        section.length.setValue(18.5)
    assert not image.with_name(image.name + ".radlength.json").exists()


def test_without_an_image_or_with_something_proposed_there_is_nothing_to_confirm(dock, image):
    assert why(dock).startswith("Open a radiograph")
    dock.show_session(Session.open(image))
    mark(dock.session)
    choose(dock.confirm)
    assert dock.confirm.confirm.isEnabled()
    dock.session.propose("canal")
    assert why(dock).startswith("Accept what is proposed")


def test_another_canal_is_not_confirmed_by_the_instrument_of_the_first(ready):
    choose(ready.confirm)
    ready.confirm.beyond.setChecked(True)
    ready.session.add_canal("46", "ML")
    ready.session.apply(ready.session.with_canal_path(CANAL))
    assert why(ready) == NO_INSTRUMENT
    assert ready.confirm.length.text() == "not stated"
    assert not ready.confirm.beyond.isChecked()
    ready.select(0)
    assert ready.confirm.length.text() == "18.50 mm"
    assert ready.confirm.confirm.isEnabled()


def test_the_offered_length_follows_the_instrument_and_a_typed_one_stays(ready):
    section = ready.confirm
    ready.edit_reference(length_mm=19.0, limit_mm=0.5)
    assert (section.length.value(), section.limit.value()) == (19.0, 0.5)
    section.limit.setValue(0.1)
    ready.edit_canal(terminus=Terminus(offset_mm=0.5))
    assert section.limit.value() == 0.1
    section.length.setValue(20.0)
    ready.edit_reference(length_mm=18.0)
    assert section.length.value() == 20.0


def test_a_length_typed_for_the_instrument_and_not_entered_is_looked_at_first(ready, qtbot, image):
    choose(ready.confirm)
    ready.reference.length.setFocus()
    ready.reference.length.selectAll()
    qtbot.keyClicks(ready.reference.length, "17")
    ready.confirm.confirm.click()
    assert ready.confirm.words.text() == FOLLOWED
    assert ready.confirm.length.value() == 17.0
    assert not image.with_name(image.name + ".radlength.json").exists()
    ready.confirm.confirm.click()
    assert load_record(image).confirmations[0].set_length_mm == 17.0


def test_what_is_serious_is_told_whole(ready):
    """23 mm are no 18.5: set length and gap against the marks."""
    choose(ready.confirm)
    ready.confirm.length.setValue(23.0)
    ready.confirm.confirm.click()
    told = ready.confirm.findings.text()
    assert "<b>Serious:</b> Set length and gap make a canal of" in told
    assert ready.confirm.findings.isVisibleTo(ready)
    assert ready.session.status == "estimate, not confirmed"
    ready.confirm.length.setValue(18.5)
    assert not ready.confirm.findings.isVisibleTo(ready)


def test_a_refusal_is_told_as_a_sentence_and_writes_nothing(ready, image, said):
    choose(ready.confirm)
    ready.confirm.length.setValue(3.0)
    ready.confirm.confirm.click()
    assert said
    assert "5 to 60 mm" in said[0]
    assert not image.with_name(image.name + ".radlength.json").exists()


def test_over_what_another_program_wrote_nothing_is_confirmed(ready, image, said):
    ready.save()
    record = load_record(image)
    save_record(record.with_canal(record.canals[0].canal, who="another"), image)
    choose(ready.confirm)
    ready.confirm.confirm.click()
    assert said
    assert ready.recovery.changed
    assert load_record(image).confirmations == ()


def test_each_rule_tells_its_source(ready):
    box = ready.confirm.rule
    for n, name in enumerate(repeat_rules(), 1):
        tip = box.itemData(n, Qt.ItemDataRole.ToolTipRole)
        assert repeat_rule(name).source in tip
        choose(ready.confirm, name)
        assert box.toolTip() == tip
