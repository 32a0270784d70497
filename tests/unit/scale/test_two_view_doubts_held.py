"""Where each doubt of two views begins, on solutions put together by hand: directions, ratios and differences."""

from types import SimpleNamespace

import numpy as np
import pytest

from radlength.quantity import Quantity
from radlength.scale import two_view_doubts
from radlength.scale.two_view_checks import worst_mark
from radlength.scale.two_view_doubts import (
    _alike,
    _ambiguous,
    _names,
    _one_view,
    _residual,
    _shift,
    _turn,
    _wide,
)
from radlength.scale.two_view_geometry import term_slopes


def told(check, solved):
    return [(finding.code, finding.severity, finding.subject) for finding in check(solved)]


def turning(degrees):
    """A canal whose direction turns evenly through so many degrees, in the plane of the first and the last axis."""
    t = np.linspace(0.0, 1.0, 41)
    heading = np.radians(degrees) * t
    ways = np.column_stack([np.sin(heading), np.cos(heading), np.zeros_like(t)])[:, [0, 2, 1]]
    terms, *_ = np.linalg.lstsq(term_slopes(t), ways, rcond=None)
    best = SimpleNamespace(p=None, problem=SimpleNamespace(curves=lambda p: terms[None]))
    return SimpleNamespace(best=best, canals=[SimpleNamespace(name="MB")])


@pytest.mark.parametrize("degrees", [5.0, 40.0, 66.0])
def test_a_canal_that_turns_as_roots_do_is_not_asked_about(degrees):
    assert told(_turn, turning(degrees)) == []


@pytest.mark.parametrize("degrees", [74.0, 90.0])
def test_a_canal_that_turns_farther_than_roots_do_is_serious(degrees):
    """75 degrees is the largest curve of 700 teeth (Schäfer et al. 2002)."""
    assert told(_turn, turning(degrees)) == [("two-views-turn", "serious", "MB")]
    (finding,) = _turn(turning(degrees))
    assert f"turn through {degrees:.0f}°" in finding.sentence


def straight_lines(length_mm):
    """A canal of 22 mm beside an instrument of 20 on both images, the shifted one a tenth larger."""

    def view(size):
        line = [(0.0, 0.0), (5.0 * size, 0.0), (10.0 * size, 0.0)]
        return SimpleNamespace(
            canals={"MB": [(x * 2.2, y) for x, y in line]},
            instruments={"MB": [(x * 2.0, y) for x, y in line]},
            pitch_mm=(0.5, 0.25),
        )

    marks = SimpleNamespace(
        straight=view(4.0), shifted=view(4.4), instruments=[SimpleNamespace(canal="MB", length_mm=20.0)]
    )
    canal = SimpleNamespace(name="MB", length=Quantity(length_mm, 0.1, length_mm - 0.2, length_mm + 0.2))
    return SimpleNamespace(marks=marks, canals=[canal])


@pytest.mark.parametrize(
    ("length_mm", "images"),
    [
        (22.0, []),
        (22.6, []),
        (21.4, []),
        (22.7, ["straight"]),
        (21.3, ["straight"]),
        (22.95, ["straight", "shifted"]),
        (21.05, ["straight", "shifted"]),
    ],
)
def test_a_length_far_from_that_of_one_image_is_serious(length_mm, images):
    """Rule of three: 20 mm x 2.2 / 2.0 = 22 mm on either image; 0.65 mm off the straight one and 0.9 off the other."""
    found = list(_one_view(straight_lines(length_mm)))
    assert [finding.severity for finding in found] == ["serious"] * len(images)
    assert [
        next(which for which in ("straight", "shifted") if which in one.sentence) for one in found
    ] == images
    assert all(f"{length_mm - 22:+.1f} mm off" in finding.sentence for finding in found)


def shifted_by(found_deg, declared_deg, *, by_declaration, u_found=1.0, u_declared=2.0):
    return SimpleNamespace(
        best=SimpleNamespace(angle_deg=found_deg),
        marks=SimpleNamespace(angle_deg=declared_deg, u_angle_deg=u_declared),
        declared=by_declaration,
        u_shift_deg=u_found,
    )


def test_an_angle_that_the_marker_contradicts_is_told():
    """Three standard deviations of the difference: 3 √(1² + 2²) = 6.7 degrees."""
    off = [("two-views-angle-differs", "question", None)]
    for found in (26.5, 13.5, -26.5):
        assert told(_shift, shifted_by(found, 20.0, by_declaration=False)) == []
    for found in (27.0, 13.0, -27.0):
        assert [code for code, *_ in told(_shift, shifted_by(found, 20.0, by_declaration=False))] == [
            off[0][0]
        ]


def test_a_declared_angle_is_not_compared_with_itself_and_one_that_is_missing_is_asked_for():
    assert told(_shift, shifted_by(29.0, 20.0, by_declaration=True)) == []
    assert [code for code, *_ in told(_shift, shifted_by(20.0, None, by_declaration=True))] == [
        "two-views-angle-not-declared"
    ]
    assert told(_shift, shifted_by(20.0, None, by_declaration=False)) == []


