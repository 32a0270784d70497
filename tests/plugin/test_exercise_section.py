"""Exercises taken in the window: blind, handed in through the sitting, told at the end."""

from __future__ import annotations

import json
import re
import shutil

import numpy as np
import pytest
from helpers.exercise_window import clicks_on, published, truth
from helpers.window_play import Hand
from napari.components import ViewerModel
from qtpy.QtCore import Qt, QThreadPool
from qtpy.QtTest import QTest
from qtpy.QtWidgets import QApplication, QLabel
from typer.testing import CliRunner

from napari_radlength._dock import open_dock
from napari_radlength._exercise_marking import BLIND
from napari_radlength._viewer import words_overlay
from radlength.cli.app import build_app
from radlength.exercise import ExerciseError, Sitting, load_attempt, save_set
from radlength.exercise.files import SET_FILE, load_set
from radlength.session import Session
from radlength.trade import CAUTION

pytestmark = pytest.mark.usefixtures("surely")


@pytest.fixture
def folder(tmp_path):
    return published(tmp_path)


@pytest.fixture
def viewer():
    return ViewerModel()


@pytest.fixture
def taking(viewer, make_dock, folder):
    """A dock whose learner A07 has the first exercise in hand."""
    return begun(make_dock(viewer), folder)


def begun(dock, folder, code="A07"):
    dock.exercise.open_set(folder)
    dock.exercise.begin.code.setText(code)
    dock.exercise.begin.start.click()
    return dock


def mark(dock, number, shift=0.0):
    """Mark an exercise as a learner who is `shift` pixels off."""
    marker, answer = dock.marker, truth(number)
    if "reference" in marker.roles:
        for point in clicks_on(answer.reference_px, 4):
            marker.click("reference", point, 0.5)
    if "canal" in marker.roles:
        for point in clicks_on(answer.canal_px, 6) + np.array([shift, 0.0]):
            marker.click("canal", point, 0.5)


def shown(dock):
    """Return every word in the dock that can be seen."""
    return " ".join(one.text() for one in dock.findChildren(QLabel) if one.isVisible())


def score(folder, *attempt):
    done = CliRunner().invoke(build_app(), ["exercise", "score", *map(str, (folder, *attempt)), "--json"])
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


@pytest.fixture
def hand(make_napari_viewer, qtbot):
    """A hand at a real window."""
    viewer = make_napari_viewer(show=True)
    dock = open_dock(viewer)
    dock.give_room()
    viewer.window.resize(1280, 800)
    qtbot.waitUntil(lambda: viewer.window._qt_window.height() == 800)
    made = Hand(viewer, dock)
    yield made
    dock.hide()
    made.let_go()
    QThreadPool.globalInstance().waitForDone(20000)


def clicked(hand, path_px, count):
    """Click along a path, and return the pixels that the clicks mean."""
    hand.dock.fit()
    QApplication.processEvents()
    points = clicks_on(path_px, count)
    for point in points:
        hand.click(point)
    return [hand.seen(point).tolist() for point in points]


def press(button):
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def take_all(hand):
    """Take the three exercises by clicks and keys, and return the same marks as files would give them."""
    page = hand.dock.exercise.task
    reference = clicked(hand, truth(0).reference_px, 4)
    hand.key(Qt.Key.Key_Return, on=hand.canvas)
    canal = clicked(hand, truth(0).canal_px, 6)
    press(page.hand_in)
    clicked(hand, truth(1).canal_px[:-9], 1)
    apex = clicked(hand, truth(1).canal_px[-1:], 1)[0]
    press(page.hand_in)
    press(page.group.buttons()[1])
    press(page.hand_in)
    return (
        {"reference": {"path_px": reference}, "canal": {"path_px": canal}},
        {"apex_px": apex},
        {"choice": "adjust"},
    )


