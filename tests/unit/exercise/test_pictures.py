"""The picture after an exercise, the charts of a class, the bar of progress, and the levels behind them."""

import io
from dataclasses import replace

import numpy as np
import pytest
from helpers.exercise_markers import CAREFUL, PERFECT, Marker, attempt_of, course, traces, truth_of
from rich.console import Console

from radlength.cli.exercise_progress import counting
from radlength.exercise import ExerciseError, Key, build_set, course_items
from radlength.exercise.advice import NO_CAUSE
from radlength.exercise.charts import curve_chart, difference_chart, learner_chart, parts_chart
from radlength.exercise.class_agreement import agree
from radlength.exercise.course import STEPS, assessment_items
from radlength.exercise.feedback import give_feedback
from radlength.exercise.helpful import helpful_view
from radlength.exercise.learner import summarise
from radlength.exercise.learning import class_curve
from radlength.exercise.levels import LEVELS, level_of, scene_of
from radlength.exercise.picture import feedback_picture
from radlength.exercise.publish import publish
from radlength.report.colours import BLUE, GREEN
from radlength.trade import CAUTION, repeat_rule


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    folder = tmp_path_factory.mktemp("set")
    publish(course(), folder / "set", folder / "answers.json")
    marker = Marker(0.1, 0.1, 0.1, apex_bias_mm=1.0)
    return folder / "set", give_feedback(course().exercises, truth_of(course()), attempt_of(course(), marker))


def count_of(picture, colour):
    return int(np.all(np.abs(picture.astype(int) - colour) < 8, axis=2).sum())


def test_truth_is_drawn_over_the_marks_that_were_made(told):
    folder, feedback = told
    by_aim = {one.result.aim: one for one in feedback.exercises}
    image = {
        aim: feedback_picture(one, folder)[:960, :728] for aim, one in by_aim.items() if one.result.parts_mm
    }
    assert set(image) == {"reference", "apex", "trace"}
    assert count_of(image["trace"], GREEN) > 300
    assert count_of(image["trace"], BLUE) > 300
    assert count_of(image["reference"], GREEN) == 0
    assert 20 < count_of(image["apex"], BLUE) < 300


def test_the_enlarged_apex_is_as_high_in_the_tooth_whether_or_not_the_pitch_is_known(told):
    """A teacher's picture may have no pitch; the instrument in it tells the millimetres all the same."""
    folder, feedback = told
    one = next(one for one in feedback.exercises if one.result.aim == "trace")
    unknown = one.key.truth.model_copy(update={"pitch_mm": (1.0, 1.0)})
    other = replace(one, key=Key(one.key.task, unknown))
    assert np.array_equal(feedback_picture(one, folder), feedback_picture(other, folder))


def test_a_picture_says_what_it_is_of_and_that_it_is_invented(told, monkeypatch):
    """A picture is given away by itself: whose tooth, which length, and that no patient is on it."""
    folder, feedback = told
    written = []
    monkeypatch.setattr(
        "radlength.exercise.picture.write_text", lambda pixels, text, *more: written.append(text)
    )
    one = next(one for one in feedback.exercises if one.result.aim == "trace")
    feedback_picture(one, folder)
    text = " ".join(written)
    assert f"tooth {one.key.task.tooth}, canal {one.key.task.canal}; simulated image, no patient" in text
    assert "Canal length" in text
    assert CAUTION in text


@pytest.mark.parametrize("invented", [True, False])
def test_a_case_that_a_teacher_marked_says_that_it_is_invented_where_it_is(told, monkeypatch, invented):
    folder, feedback = told
    written = []
    monkeypatch.setattr(
        "radlength.exercise.picture.write_text", lambda pixels, text, *more: written.append(text)
    )
    one = next(one for one in feedback.exercises if one.result.aim == "apex")
    truth = one.key.truth.model_copy(update={"basis": "teacher"})
    feedback_picture(replace(one, key=Key(one.key.task, truth), invented=invented), folder)
    assert ("simulated image, no patient" in " ".join(written)) is invented


def test_an_edited_image_is_not_drawn_on(told, tmp_path):
    folder, feedback = told
    (tmp_path / "01.png").write_bytes((folder / "02.png").read_bytes())
    with pytest.raises(ExerciseError, match="pixels are not those"):
        feedback_picture(feedback.exercises[0], tmp_path)


