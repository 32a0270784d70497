"""Two marked images of one tooth in the window: the core's result, for the pair that was asked for and no other."""

from dataclasses import replace
from datetime import date

import pytest
from helpers.cases import run
from helpers.made_case import NOON
from helpers.two_images import marked_pair
from napari.components import ViewerModel
from qtpy.QtWidgets import QFileDialog

from napari_radlength._pairing import Asked, Chosen, job_of, stated_pair
from radlength.errors import MarkError
from radlength.length import Terminus
from radlength.record import Case, add_image, add_views, save_case
from radlength.session import Session
from radlength.trade import NOT_CONFIRMED

PITCH_MM = 0.025


@pytest.fixture
def pair(tmp_path):
    return marked_pair(tmp_path)


@pytest.fixture
def dock(pair, make_dock):
    made = make_dock(ViewerModel())
    made.open_images(pair[1])
    return made


@pytest.fixture
def solve(qtbot):
    def both(dock, shift="mesial", angle=20.0):
        views = dock.views
        if views.other.currentIndex() == 0:
            choose(views.other, 1)
        pick(views.shift, f"the tube went {shift}")
        views.angle.setValue(angle)
        views.solve.click()
        qtbot.waitUntil(lambda: not views.result.text().startswith("solving"), timeout=30000)
        return views.result.text()

    return both


def choose(box, index):
    box.setCurrentIndex(index)
    box.activated.emit(index)


def pick(box, words):
    choose(box, box.findText(words))


def test_it_is_what_the_command_says_and_holds_the_truth(pair, dock, solve):
    scene, images, _ = pair
    text = solve(dock)
    command = run("views", *images, "--shift", "mesial", "--shift-deg", "20", "--json")
    told = next(one for one in command.json["canals"] if one["canal"] == "MB")
    for kind in ("working_length", "canal_length"):
        assert f"{told[kind]['value_mm']:.1f} mm ({told[kind]['low_mm']:.1f}–" in text
    assert told["canal_length"]["low_mm"] < scene.canal("MB").length_mm < told["canal_length"]["high_mm"]
    assert "<b>working length, 46 MB, from two views</b>" in text
    assert "1 mm short of the radiographic apex" in text
    assert NOT_CONFIRMED in text
    assert "46 MB of view0.png with 46 MB of view1.png, solved together with ML, D" in text
    assert "Straight: view0.png; tube mesial for view1.png" in text
    assert "as declared; sides and bends are as right as the direction: mesial" in text


def test_without_a_terminus_it_reads_canal_length_and_never_working_length(dock, solve):
    dock.edit_canal(terminus=None)
    text = solve(dock)
    assert "<b>canal length, 46 MB, from two views</b>" in text
    assert "No working length" in text
    assert "<b>working length" not in text


def test_what_is_missing_is_asked_for_in_order_and_nothing_is_guessed(dock, image_file, make_dock):
    views = dock.views
    assert not views.solve.isEnabled()
    assert "Choose the other image" in views.words.text()
    assert views.shift.toolTip() == "Choose the other image first."
    choose(views.other, 1)
    assert "Say where the tube went" in views.words.text()
    pick(views.shift, "the tube went distal")
    assert views.solve.isEnabled()
    assert views.canal.currentText() == "46 MB"
    alone = make_dock(ViewerModel())
    assert "drop a file" in alone.views.words.text()
    alone.open_images([image_file])
    assert "A second image" in alone.views.words.text()
    assert not alone.views.other.isVisibleTo(alone)


def test_a_mark_that_moves_another_canal_or_another_answer_ends_the_result(dock, solve):
    ends = [
        lambda: dock.edit_canal(terminus=Terminus(offset_mm=0.5)),
        lambda: dock.select(1),
        lambda: choose(dock.views.canal, 2),
        lambda: pick(dock.views.shift, "the tube went distal"),
        lambda: dock.views.angle.setValue(25),
        dock.next_image,
    ]
    for end in ends:
        assert solve(dock)
        end()
        assert dock.views.result.text() == ""