@pytest.mark.parametrize(
    ("others", "more_cost", "asked"),
    [
        ((22.5, 21.0), 3.9, True),
        ((21.5, 21.0), 3.9, True),
        ((22.3, 21.0), 3.9, False),
        ((22.5, 21.0), 4.1, False),
    ],
)
def test_two_shapes_that_explain_the_images_alike_are_told_whichever_is_longer(others, more_cost, asked):
    solved = SimpleNamespace(
        best=SimpleNamespace(lengths_mm=np.array([22.0, 21.0]), cost=10.0),
        other=SimpleNamespace(lengths_mm=np.array(others), cost=10.0 + more_cost),
    )
    assert [code for code, *_ in told(_ambiguous, solved)] == ["two-views-ambiguous"] * asked


@pytest.mark.parametrize(("bend", "u", "asked"), [(48.0, 2.0, True), (-48.0, 2.0, True), (46.0, 2.0, False)])
def test_a_bend_along_the_beam_is_steep_to_either_side(bend, u, asked):
    length = Quantity(22.0, 0.1, 21.8, 22.2)
    canal = SimpleNamespace(name="MB", length=length, bend_along_beam_deg=bend, u_bend_deg=u)
    assert told(_wide, SimpleNamespace(canals=[canal])) == [("two-views-steep", "serious", "MB")] * asked


@pytest.mark.parametrize(
    ("residuals", "chi_square", "asked"),
    [
        ([0.5, -0.3, 1.0, 9.0], 9.0, False),  # the last is no mark
        ([0.5, -4.4, 1.0, 0.0], 9.0, False),
        ([0.5, -4.6, 1.0, 0.0], 9.0, True),
        ([0.5, 4.6, 1.0, 0.0], 9.0, True),
        ([0.5, -0.3, 1.0, 0.0], 60.0, True),  # chi-square 60 of 10: four chances in a thousand million
    ],
)
def test_one_mark_far_off_is_enough_and_so_are_all_a_little(monkeypatch, residuals, chi_square, asked):
    monkeypatch.setattr(two_view_doubts, "worst_mark", lambda solved: "a mark misses the most")
    best = SimpleNamespace(residuals=np.array(residuals), marks=3)
    found = told(_residual, SimpleNamespace(best=best, fit=(chi_square, 10.0)))
    assert found == [("two-views-residual", "serious", None)] * asked


@pytest.mark.parametrize(
    ("names", "depth", "asked"),
    [
        (("MB", "ML"), (-3.0, 1.0), ["MB"]),
        (("MB", "ML"), (-1.9, 1.0), []),
        (("MB", "ML"), (3.0, 1.0), []),
        (("MB", "DB"), (-3.0, 1.0), []),
        (("ML", "DL"), (-3.0, 1.0), []),
        (("MB", "ML", "DB"), (-3.0, 1.0), ["MB", "DB"]),
    ],
)
def test_a_buccal_canal_that_lies_lingual_contradicts_its_name(monkeypatch, names, depth, asked):
    monkeypatch.setattr(two_view_doubts, "depth_between", lambda *numbers: depth)
    solved = SimpleNamespace(
        canals=[SimpleNamespace(name=name) for name in names], best=None, covariance=None
    )
    assert told(_names, solved) == [("two-views-sides-differ", "serious", name) for name in asked]


@pytest.mark.parametrize(
    ("canals", "score", "declared", "severity"),
    [(1, -9.0, True, ["question"]), (3, -9.0, True, ["serious"]), (3, 9.0, True, []), (3, -9.0, False, [])],
)
def test_marks_that_only_moved_as_a_whole_are_asked_about_and_serious_for_several_canals(
    monkeypatch, canals, score, declared, severity
):
    monkeypatch.setattr(two_view_doubts, "score_of_ends", lambda marks, spread, moved: score)
    marks = SimpleNamespace(straight=SimpleNamespace(canals=dict.fromkeys(range(canals))))
    solved = SimpleNamespace(marks=marks, declared=declared, spread=None)
    assert [(code, how) for code, how, _ in told(_alike, solved)] == [
        ("two-views-alike", how) for how in severity
    ]


@pytest.mark.parametrize(
    ("worst", "words"),
    [
        (6, "point 1 beside the tooth on the straight"),
        (11, "point 3 beside the tooth on the straight"),
        (12, "point 1 beside the tooth on the shifted"),
        (15, "point 2 beside the tooth on the shifted"),
        (17, "point 3 beside the tooth on the shifted"),
        (5, "canal ML on the shifted"),
    ],
)
def test_the_mark_that_misses_the_most_is_named(worst, words):
    """Residuals of two clicks along, then of two points and of three beside on each image, two numbers each."""
    residuals = np.zeros(20)
    residuals[worst], residuals[19] = -3.0, 50.0  # the last is no mark
    clicks = SimpleNamespace(view=np.array([0, 0, 1, 1]), role=np.full(4, -1), canal=np.array([0, 1, 0, 1]))
    best = SimpleNamespace(
        problem=SimpleNamespace(clicks=clicks, beside_xy=np.zeros((2, 3, 2))),
        residuals=residuals,
        marks=18,
        foot=np.array([0, 1]),
        point=np.array([2, 3]),
    )
    marks = SimpleNamespace(straight=SimpleNamespace(canals={"MB": None, "ML": None}))
    assert words in worst_mark(SimpleNamespace(best=best, marks=marks))