@pytest.mark.gui
def test_a_set_taken_with_clicks_scores_as_the_same_marks_in_files(hand, qtbot, folder, tmp_path, said):
    hand.viewer.open(str(folder / "set.json"), plugin="radlength")
    section = hand.dock.exercise
    qtbot.waitUntil(section.begin.isVisible)
    assert list(hand.viewer.layers) == []
    hand.type("A07", on=section.begin.code)
    hand.key(Qt.Key.Key_Return, on=section.begin.code)
    given = take_all(hand)
    assert said == []
    assert section.end.isVisible()
    attempt = load_attempt(tmp_path / "A07.attempt.json")
    assert [one.clicks for one in attempt.answers] == [10, 2, 1]
    assert all(one.seconds > 0 for one in attempt.answers)
    for number, one in enumerate(given, 1):
        (tmp_path / f"{number:02d}.marks.json").write_text(json.dumps(one), encoding="utf-8")
    words = [
        "exercise",
        "take",
        folder,
        "--learner",
        "A07",
        "--marks",
        tmp_path,
        "--out",
        tmp_path / "f.json",
    ]
    assert CliRunner().invoke(build_app(), list(map(str, words))).exit_code == 0
    window, files = score(folder, tmp_path / "A07.attempt.json"), score(folder, tmp_path / "f.json")
    for one, other in zip(window["exercises"], files["exercises"], strict=True):
        assert one["choice"] == other["choice"]
        for name in ("measured_mm", "error_mm"):
            assert one[name] == (None if other[name] is None else pytest.approx(other[name], abs=1e-3))
    assert abs(window["exercises"][0]["error_mm"]) < 0.3
    assert section.ending.lines == tuple(window["summary"])


def test_nothing_tells_a_length_or_helps_while_an_exercise_is_in_hand(taking, viewer, said):
    mark(taking, 0)
    session = taking.session
    assert session.estimate() == (None, BLIND)
    assert not taking.headline.isVisible()
    assert [name for name, one in taking.sections.items() if one.isVisible()] == ["image", "exercise"]
    asked = taking.exercise.desk.task.text
    assert not re.findall(r"\d mm", shown(taking).replace(asked, "").replace("&quot;", '"'))
    (words,) = [one for one in viewer.layers if one.name == "lengths"]
    assert set(words.features["words"]) == {f"{taking.exercise.desk.task.tooth} single"}
    before = session.annotation
    for help_me in (taking.trace, taking.toggle_assist, taking.trace, taking.next_canal, taking.save):
        help_me()
    assert session.proposal is None
    assert session.annotation == before
    assert {word.split(";")[0] for word in said} == {
        "an exercise is marked by hand",
        "one canal is asked for",
        "an exercise has no record",
    }
    taking.carry_marks()
    taking.keep_unsaved()
    assert {one.name for one in taking.exercise.desk.folder.iterdir()} == {
        SET_FILE, "01.png", "02.png", "03.png",
    }  # fmt: skip
    assert CAUTION in taking.caution.words.text().replace("&#x27;", "'")


def test_what_to_do_next_stands_on_the_image(taking, viewer):
    def words():
        return words_overlay(viewer).text.rstrip()

    assert words() == "Click the stop of the instrument"
    for point in clicks_on(truth(0).reference_px, 3):
        taking.marker.click("reference", point, 0.5)
    taking.mark_reference()
    assert words().startswith("3 clicks along the instrument to its tip")
    taking.go_on()
    assert (taking.marker.tool, words()) == ("canal", "Click the reference point on the crown")
    for point in clicks_on(truth(0).canal_px, 5):
        taking.marker.click("canal", point, 0.5)
    taking.go_on()
    assert (taking.marker.tool, words()) == (None, "Marked: Ctrl+Enter hands it in, or drag a point")


def test_only_the_apex_where_only_that_is_asked(taking, said):
    mark(taking, 0)
    taking.exercise.task.hand_in.click()
    assert taking.exercise.desk.task.aim == "apex"
    taking.mark_reference()
    assert said == ["this exercise does not ask for the instrument; what the question says"]
    assert taking.marker.tool == "canal"
    for point in ((100, 200), (300, 220)):
        taking.marker.click("canal", point, 0.5)
    assert taking.session.annotation.canal.path_px == ((300.0, 220.0),)
    taking.undo()
    assert taking.session.annotation.canal.path_px == ((100.0, 200.0),)
    assert taking.exercise.task.marks.text() == "apex: marked"
    taking.take_back()
    assert taking.exercise.task.marks.text() == "apex: not marked yet"


