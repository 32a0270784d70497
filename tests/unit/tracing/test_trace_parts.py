"""The steps of a trace one by one, on arrays small enough to reason about."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

from radlength.tracing.bright import FAINT, STRONG, bright_line
from radlength.tracing.corridor import ACROSS_MM, FINE_MM, WIDE_ACROSS_MM, corridor_through, straighten
from radlength.tracing.cover import covered, without
from radlength.tracing.evidence import quiet_around, weigh
from radlength.tracing.filters import SIGMAS_MM, Answers, smooth_along
from radlength.tracing.metal import heights
from radlength.tracing.odds import CROWN_ENDS, NATS, ROOT, WEIGHTS, odds
from radlength.tracing.search import SLOPES, _bend, likely_courses
from radlength.tracing.smooth import smooth_course

STRAIGHT = corridor_through(np.array([[2.0, 5.0], [9.0, 5.0], [16.0, 5.0]]))
ROWS = len(STRAIGHT.rows_mm)


def strip(profile):
    return np.tile(np.asarray(profile, np.float32), (len(STRAIGHT.points_mm), 1))


def test_the_room_loads_without_heavy_libraries():
    heavy = "[m for m in ('cv2', 'scipy', 'skimage') if m in sys.modules]"
    code = f"import sys, radlength.tracing as room; room.trace_canal; print({heavy})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_line_of_depth_one_answers_one_at_its_own_width():
    for number, sigma in enumerate(SIGMAS_MM):
        found = Answers(strip(50 - np.exp(-0.5 * (WIDE_ACROSS_MM / sigma) ** 2))).lines[:, ROWS // 2, 30]
        assert found[number] == pytest.approx(1, abs=1e-4)


@pytest.mark.parametrize("profile", [0 * WIDE_ACROSS_MM + 80, 80 + 9 * WIDE_ACROSS_MM], ids=["even", "slope"])
def test_even_and_sloping_grey_answer_nothing(profile):
    assert np.abs(Answers(strip(profile)).lines).max() < 0.02


def test_an_edge_is_one_sided_and_a_line_is_not():
    edge = Answers(strip(np.where(WIDE_ACROSS_MM < 0, 40.0, 90.0))).step[ROWS // 2, 30]
    line = Answers(strip(90 - 30 * np.exp(-0.5 * (WIDE_ACROSS_MM / 0.2) ** 2))).step[ROWS // 2, 30]
    assert edge == pytest.approx(50, rel=0.1)
    assert line < 0.01


def test_straightened_strip_shows_the_image_where_the_corridor_is():
    """Pixels of 0.05 mm holding their own column: the strip across a vertical path reads those columns."""
    image = np.tile(np.arange(200, dtype=np.uint8), (400, 1))
    found = straighten(image, STRAIGHT, np.array([0.05, 0.05]))
    middle = found[len(found) // 2]
    expected = (5.0 + STRAIGHT.across[0, 1] * WIDE_ACROSS_MM) / 0.05
    np.testing.assert_allclose(middle, expected, atol=0.01)


def test_without_evidence_the_course_is_the_curve_through_the_clicks():
    courses = likely_courses(np.zeros((ROWS, len(ACROSS_MM))), STRAIGHT)
    np.testing.assert_allclose(courses.share.sum(axis=1), 1)
    assert np.abs(courses.course_mm).max() <= FINE_MM
    assert courses.rows[0] == 0
    assert courses.rows[-1] == ROWS - 1


def test_course_follows_a_line_that_bends_away_and_comes_back():
    line = 0.8 * np.sin(np.linspace(0, np.pi, ROWS))
    weight = np.exp(-0.5 * ((ACROSS_MM - line[:, None]) / 0.15) ** 2) * 2
    corridor = corridor_through(np.array([[2.0, 5.0], [16.0, 5.0]]))
    found = smooth_course(likely_courses(weight, corridor), weight)
    assert found[0] == 0
    assert found[-1] == 0
    assert np.abs(found - line).max() < 0.1


def test_two_equal_lines_leave_the_choice_open():
    weight = np.exp(-0.5 * ((np.abs(ACROSS_MM) - 0.7) / 0.1) ** 2) * np.full((ROWS, 1), 2.0)
    corridor = corridor_through(np.array([[2.0, 5.0], [16.0, 5.0]]))
    share = likely_courses(weight, corridor).share[16]
    assert share[ACROSS_MM > 0.4].sum() == pytest.approx(share[ACROSS_MM < -0.4].sum(), abs=0.02)
    assert share[ACROSS_MM > 0.4].sum() > 0.3


def two_lines():
    weight = np.exp(-0.5 * ((np.abs(ACROSS_MM) - 0.7) / 0.1) ** 2) * np.full((ROWS, 1), 2.0)
    return likely_courses(weight, corridor_through(np.array([[2.0, 5.0], [16.0, 5.0]])))


def test_a_canal_keeps_to_one_of_two_equal_lines_in_half_of_all_courses():
    courses = two_lines()
    ends = np.minimum(np.minimum(np.arange(ROWS), np.arange(ROWS)[::-1]) * 0.05, 0.7)
    assert courses.within(np.zeros(ROWS), 3.0, 0.0) == pytest.approx(1, abs=1e-3)
    one, other = (courses.within(side * ends, 0.6, 1 / 3) for side in (1, -1))
    assert one == pytest.approx(other, abs=0.02)
    assert 0.4 < one <= 0.5


def test_how_likely_a_canal_keeps_near_a_line_is_the_share_of_courses_drawn_that_do():
    """Courses drawn node by node, each state by what lies before it and what the chain says of the rest."""
    courses, rng = two_lines(), np.random.default_rng(5)
    chain, middle, first = courses.chain, len(ACROSS_MM) // 2, len(courses.rows) // 3
    line = np.where(np.arange(ROWS) < ROWS - 12, 0.7, 0.4)
    near, kept = np.abs(ACROSS_MM - line[courses.rows][:, None]) <= 0.55 + 1e-9, 0
    for _ in range(600):
        share = chain.forward[first] * chain.backward[first]
        slope, place = np.unravel_index(rng.choice(share.size, p=share.ravel() / share.sum()), share.shape)
        inside = True
        for node in range(first, len(courses.rows) - 1):
            inside &= bool(near[node, place])
            place = int(np.clip(place + SLOPES[slope], 0, 2 * middle))
            onward = _bend()[slope] * chain.backward[node + 1][:, place]
            slope = rng.choice(len(SLOPES), p=onward / onward.sum())
        kept += inside
    assert courses.within(line, 0.55, 1 / 3) == pytest.approx(kept / 600, abs=0.07)
    assert 0.1 < kept / 600 < 0.9


@pytest.mark.parametrize(
    ("place", "ours"), [(0.0, True), (0.9, False)], ids=["under the clicks", "beside them"]
)
def test_a_bright_line_is_ours_only_under_the_clicks(place, ours):
    noise = np.random.default_rng(1).normal(0, 1, (len(STRAIGHT.points_mm), len(WIDE_ACROSS_MM)))
    line = 90 * np.exp(-0.5 * ((WIDE_ACROSS_MM - place) / 0.15) ** 2)
    given = (100 + line + noise).astype(np.float32)
    evidence = weigh(given, STRAIGHT)
    assert evidence.line is not None
    assert evidence.line.ours is ours
    best = ACROSS_MM[evidence.weight.mean(axis=0).argmax()]
    assert bool(abs(best - place) < 0.06) is ours


def test_texture_holds_no_bright_line():
    noise = np.random.default_rng(2).normal(100, 5, (len(STRAIGHT.points_mm), len(WIDE_ACROSS_MM)))
    given = noise.astype(np.float32)
    assert bright_line(heights(given), quiet_around(Answers(given).around), STRAIGHT) is None


@pytest.mark.parametrize("half_mm", [0.1, 0.25, 0.6], ids=str)
def test_a_line_stands_out_by_its_height_whatever_its_width(half_mm):
    across = np.abs(WIDE_ACROSS_MM - 0.2)
    found = heights(strip(50 + 80 / (1 + np.exp((across - half_mm) / 0.02))))
    row = found.height[ROWS // 2]
    assert row.max() == pytest.approx(80, rel=0.15)
    assert abs(np.median(ACROSS_MM[row > 0.99 * row.max()]) - 0.2) < 0.06
    assert found.half_mm[ROWS // 2, row.argmax()] <= half_mm + 0.11


def test_an_edge_does_not_stand_out_and_two_lines_are_not_one():
    edge = heights(strip(np.where(WIDE_ACROSS_MM < 0, 40.0, 90.0))).height
    assert edge.max() <= 0
    two = 50 + 80 * (np.abs(np.abs(WIDE_ACROSS_MM) - 0.4) < 0.2)
    row = heights(strip(two)).height[ROWS // 2]
    assert row[np.abs(ACROSS_MM) < 0.1].max() <= 0
    assert row[np.abs(ACROSS_MM - 0.4) < 0.06].max() == pytest.approx(80, rel=0.05)


def test_of_two_lines_of_metal_the_clicks_say_which():
    """The brighter one 0.7 mm beside does not draw the trace to itself, and what it covers speaks neither way."""
    places = np.exp(-0.5 * ((WIDE_ACROSS_MM - np.array([[0.0], [0.7]])) / 0.12) ** 2)
    noise = np.random.default_rng(4).normal(0, 1, (len(STRAIGHT.points_mm), len(WIDE_ACROSS_MM)))
    given = (100 + np.array([60.0, 110.0]) @ places + noise).astype(np.float32)
    evidence = weigh(given, STRAIGHT)
    assert evidence.line is not None
    assert evidence.line.ours
    assert abs(ACROSS_MM[evidence.weight.mean(axis=0).argmax()]) < 0.06


def test_metal_of_another_canal_is_taken_out_and_dentine_between_two_canals_is_not():
    """Two dark lines leave a bright one between them, which stands out over both and over nothing else."""
    noise = np.random.default_rng(5).normal(0, 1, (len(STRAIGHT.points_mm), len(WIDE_ACROSS_MM)))
    metal = 90 * np.exp(-0.5 * ((WIDE_ACROSS_MM - 1.8) / 0.12) ** 2)
    canals = -30 * np.exp(-0.5 * ((np.abs(WIDE_ACROSS_MM) - 0.5) / 0.15) ** 2)
    for line, found in ((metal, True), (canals, False)):
        given = (100 + line + noise).astype(np.float32)
        places = covered(heights(given), quiet_around(Answers(given).around))
        assert bool(places.any()) is found
        rest = without(given, places)
        assert np.abs(rest - 100 - (0 if found else line)).max() < 8
        np.testing.assert_array_equal(rest[::3][~places], given[::3][~places])


def test_metal_beside_a_canal_hides_none_of_it_and_makes_no_other():
    noise = np.random.default_rng(6).normal(0, 1, (len(STRAIGHT.points_mm), len(WIDE_ACROSS_MM)))
    canal = -25 * np.exp(-0.5 * (WIDE_ACROSS_MM / 0.15) ** 2)
    metal = 90 * np.exp(-0.5 * ((WIDE_ACROSS_MM - 0.9) / 0.15) ** 2)
    evidence = weigh((100 + canal + metal + noise).astype(np.float32), STRAIGHT)
    place, told = (one[ROWS // 2 :].mean(axis=0) for one in (evidence.place, evidence.weight))
    assert abs(ACROSS_MM[place.argmax()]) < 0.06
    beside = (np.abs(ACROSS_MM) > 0.4) & (ACROSS_MM < 1.4)
    assert told[beside].max() < 0.3 * told.max()


def test_where_all_is_covered_nothing_is_taken_out():
    given = strip(WIDE_ACROSS_MM)
    everything = np.ones((ROWS, len(WIDE_ACROSS_MM)), dtype=np.bool_)
    np.testing.assert_array_equal(without(given, everything), given)


def test_odds_are_those_of_the_table_in_the_root_and_say_little_in_the_crown():
    weight = np.tile(WEIGHTS, (150, 1))
    told = odds(weight, np.full(weight.shape, 2))
    np.testing.assert_allclose(
        told[int(CROWN_ENDS[1] * 150) + 1 :], np.tile(NATS * ROOT[2], (89, 1)), atol=1e-9
    )
    assert np.abs(told[:40, :4]).max() < 1e-9
    assert (np.diff(told, axis=1) >= 0).all()


def test_a_path_as_long_as_a_root_has_no_crown():
    weight = np.tile(WEIGHTS, (80, 1))
    told = odds(weight, np.full(weight.shape, 2))
    np.testing.assert_allclose(told, np.tile(NATS * ROOT[2], (80, 1)), atol=1e-9)


def filled(contrast, parts):
    """A canal filled from row to row of the evidence, a little wider than the one beside it, on texture."""
    rng = np.random.default_rng(7)
    bright = sum(np.exp(-0.5 * ((WIDE_ACROSS_MM - place) / 0.2) ** 2) for place in (0.0, 1.4))
    along = np.isin(np.arange(ROWS), np.concatenate([np.arange(*part) for part in parts]))
    texture = smooth_along(
        rng.normal(0, 4, (len(STRAIGHT.points_mm), len(WIDE_ACROSS_MM))).astype(np.float32), 0.3
    )
    return (100 + contrast * np.repeat(along, 3)[: len(texture), None] * bright + texture).astype(np.float32)


def line_of(given):
    return bright_line(heights(given), quiet_around(Answers(given).around), STRAIGHT)


def test_a_filling_that_stands_out_less_than_metal_is_seen_when_it_is_long():
    """A faint line for 10 mm is one; for 2.5 mm it may be anything."""
    faint = next(one for one in np.arange(4.0, 40.0) if top(filled(one, [(10, 80)])) > 1.1 * FAINT)
    assert top(filled(faint, [(10, 80)])) < STRONG
    found = line_of(filled(faint, [(10, 80)]))
    assert found is not None
    assert found.ours
    assert found.rows[12:78].all()
    assert line_of(filled(faint, [(30, 47)])) is None


def top(given):
    found = heights(given)
    height = found.height[20:70, 28:33].max(axis=1)
    return float(np.median(height / max(quiet_around(Answers(given).around), found.noise)))


def test_a_filling_goes_on_past_a_gap():
    found = line_of(filled(60, [(5, 50), (56, 66)]))
    assert found.rows[58:64].all()
    assert not found.rows[70:].any()
