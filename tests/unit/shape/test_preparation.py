import numpy as np
import pytest
from helpers.bends import bent

from radlength.errors import MarkError, TradeError
from radlength.length import Canal, Terminus, estimate_length
from radlength.scale import Reference
from radlength.shape.options import parse_option
from radlength.shape.preparation import lay_out
from radlength.shape.preview import Wanted, make_preview
from radlength.shape.steps import Rule, Step
from radlength.trade import Instrument

MM = 0.02
REFERENCE = Reference(path_px=[(50, 50), (1050, 50)], length_mm=20.0, limit_mm=0.1)


def measured(points_mm=None, *, offset=1.0):
    points = np.column_stack([np.linspace(0, 21, 12), np.zeros(12)]) if points_mm is None else points_mm
    canal = Canal("45", "single", [tuple(p) for p in points / MM + 50])
    return estimate_length(canal, REFERENCE, terminus=None if offset is None else Terminus(offset_mm=offset))


def root(left_mm=1.5, right_mm=1.2, top_mm=6.0, bottom_mm=21.5):
    return {
        "left": np.array([(top_mm, -left_mm), (bottom_mm, -left_mm)]) / MM + 50,
        "right": np.array([(top_mm, right_mm), (bottom_mm, right_mm)]) / MM + 50,
    }


def laid(text="25/.06", **more):
    return lay_out(measured(), [(text, parse_option(text))], **more)[0]


def test_thickness_on_a_straight_root_is_what_is_left_of_it():
    one = laid(edges_px=root())
    left, right = one.walls
    assert one.at_mm.tolist() == list(range(13))
    assert left.thickness_mm == pytest.approx(1.5 - one.diameter_mm / 2, abs=1e-6)
    assert right.thickness_mm == pytest.approx(1.2 - one.diameter_mm / 2, abs=1e-6)
    assert np.all(left.u_mm > 0.1)


def test_the_outline_is_drawn_at_the_corrected_scale_from_the_working_length():
    one = laid()
    assert one.left_px[0] == pytest.approx([50 + 20 / MM, 50 - 0.125 / MM], abs=0.05) or one.right_px[
        0
    ] == pytest.approx([50 + 20 / MM, 50 - 0.125 / MM], abs=0.05)
    width = np.hypot(*(one.left_px - one.right_px).T) * MM
    assert width[-1] == pytest.approx(0.97, abs=1e-4)


def test_on_a_bend_the_outline_keeps_its_width_across_the_canal():
    estimate = measured(bent(13, 6, 50, 2, 16))
    one = lay_out(estimate, [("30/.04", parse_option("30/.04"))])[0]
    assert np.hypot(*(one.left_px - one.right_px).T)[0] * MM == pytest.approx(0.30, abs=1e-4)


@pytest.mark.parametrize(
    ("threshold", "severity"),
    [pytest.param(1.3, "serious", id="below"), pytest.param(0.9, "question", id="perhaps-below")],
)
def test_a_thin_wall_is_flagged_by_the_users_own_threshold(threshold, severity):
    found = [
        f for f in laid(edges_px=root(1.5, 3.5), threshold_mm=threshold).findings if f.code == "wall-thin"
    ]
    assert [f.severity for f in found] == [severity]
    assert "A projection overstates the true minimum" in str(found[0])


def test_a_thick_wall_is_never_called_safe():
    one = laid(edges_px=root(4, 4), threshold_mm=0.3)
    assert one.findings == ()
    assert not any(word in str(one.findings).lower() for word in ("safe", "enough", "clear", "ok"))


def test_a_taper_larger_than_the_root_allows_is_serious():
    one = laid("60/.12", edges_px=root(0.8, 2.0))
    assert [(f.code, f.severity) for f in one.findings] == [("outline-beyond-root", "serious")]
    assert "passes the marked left edge of the root at" in one.findings[0].sentence
    assert one.walls[0].thickness_mm.min() < 0
    assert one.walls[1].thickness_mm.min() > 0


def test_levels_beside_no_marked_edge_have_no_thickness():
    one = laid(edges_px=root(top_mm=15.0))
    assert np.isnan(one.walls[0].thickness_mm[7:]).all()
    assert not np.isnan(one.walls[0].thickness_mm[:5]).any()


def test_an_edge_beside_no_level_is_a_question():
    edges = {"left": np.array([(0.5, -1.5), (4, -1.5)]) / MM + 50}
    one = laid(edges_px=edges, threshold_mm=1)
    assert [f.code for f in one.findings] == ["edge-elsewhere"]


@pytest.mark.parametrize(
    ("edges", "words"),
    [
        pytest.param(
            {"a": 1.0, "b": 1.4}, "the edges a and b lie on the same side of the canal", id="one-side"
        ),
        pytest.param({"a": 1.0, "b": -1.4, "c": 2.0}, "3 edges of one root; two", id="three"),
    ],
)
def test_edges_that_are_none_of_this_root_are_refused(edges, words):
    paths = {name: np.array([(6, x), (21, x)]) / MM + 50 for name, x in edges.items()}
    with pytest.raises(MarkError, match=words):
        laid(edges_px=paths)


def test_an_edge_that_crosses_the_canal_is_refused():
    with pytest.raises(
        MarkError, match=r"the left edge crosses the canal; .*; mark the other edge by itself"
    ):
        laid(edges_px={"left": np.array([(6, -1.5), (14, -1), (20, 1.5)]) / MM + 50})


def test_an_edge_far_above_is_refused():
    with pytest.raises(MarkError, match="the left edge lies beside no part of the canal"):
        laid(edges_px={"left": np.array([(-3, -1.5), (-2, -1)]) / MM + 50})


