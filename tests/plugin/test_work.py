"""Long work in the window: on a thread, given up when asked, and then nothing has changed."""

import threading

import pytest
from helpers.marked_dock import mark
from qtpy.QtCore import QThreadPool

from napari_radlength._quality import quality_steps
from napari_radlength._reporting import KINDS
from napari_radlength._work import Work, WorkLine
from radlength.errors import ReportError
from radlength.imaging import read_radiograph
from radlength.record.quality import image_quality
from radlength.session import Session


@pytest.fixture
def line(qtbot):
    made = WorkLine()
    qtbot.addWidget(made)
    yield made
    QThreadPool.globalInstance().waitForDone(20000)


class Slow:
    """Work of many steps that waits before each until it is let go on."""

    def __init__(self, steps=50):
        self.go = threading.Semaphore(0)
        self.taken = 0
        self.steps = steps

    def __call__(self):
        for number in range(self.steps):
            yield f"step {number}"
            self.go.acquire(timeout=10)
            self.taken += 1
        return self.taken


def test_a_result_comes_back_and_steps_are_said(line, qtbot):
    slow, done, work = Slow(3), [], Work(line)
    work.start("counting", slow, done.append)
    qtbot.waitUntil(line.isVisible)
    assert line.words.text().startswith("counting")
    slow.go.release(3)
    qtbot.waitUntil(lambda: done == [3])
    assert not line.isVisible()
    assert not work.is_busy


def test_cancel_is_seen_whole(line):
    line.resize(300, 60)
    line.show()
    assert line.rect().contains(line.cancel.geometry())


def test_cancel_really_stops_and_nothing_is_done(line, qtbot):
    slow, done, told = Slow(), [], []
    work = Work(line, lambda: told.append("given up"))
    work.start("counting", slow, done.append)
    qtbot.waitUntil(line.isVisible)
    slow.go.release(2)
    qtbot.waitUntil(lambda: slow.taken == 2)
    line.cancel.click()
    slow.go.release(50)
    assert QThreadPool.globalInstance().waitForDone(20000)
    qtbot.wait(20)
    assert slow.taken <= 4
    assert (done, told) == ([], ["given up"])
    assert not line.isVisible()


def test_a_second_start_gives_the_first_up(line, qtbot):
    first, second, done = Slow(), Slow(1), []
    work = Work(line)
    work.start("first", first, lambda result: done.append(("first", result)))
    work.start("second", second, lambda result: done.append(("second", result)))
    first.go.release(60)
    second.go.release(1)
    qtbot.waitUntil(lambda: done == [("second", 1)])
    assert first.taken < 50


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (ReportError("no canal is marked", code="report-empty"), "no canal is marked"),
        (ValueError("seven"), "counting: it could not be finished (seven); nothing was changed"),
    ],
)
def test_an_error_is_a_sentence(line, qtbot, said, error, words):
    def broken():
        yield "a step"
        raise error

    Work(line).start("counting", broken, said.append)
    qtbot.waitUntil(lambda: said == [words])


def test_the_quality_in_steps_is_that_of_the_core(image_file):
    radiograph = read_radiograph(image_file)
    found = []

    def whole():
        found.append((yield from quality_steps(radiograph)))

    names = list(whole())
    assert found == [image_quality(radiograph).findings]
    assert len(names) >= 8


@pytest.fixture
def saved(dock, image_file):
    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    mark(dock.session)
    dock.save()
    return dock


@pytest.mark.parametrize("suffix", sorted(KINDS))
def test_a_report_is_made_of_what_is_saved(saved, image_file, qtbot, monkeypatch, suffix):
    place = image_file.with_name("report" + suffix)
    monkeypatch.setattr(
        "qtpy.QtWidgets.QFileDialog.getSaveFileName", lambda *_words: (str(place), f"x (*{suffix})")
    )
    saved.record.report.click()
    qtbot.waitUntil(place.exists, timeout=60000)
    start = {".pdf": b"%PDF-", ".png": b"\x89PNG", ".html": b"<!DOCTYPE html>", ".geojson": b"{"}
    assert place.read_bytes().startswith(start.get(suffix, "\ufeff".encode()))
    qtbot.waitUntil(lambda: saved.record.words.text() == f"report written: report{suffix}")
    assert not saved.work.isVisible()


def test_a_report_given_up_is_not_written(saved, image_file, monkeypatch):
    before = sorted(image_file.parent.iterdir())
    slow = Slow()
    monkeypatch.setattr("napari_radlength._section_record.report_steps", lambda *_words: slow())
    saved.record.make_report(image_file, image_file.with_name("report.pdf"))
    assert saved.record.work.is_busy
    saved.work.cancel.click()
    slow.go.release(60)
    assert QThreadPool.globalInstance().waitForDone(20000)
    assert not saved.record.work.is_busy
    assert saved.record.words.text() == "The report was given up; nothing is written."
    assert sorted(image_file.parent.iterdir()) == before


def test_a_report_replaces_neither_image_nor_record_and_waits_for_the_save(saved, image_file, said):
    saved.record.make_report(image_file, image_file)
    assert said == ["tooth.png: the report would replace the image; choose another name"]
    saved.record.make_report(image_file, image_file.with_name("report.txt"))
    assert "no report ends in '.txt'" in said[1]
    saved.take_back_canal()
    assert not saved.record.report.isEnabled()
    assert saved.record.report.toolTip() == "Save the record first: a report tells what is saved."


def test_quality_that_was_left_is_looked_for_again_and_a_failure_is_said(
    dock, image_file, monkeypatch, qtbot, said
):
    words = dock.image.quality
    dock.show_session(Session.open(image_file))
    dock.hide()
    assert "looking at the quality" in words.text()
    dock.show()
    qtbot.waitUntil(lambda: "looking at" not in words.text(), timeout=20000)
    assert "not looked at" not in words.text()

    def broken(_radiograph):
        yield "planted"
        message = "planted"
        raise ValueError(message)

    monkeypatch.setattr("napari_radlength._quality.quality_steps", broken)
    dock.show_session(dock.session)
    qtbot.waitUntil(lambda: "was not looked at" in words.text(), timeout=20000)
    assert "planted" in said[0]
    dock.hide()
    dock.show()
    assert "was not looked at" in words.text()
