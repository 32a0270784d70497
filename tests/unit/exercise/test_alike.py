"""Marks that two hands do not make are told, however they were changed a little or handed in; chance is not."""

from __future__ import annotations

import numpy as np
import pytest
from helpers.exercise_markers import CAREFUL, Marker, attempt_of, course, speckled, traces, truth_of

from radlength.exercise import Item, build_set, save_attempt
from radlength.exercise.alike import alike
from radlength.exercise.classroom import attempt_files, score_class


def changed(attempt, change, learner, kept=0):
    """Return an attempt whose marks went through a function but for those of the first exercises."""

    def path(points):
        return None if points is None else tuple(tuple(map(float, change(point))) for point in points)

    def answer(one):
        apex = None if one.apex_px is None else path((one.apex_px,))[0]
        given = {"reference_px": path(one.reference_px), "canal_px": path(one.canal_px), "apex_px": apex}
        return one.model_copy(update=given)

    answers = tuple(one if at < kept else answer(one) for at, one in enumerate(attempt.answers))
    return attempt.model_copy(update={"learner": learner, "answers": answers})


def whole_pixels(point):
    return np.round(point)


def trembling(seed, sd_px=1.0):
    rng = np.random.default_rng(seed)
    return lambda point: np.array(point) + np.clip(rng.normal(0, sd_px, 2), -3, 3)


@pytest.mark.parametrize("change", [whole_pixels, trembling(1)], ids=["rounded", "trembling"])
def test_a_copy_that_was_changed_a_little_is_told(change):
    made, others = course(), [attempt_of(course(), CAREFUL, seed, f"A{seed:02d}") for seed in range(20)]
    copied = changed(others[3], change, "Z01")
    assert alike(made.exercises, [*others, copied]) == (("A03", "Z01"),)
    assert alike(made.exercises, others) == ()


def test_who_copies_in_a_second_attempt_is_told_though_neither_counts(tmp_path):
    made = course()
    own = attempt_of(made, CAREFUL, 1, "B01")
    copied = attempt_of(made, CAREFUL, 2, "A01").model_copy(update={"learner": "B01"})
    for name, attempt in {
        "A01": attempt_of(made, CAREFUL, 2, "A01"),
        "A02": attempt_of(made, CAREFUL, 3, "A02"),
        "B01": own,
        "B01-again": copied,
    }.items():
        save_attempt(attempt, tmp_path / f"{name}.attempt.json")
    found = score_class(made.exercises, truth_of(made), attempt_files([tmp_path]))
    assert [one.learner for one in found.learners] == ["A01", "A02"]
    assert [one.code for one in found.set_aside] == ["learner-doubled"] * 2
    assert found.alike == (("A01", "B01"),)


def test_two_attempts_of_one_learner_are_no_copy():
    first = attempt_of(course(), CAREFUL, 1, "A01")
    again = changed(first, whole_pixels, "A01", kept=4)
    assert alike(course().exercises, [first, again]) == ()


def test_five_hundred_hands_that_click_at_the_same_places_are_not_taken_for_one():
    """Harder than any class: as many clicks, equally far apart, on the same straight canals."""
    made = traces(6, "straight", 900)
    hands = [attempt_of(made, CAREFUL, seed, f"A{seed:03d}") for seed in range(500)]
    assert alike(made.exercises, hands) == ()


def test_whole_pixels_of_an_apex_that_are_the_same_by_chance_are_not_told():
    items = [Item("apex", "straight", 930 + number) for number in range(2)]
    made = build_set(
        items, title="Apices", kind="self-study", secret=None, repeats=0, render=speckled, pitch_mm=0.1,
        shape_px=(400, 300),
    )  # fmt: skip
    marker = Marker(apex_mm=0.15)
    hands = [
        changed(attempt_of(made, marker, seed, f"A{seed:02d}"), whole_pixels, f"A{seed:02d}")
        for seed in range(40)
    ]
    marks = [hand.answers[0].apex_px for hand in hands]
    assert len(set(marks)) < len(marks)
    assert alike(made.exercises, hands) == ()


def test_a_file_that_is_named_for_one_and_holds_the_attempt_of_another_is_told(tmp_path):
    made = course()
    copied = attempt_of(made, CAREFUL, 2, "A07")
    for name in ("A06", "A07", "A07 (1)"):
        save_attempt(copied, tmp_path / f"{name}.attempt.json")
    found = score_class(made.exercises, truth_of(made), attempt_files([tmp_path]))
    assert [one.learner for one in found.learners] == ["A07"]
    told = {one.file: one.reason for one in found.set_aside}
    assert set(told) == {"A06.attempt.json", "A07 (1).attempt.json"}
    assert told["A06.attempt.json"].endswith("it is named for A06 and holds the marks of A07: ask A06")
    assert told["A07 (1).attempt.json"] == "A07: the same attempt as A07.attempt.json, which counts"