def test_charts_of_nobody_and_of_one(told):
    nobody = agree(course().exercises, [])
    assert difference_chart([], nobody, "Error") is None
    assert learner_chart([]) is None
    assert parts_chart(nobody) is None
    assert curve_chart(()) is None
    one = [summarise("A1", [one.result for one in told[1].exercises])]
    found = agree(course().exercises, one)
    drawn = [
        difference_chart(one, found, "Error against truth"),
        learner_chart(one),
        parts_chart(found),
        curve_chart(class_curve(one)),
    ]
    assert all(drawing is not None and drawing.alt and drawing.shapes for drawing in drawn)
    assert "apex" in drawn[2].alt


def test_a_chart_of_many_shows_every_exercise_and_says_how_many_points_it_draws(told, monkeypatch):
    """Sixteen lengths a learner: of every sixth in a row eight exercises would never be seen."""
    one = summarise("A1", [one.result for one in told[1].exercises])
    marked = [result for result in one.results if result.error_mm is not None]
    sixteen = [replace(marked[0], true_mm=20 + at / 10, measured_mm=20 + at / 10) for at in range(16)]
    many = [replace(one, results=tuple(sixteen))] * 500
    seen = []
    monkeypatch.setattr("radlength.exercise.charts._Plane.point", lambda _, x, y: seen.append(x))
    drawing = difference_chart(many, agree(course().exercises, []), "Error against truth")
    assert len(seen) == 1500
    assert len({round(x, 1) for x in seen}) == 16
    words = [shape.text for shape in drawing.shapes if hasattr(shape, "text")]
    assert "true length, mm; 1500 of 8000 measurements drawn" in words


def test_a_bar_on_a_terminal_and_none_in_a_pipe(monkeypatch):
    for terminal in (True, False):
        out = io.StringIO()
        console = Console(file=out, force_terminal=terminal, width=60)
        monkeypatch.setattr("rich.console.Console", lambda console=console, **_: console)
        with counting("drawing images", 3) as done:
            for _ in range(3):
                done()
        assert ("drawing images" in out.getvalue()) == terminal


@pytest.mark.parametrize("name", list(LEVELS), ids=lambda name: name.replace(" ", "-"))
def test_every_level_is_what_its_name_says(name):
    level = level_of(name)
    for seed in range(25):
        scene = scene_of(level, seed)
        tool = scene.instruments[0]
        gap = scene.gap_mm(tool)
        assert level.gap_mm[0] - 1e-9 <= gap <= level.gap_mm[1] + 1e-9
        along_the_beam = abs(scene.bend_deg * np.sin(np.radians(scene.azimuth_deg)))
        if name == "bend along the beam":
            assert along_the_beam > 22
        if name == "straight":
            assert abs(scene.bend_deg) <= 5
        if name in ("curved root", "poor exposure"):
            assert along_the_beam < 15 < abs(scene.bend_deg)
        wanted = {"instrument long": "repeat", "instrument short": "repeat", "tip at length": "accept",
                  "tip very near": "adjust"}.get(name)  # fmt: skip
        if wanted:
            assert repeat_rule("tip within 1 mm").classify(gap) == wanted
        expected = {"steep tube": "vertical", "poor exposure": "exposure", "straight": "enough"}.get(name)
        if expected:
            assert helpful_view(scene, level.detector).choice == expected


def test_the_course_rises_and_asks_for_every_aim():
    assert len(STEPS) == len(course_items()) == 20
    assert {aim for aim, _ in STEPS} == {"reference", "trace", "apex", "confirm", "view"}
    shares = [LEVELS[level].difficulty for aim, level in STEPS if aim not in ("view", "confirm")]
    assert shares == sorted(shares)
    views = [
        t.choice
        for t in truth_of(course()).answers
        if t.choice in ("shift", "enough", "exposure", "vertical")
    ]
    assert sorted(views) == ["enough", "exposure", "shift"]


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: level_of("easy"), "'easy'"),
        (lambda: assessment_items("ab12cd34ef56" * 3, 0), "0 exercises"),
        (lambda: assessment_items("ab12cd34ef56" * 3, 5, aims=()), "0 aims"),
        (lambda: build_set(course_items()[:1], title="x", kind="self-study", secret=None, repeats=2,
                           render=lambda scene, detector: np.zeros((4, 4), np.uint8)), "2 hidden repeats"),
    ],
    ids=["level", "count", "aims", "repeats"],
)  # fmt: skip
def test_what_cannot_be_made_is_refused(call, words):
    with pytest.raises(ExerciseError, match=words):
        call()


def test_feedback_without_repeats_and_with_a_careful_hand_says_so():
    made = traces(3)
    lines = give_feedback(made.exercises, truth_of(made), attempt_of(made, PERFECT)).lines
    assert not any("repeats scatter" in line for line in lines)
    assert NO_CAUSE in lines
    assert give_feedback(made.exercises, truth_of(made), attempt_of(made, CAREFUL)).summary.measured == 3