def test_what_is_missing_is_said_and_the_exercise_stays(taking, said):
    hand_in = taking.exercise.task.hand_in
    hand_in.click()
    taking.marker.click("reference", (10, 20), 0.5)
    hand_in.click()
    for point in clicks_on(truth(0).reference_px, 4):
        taking.marker.click("reference", point, 0.5)
    hand_in.click()
    taking.mark_canal()
    taking.marker.keep("canal", [(10, 9000), (300, 200)])
    hand_in.click()
    assert said[:3] == [
        "exercise 01: the instrument and the canal are missing; mark it, then hand in",
        "exercise 01: the instrument and the canal are missing; mark it, then hand in",
        "exercise 01: the canal is missing; mark it, then hand in",
    ]
    assert "leaves the image" in said[3]
    assert taking.exercise.desk.task.id == "01"


def test_stopped_and_gone_on_with_in_another_dock(taking, make_dock, folder, said):
    mark(taking, 0)
    taking.exercise.task.hand_in.click()
    mark(taking, 1)
    taking.exercise.task.stop.click()
    assert taking.exercise.closed.isVisible()
    assert taking.session is None
    assert taking.headline.isVisible()
    again = begun(make_dock(ViewerModel()), folder)
    assert again.exercise.task.progress.text().startswith("Exercise 2 of 3, difficulty 1 of 6.")
    assert again.session.annotation.canal.path_px == ()
    mark(again, 1)
    again.exercise.task.hand_in.click()
    again.exercise.task.group.buttons()[2].click()
    again.exercise.task.hand_in.click()
    attempt = load_attempt(folder.parent / "A07.attempt.json")
    assert (attempt.finished, [one.order for one in attempt.answers]) == (True, [1, 2, 3])
    assert said == []
    back = begun(make_dock(ViewerModel()), folder)
    assert back.exercise.end.isVisible()


def test_another_image_in_between_lets_the_exercise_wait(taking, image_file):
    mark(taking, 0)
    taking.show_session(Session.open(image_file))
    section = taking.exercise
    assert section.wait.words.text().startswith("Exercise 1 of 3 waits")
    assert taking.headline.isVisible()
    assert taking.canal.isVisible()
    section.wait.back.click()
    assert section.task.isVisible()
    assert not taking.canal.isVisible()
    assert len(taking.session.annotation.canal.path_px) == 6
    section.task.hand_in.click()
    assert section.desk.handed_in == 1


def test_the_end_shows_what_the_core_says_and_the_pictures(taking, viewer, folder):
    mark(taking, 0, shift=4.0)
    taking.exercise.task.hand_in.click()
    mark(taking, 1)
    taking.exercise.task.hand_in.click()
    taking.exercise.task.group.buttons()[0].click()
    taking.exercise.task.hand_in.click()
    section = taking.exercise
    told = score(folder, folder.parent / "A07.attempt.json")
    assert [one.task for one in section.ending.exercises] == [one["task"] for one in told["exercises"]]
    assert f"{told['exercises'][0]['error_mm']:.2f} mm too long" in section.end.one.text()
    assert [(one.name, one.rgb) for one in viewer.layers] == [("exercise 01", True)]
    section.end.list.setCurrentRow(2)
    assert [(one.name, one.rgb) for one in viewer.layers] == [("exercise 03", False)]
    assert "right: repeat" in section.end.one.text()
    section.end.leave.click()
    assert list(viewer.layers) == []
    assert words_overlay(viewer).text.rstrip() == "Drop a radiograph on the window"