def test_a_reversed_path_is_told_by_the_root_that_widens():
    points = np.column_stack([np.linspace(21, 0, 12), np.zeros(12)])
    edges = {
        "left": np.array([(2, -2.5), (10, -2.0), (21, -0.5)]) / MM + 50,
        "right": np.array([(2, 2.5), (10, 2.0), (21, 0.5)]) / MM + 50,
    }
    with pytest.raises(
        MarkError, match=r"the root is wider at the end of the path .* the path runs the wrong way"
    ):
        lay_out(measured(points), [("25/.06", parse_option("25/.06"))], edges_px=edges)
    straight = lay_out(measured(), [("25/.06", parse_option("25/.06"))], edges_px=edges)
    assert len(straight) == 1


@pytest.mark.parametrize(
    ("threshold", "words"),
    [
        pytest.param(0, "a threshold of 0 mm", id="zero"),
        pytest.param(-1, "a threshold of -1 mm", id="negative"),
        pytest.param(300, r"a threshold of 300 mm; .*; write 0\.3 for 300 micrometres", id="micrometres"),
    ],
)
def test_a_threshold_of_no_root_is_refused(threshold, words):
    with pytest.raises(MarkError, match=words):
        laid(threshold_mm=threshold)


def test_without_a_working_length_there_is_no_preparation():
    with pytest.raises(
        MarkError, match="no working length; a preparation ends at a working length; state the term"
    ):
        lay_out(measured(offset=None), [("25/.06", parse_option("25/.06"))])


def test_a_preview_holds_options_pairs_cone_needle_and_steps():
    wanted = Wanted(
        options=("25/.06", "30/.04", "25/.06@2"),
        before="10/.02",
        needle="30G",
        edges_px=root(),
        steps=(Step("apical enlargement", Instrument(25, 0.06), 21.5, "stopped short"),),
        rules=(Rule("short", "smaller"),),
    )
    made = make_preview(measured(), wanted)
    assert made.options[0].colours == "handle 25 red", "the outline on the picture has another colour"
    assert next(p.names for p in made.pairs) == ("25/.06", "30/.04")
    assert made.pairs[0].crossings_mm == (pytest.approx(2.5),)
    assert made.options[2].cone is None
    assert made.options[0].needle.short_mm == pytest.approx(1.0)
    assert made.options[0].removed_mm3 > 3
    assert made.findings[0].code == "step-beyond"
    data = made.as_dict()
    assert data["options"][2]["cone"] is None
    assert data["steps"][0]["reminders"] == ["smaller"]
    assert data["thickness"].startswith("projected thickness")


@pytest.mark.parametrize("count", [0, 7])
def test_the_number_of_options_is_bounded(count):
    with pytest.raises(TradeError, match=f"{count} options; 1 to 6 side by side"):
        make_preview(measured(), Wanted(options=("25/.06",) * count))


@pytest.mark.parametrize("text", ["06/.02", "08/.02", "150/.02"])
def test_an_instrument_of_a_size_no_cone_has_is_shown_without_a_cone(text):
    made = make_preview(measured(), Wanted(options=(text,)))
    assert made.options[0].cone is None
    assert made.options[0].laid.diameter_mm[0] == pytest.approx(float(text[: text.index("/")]) / 100)
    assert [finding.code for finding in made.findings] == ["cone-none"]
    assert "10 to 140" in made.findings[0].sentence


def test_a_cone_of_no_size_that_somebody_names_is_refused():
    with pytest.raises(TradeError, match="a cone of size 8; 10 to 140"):
        make_preview(measured(), Wanted(options=("25/.06",), cone="08/.02"))


def test_a_needle_that_binds_nowhere_is_asked_about():
    """0.31 mm in a canal that is 0.40 mm wide at its end, and in one of 0.25 + 0.06 per mm: 1 mm short."""
    made = make_preview(measured(), Wanted(options=("40/.02", "25/.06"), needle="0.31"))
    assert [option.needle.reaches_end for option in made.options] == [True, False]
    told = [f for f in made.findings if f.code == "needle-loose"]
    assert [(f.subject, f.severity) for f in told] == [("40/.02", "question")]
    assert "binds nowhere" in told[0].sentence
    assert [one["needle"]["reaches_end"] for one in made.as_dict()["options"]] == [True, False]


def test_an_option_that_keeps_the_needle_out_does_not_hide_the_others():
    made = make_preview(measured(), Wanted(options=("15/.02", "40/.06"), needle="21G"))
    assert made.options[0].needle is None
    assert made.options[1].needle.short_mm == pytest.approx((0.82 - 0.40) / 0.06)
    assert [(f.code, f.subject) for f in made.findings if f.severity == "question"] == [
        ("needle-wide", "15/.02")
    ]
    assert "0.39 mm wide 12 mm from the end" in next(
        f.sentence for f in made.findings if f.code == "needle-wide"
    )


@pytest.mark.parametrize(("up_to", "step"), [(2, 1), (12, 1), (None, 5)])
def test_what_is_shown_does_not_change_where_a_cone_and_a_needle_bind(up_to, step):
    """A cone that gains 0.04 mm per mm more than the canal binds at its opening: 2/3 of the 12 mm short."""
    wanted = Wanted(options=("25/.02",), cone="25/.06", needle="27G", up_to_mm=up_to, step_mm=step)
    option = make_preview(measured(), wanted).options[0]
    assert option.cone.binds_mm == pytest.approx(8.0)
    assert option.needle.short_mm == pytest.approx(8.0)


def test_levels_up_to_nothing_are_refused():
    with pytest.raises(TradeError, match=r"steps of 1.0 mm over 0 mm"):
        laid(up_to_mm=0)
