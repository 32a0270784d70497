"""Taking a set: time and clicks are counted, one answer each, nothing but what is asked for."""

import json

import pytest
from helpers.exercise_markers import PERFECT, attempt_of, course

from radlength.exercise import ExerciseError, Sitting, load_attempt, make_answer
from radlength.exercise.files import load_set
from radlength.exercise.publish import publish

PATH = ((10.0, 10.0), (200.0, 12.0), (400.0, 15.0))


class Clock:
    def __init__(self):
        self.now = 100.0

    def __call__(self):
        return self.now


@pytest.fixture
def clock():
    return Clock()


@pytest.fixture
def sitting(clock):
    return Sitting(course().exercises, "A07", clock=clock)


def test_seconds_and_clicks_of_each_exercise(sitting, clock):
    assert sitting.begin("01").aim == "reference"
    sitting.click()
    sitting.click(4)
    clock.now += 21.254
    first = sitting.finish(reference_px=PATH)
    clock.now += 1000
    sitting.begin("02")
    clock.now += 3
    second = sitting.finish(apex_px=(400, 15))
    assert (first.seconds, first.clicks, first.order) == (21.25, 5, 1)
    assert (second.seconds, second.clicks, second.order) == (3.0, 0, 2)
    assert sitting.left[:2] == ("03", "04")
    assert not sitting.attempt().finished


def test_a_clock_that_goes_back_gives_no_negative_time(sitting, clock):
    sitting.begin("02")
    clock.now -= 50
    assert sitting.finish(apex_px=(1, 2)).seconds == 0.0


def test_a_whole_sitting_is_the_attempt_it_saves(sitting, tmp_path):
    for answer in attempt_of(course(), PERFECT).answers:
        sitting.begin(answer.task)
        given = {name: getattr(answer, name) for name in ("reference_px", "canal_px", "apex_px", "choice")}
        sitting.finish(**{name: value for name, value in given.items() if value is not None})
    kept = load_attempt(sitting.save(tmp_path / "A07.attempt.json"))
    assert kept == sitting.attempt()
    assert kept.finished
    assert sitting.left == ()
    assert not list(tmp_path.glob("*.part"))


def test_one_at_a_time_and_one_answer_each(sitting):
    with pytest.raises(ExerciseError, match="no exercise is open"):
        sitting.finish(apex_px=(1, 2))
    sitting.begin("02")
    with pytest.raises(ExerciseError, match="exercise 02 is open"):
        sitting.begin("03")
    sitting.finish(apex_px=(1, 2))
    with pytest.raises(ExerciseError, match="has its answer"):
        sitting.begin("02")
    with pytest.raises(ExerciseError, match="no exercise 'x'"):
        sitting.begin("x")


def test_a_refused_answer_leaves_the_exercise_open_and_the_clock_running(sitting, clock):
    sitting.begin("02")
    clock.now += 5
    with pytest.raises(ExerciseError, match="exactly apex_px"):
        sitting.finish(canal_px=PATH)
    clock.now += 5
    assert sitting.finish(apex_px=(1, 2)).seconds == 10.0


@pytest.mark.parametrize(
    ("task", "given", "words"),
    [
        ("01", {}, "gives nothing; exactly reference_px"),
        ("01", {"reference_px": PATH, "canal_px": PATH}, "exactly reference_px"),
        ("01", {"reference_px": PATH[:1]}, "1 point"),
        ("02", {"apex_px": (1, 2, 3)}, "no point"),
        ("02", {"apex_px": (1, "x")}, "no point"),
        ("02", {"apex_px": (1, 10**400)}, "no point"),
        ("02", {"apex_px": (1, float("nan"))}, "no point"),
        ("02", {"apex_px": (1, 2), "seconds": -1.0}, "seconds or clicks that cannot be"),
        ("02", {"apex_px": (1241, 2)}, "leaves the image"),
        ("01", {"reference_px": ((10, 10), (20, 941))}, "leaves the image"),
        ("09", {"choice": "guess"}, "accept, adjust, repeat"),
    ],
    ids=[
        "nothing",
        "too much",
        "short",
        "three",
        "text",
        "beyond a float",
        "nan",
        "negative time",
        "below",
        "beside",
        "unknown choice",
    ],
)
def test_what_is_no_answer_is_refused(task, given, words):
    with pytest.raises(ExerciseError, match=words):
        make_answer(course().exercises.task(task), order=1, **given)


def test_a_name_is_refused():
    with pytest.raises(ExerciseError, match="may be a name"):
        Sitting(course().exercises, "Anna")


def test_the_image_is_checked_before_it_is_shown(tmp_path):
    publish(course(), tmp_path / "set", tmp_path / "answers.json")
    sitting = Sitting(load_set(tmp_path / "set"), "A1", folder=tmp_path / "set")
    assert sitting.image("01").shape == (1240, 940)
    (tmp_path / "set" / "02.png").write_bytes((tmp_path / "set" / "01.png").read_bytes())
    with pytest.raises(ExerciseError, match="pixels are not those"):
        sitting.image("02")
    with pytest.raises(ExerciseError, match="no folder"):
        Sitting(course().exercises, "A1").image("01")


def test_a_sitting_knows_no_answer(sitting):
    kept = json.dumps(sitting.attempt().model_dump(mode="json"))
    reach = [name for name in vars(sitting) if "truth" in name]
    assert reach == []
    assert "seed" not in kept


def test_it_goes_on_where_it_was_left(sitting, clock, tmp_path):
    sitting.begin("02")
    sitting.finish(apex_px=(1, 2))
    sitting.begin("01")
    kept = load_attempt(sitting.save(tmp_path / "A07.attempt.json"))
    again = Sitting(course().exercises, "A07", clock=clock, earlier=kept)
    assert again.open_task is None
    assert again.left == ("01", *(task.id for task in course().exercises.tasks[2:]))
    assert again.begin("01") == again.open_task
    assert again.finish(reference_px=PATH).order == 2
    assert [answer.task for answer in again.attempt().answers] == ["02", "01"]


def test_it_goes_on_from_nobody_elses_answers(sitting):
    sitting.begin("02")
    sitting.finish(apex_px=(1, 2))
    kept = sitting.attempt()
    with pytest.raises(ExerciseError, match="is A07's; an attempt of A08"):
        Sitting(course().exercises, "A08", earlier=kept)
    with pytest.raises(ExerciseError, match="another version"):
        Sitting(course().exercises, "A07", earlier=kept.model_copy(update={"edition": "0" * 64}))
    with pytest.raises(ExerciseError, match="another set"):
        Sitting(course().exercises, "A07", earlier=kept.model_copy(update={"set": "0" * 32}))