@pytest.mark.parametrize(
    "end", [lambda dock: dock.select(1), lambda dock: dock.hide()], ids=["canal", "closed"]
)
def test_a_result_on_its_way_is_not_shown_for_other_marks(dock, qtbot, end):
    from qtpy.QtCore import QThreadPool

    views = dock.views
    choose(views.other, 1)
    pick(views.shift, "the tube went mesial")
    views.solve.click()
    assert views.result.text().startswith("solving")
    end(dock)
    QThreadPool.globalInstance().waitForDone(20000)
    qtbot.wait(50)
    assert views.result.text() == ""


def test_a_result_that_was_sent_before_another_canal_was_chosen_is_not_shown(dock, qtbot, monkeypatch):
    """What a thread has sent comes, though nobody listens to that thread any more."""
    views, sent = dock.views, []
    choose(views.other, 1)
    pick(views.shift, "the tube went mesial")
    done = views._done
    monkeypatch.setattr(type(views), "_done", lambda _, found: sent.append(found))
    views.solve.click()
    qtbot.waitUntil(lambda: bool(sent), timeout=20000)
    dock.select(1)
    done(sent[0])
    assert views.result.text() == ""


def test_another_pair_is_asked_anew(dock, solve):
    solve(dock)
    dock.next_image()
    assert dock.views.other.currentIndex() == 0
    choose(dock.views.other, 1)
    assert dock.views.shift.currentIndex() == 0
    assert dock.views.angle.value() == 0


def test_the_chosen_image_goes_at_the_side(dock):
    assert not dock.image.beside.isEnabled()
    choose(dock.views.other, 1)
    assert dock.image.beside.isEnabled()
    dock.toggle_beside()
    here, there = (dock._viewer.layers[f"view{n}.png"] for n in (0, 1))
    assert here.visible
    assert there.visible
    assert there.data_to_world((0, there.data.shape[1] - 1))[1] < 0
    dock.toggle_beside()
    assert not there.visible
    assert there.data_to_world((0, 0)) == (0, 0)


def test_two_names_for_one_canal_are_said_and_not_hidden(pair, solve, dock):
    there = dock.session_of(pair[1][1])
    there.select(0)
    there.rename_canal("46", "B")
    choose(dock.views.other, 1)
    pick(dock.views.canal, "46 B")
    text = solve(dock)
    assert "<b>Serious:</b> 46 MB here is paired with 46 B there: two names for one canal." in text
    assert "46 MB, from two views" in text


def test_the_wrong_canal_there_is_refused_or_serious(dock, solve):
    choose(dock.views.other, 1)
    pick(dock.views.canal, "46 D")
    text = solve(dock)
    assert "Refused" in text or "Serious" in text
    job = job_of(_chosen(dock, "46 MB", "46 D"), Asked(shift="mesial"))
    assert [one.name for one in job.shifted.canals] == ["MB", "ML"]
    assert (job.straight.references["MB"].canal, job.shifted.references["MB"].canal) == ("MB", "MB there")
    assert job.shifted.canals[0].path_px == dock.session_of(dock.shots[1].path).annotation.canals[2].path_px


def test_other_teeth_an_open_proposal_and_an_unmarked_canal_are_refused(dock):
    there = dock.session_of(dock.shots[1].path)
    with pytest.raises(MarkError, match="46 X is not marked"):
        job_of(_chosen(dock, "46 MB", "46 X"), Asked(shift="mesial"))
    there.rename_canal("36", "MB")
    with pytest.raises(MarkError, match="46 MB on this image and 36 MB on the other"):
        job_of(_chosen(dock, "46 MB", "36 MB"), Asked(shift="mesial"))
    there.propose_marks(dock.session.annotation, "x")
    with pytest.raises(MarkError, match="proposed"):
        job_of(_chosen(dock, "46 MB", "46 MB"), Asked(shift="mesial"))