@pytest.mark.parametrize("why", ["assessment", "no answers"])
def test_without_leave_to_tell_the_end_says_where_the_attempt_is(make_dock, folder, why):
    if why == "assessment":
        save_set(load_set(folder).model_copy(update={"kind": "assessment"}), folder)
    else:
        (folder.parent / "course.answers.json").unlink()
    dock = begun(make_dock(ViewerModel()), folder)
    for number in (0, 1):
        mark(dock, number)
        dock.exercise.task.hand_in.click()
    dock.exercise.task.group.buttons()[0].click()
    dock.exercise.task.hand_in.click()
    assert dock.exercise.ending is None
    assert not dock.exercise.end.list.isVisible()
    text = dock.exercise.end.words.text()
    assert "A07.attempt.json" in text
    assert ("this is an assessment" if why == "assessment" else "the answers are not here") in text
    assert "true" not in text


def test_refusals_at_the_door(viewer, make_dock, folder, said, tmp_path):
    dock = make_dock(viewer)
    dock.exercise.open_set(tmp_path)
    assert dock.exercise.closed.isVisible()
    for code in ("Anna", "../A1", ""):
        begun(dock, folder, code)
        assert dock.exercise.begin.isVisible()
    other = shutil.copytree(folder, tmp_path / "other")
    save_set(load_set(other).model_copy(update={"title": "changed"}), other)
    begun(dock, other)
    dock.exercise.close_set()
    begun(dock, folder)
    (folder / "01.png").unlink()
    dock.exercise.close_set()
    begun(dock, folder, "A08")
    assert "there is no set of exercises here" in said[0]
    assert all("may be a name" in word for word in said[1:4])
    assert "another version of this set" in said[4]
    assert "move A07.attempt.json away" in said[4]
    assert "01.png" in said[5]
    assert len(said) == 6


def test_what_cannot_be_written_is_said_and_kept_here(taking, said, monkeypatch, folder):
    def full(_sitting, path):
        raise ExerciseError("cannot be written: no room", code="exercise-unwritable", subject=path.name)

    mark(taking, 0)
    with monkeypatch.context() as patched:
        patched.setattr(Sitting, "save", full)
        taking.exercise.task.hand_in.click()
        assert "not on the disk yet" in taking.exercise.task.progress.text()
        taking.exercise.task.stop.click()
        assert taking.exercise.task.isVisible()
    assert said == ["A07.attempt.json: cannot be written: no room"] * 2
    taking.exercise.task.stop.click()
    assert taking.exercise.closed.isVisible()
    assert len(load_attempt(folder.parent / "A07.attempt.json").answers) == 1


def test_where_nothing_can_be_kept_nobody_begins_and_is_told_what_to_do(
    viewer, make_dock, folder, said, monkeypatch
):
    def read_only(_sitting, path):
        raise ExerciseError("cannot be written: no rights", code="exercise-unwritable", subject=path.name)

    monkeypatch.setattr(Sitting, "save", read_only)
    dock = begun(make_dock(viewer), folder)
    assert dock.exercise.begin.isVisible()
    assert "cannot be written: no rights" in said[0]
    assert "copy the folder of exercises to a place of your own" in said[0]


def test_two_windows_under_one_code_lose_no_answer(taking, make_dock, folder, said):
    other = begun(make_dock(ViewerModel()), folder)
    mark(taking, 0)
    taking.exercise.task.hand_in.click()
    place = folder.parent / "A07.attempt.json"
    first = place.read_bytes()
    mark(other, 0, shift=9.0)
    other.exercise.task.hand_in.click()
    assert place.read_bytes() == first
    assert "A07.attempt.json holds answers that were handed in elsewhere" in said[0]
    assert "not on the disk yet" in other.exercise.task.progress.text()
    place.rename(place.with_name("first.json"))
    other.exercise.task.stop.click()
    assert other.exercise.closed.isVisible()
    assert (
        load_attempt(place).answers[0].canal_px
        != load_attempt(place.with_name("first.json")).answers[0].canal_px
    )


def test_choices_of_the_last_exercise_do_not_show_through_the_next(taking):
    page = taking.exercise.task
    page._show_choices(("accept", "adjust", "repeat"), None)
    QApplication.processEvents()
    old = page.group.buttons()
    assert [one.isVisible() for one in old] == [True] * 3
    page._show_choices(("enough", "shift", "vertical", "exposure"), None)
    assert [one.isVisible() for one in old] == [False] * 3