def _chosen(dock, here, there):
    return Chosen(dock.session, dock.session_of(dock.shots[1].path), here, there)


def test_one_picture_twice_is_a_sentence(pair, make_dock, solve):
    _, images, _ = pair
    images[1].write_bytes(images[0].read_bytes())
    record = images[1].with_name(images[1].name + ".radlength.json")
    record.write_bytes(images[0].with_name(images[0].name + ".radlength.json").read_bytes())
    dock = make_dock(ViewerModel())
    dock.open_images(images)
    assert "both files hold the same picture" in solve(dock)


def test_the_pitch_is_asked_for_where_nobody_states_it(tmp_path, make_dock, solve):
    _, images, _ = marked_pair(tmp_path, pitch_mm=None)
    dock = make_dock(ViewerModel())
    dock.open_images(images)
    choose(dock.views.other, 1)
    assert "Type the pixel pitch" in dock.views.words.text()
    dock.views.pitch.setValue(PITCH_MM)
    assert "working length, 46 MB, from two views" in solve(dock)


def test_a_marker_tells_the_angle(pair, dock, solve, monkeypatch):
    choose(dock.views.other, 1)
    monkeypatch.setattr(QFileDialog, "getOpenFileName", lambda *_words: (str(pair[2]), ""))
    dock.views.marker.click()
    pick(dock.views.shift, "the tube went mesial")
    dock.views.angle.setValue(0)
    dock.views.solve.click()
    job = job_of(_chosen(dock, "46 MB", "46 MB"), dock.views.asked)
    assert job.solve().result.method == "marker"


def test_a_case_says_which_is_straight(pair, make_dock, solve, tmp_path):
    _, images, _ = pair
    case = Case.new(invented=True)
    for image in images:
        fields = {"stage": "working length", "taken": date(2026, 1, 2), "when": NOON}
        case = add_image(case, tmp_path, image, **fields)
    save_case(add_views(case, 2, 1, shift="distal", angle_deg=20.0, when=NOON), tmp_path)
    dock = make_dock(ViewerModel())
    dock.open_images([tmp_path])
    choose(dock.views.other, 1)
    job = job_of(_chosen(dock, "46 MB", "46 MB"), dock.views.asked)
    assert (job.straight.radiograph.name, job.shifted.radiograph.name) == ("view1.png", "view0.png")
    told = (dock.views.shift.currentText(), dock.views.shifted.currentText(), dock.views.angle.value())
    assert told == ("the tube went distal", "for this image", 20.0)
    book = dock.case_book
    assert stated_pair(book.case, book.home, images[1], images[0]).shifted == "other"


def test_images_of_two_days_or_folders_are_doubted(dock, tmp_path):
    chosen = replace(_chosen(dock, "46 MB", "46 MB"), days=("2026-01-02", "2026-01-09"))
    (doubt,) = job_of(chosen, Asked(shift="mesial")).findings
    assert (doubt.code, doubt.severity) == ("pairing-days-differ", "serious")
    other = tmp_path / "other"
    other.mkdir()
    chosen = Chosen(dock.session, Session.open(marked_pair(other)[1][1]), "46 MB", "46 MB")
    assert [one.code for one in job_of(chosen, Asked(shift="mesial")).findings] == ["pairing-folders-differ"]


def test_an_instrument_told_by_its_tooth_is_called_as_on_the_other_image(dock):
    there = dock.session_of(dock.shots[1].path)
    there.select(0)
    there.rename_canal("46", "B")
    there.add_canal("47", "B")
    there.apply(
        there.with_canal_path([(row, column - 200) for row, column in there.annotation.canals[0].path_px])
    )
    lies = {one.name: one.canal for one in there.annotation.references}
    assert lies[there.annotation.canals[0].reference] == "46 B"
    job = job_of(_chosen(dock, "46 MB", "46 B"), Asked(shift="mesial"))
    assert job.shifted.references["MB"].canal == "MB"
