"""Decimal commas look like ``row,column``: refused where something tells, taken as they stand where nothing does."""

import pytest

from radlength.cli.points import parse_points
from radlength.errors import MarkError

WAY = "278,513 386,543 496,569 614,598 720,620 831,645 945,661 1080,663"


def comma(points, digits):
    return " ".join(f"{row:.{digits}f} {column:.{digits}f}" for row, column in points).replace(".", ",")


@pytest.mark.parametrize("digits", [1, 2])
def test_the_way_of_a_canal_typed_with_decimal_commas_is_refused(digits):
    points = [(row + 0.36, column + 0.41) for row, column in parse_points(WAY, subject="--path")]
    with pytest.raises(MarkError, match="looks like one with decimal commas") as caught:
        parse_points(comma(points, digits), subject="--path")
    assert f'"{points[0][0]:.{digits}f},{points[0][1]:.{digits}f}"' in str(caught.value)


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("278,05 513,2", id="a-fraction-that-begins-with-0"),
        pytest.param("278,125 513,25; 386,75 543,5", id="a-semicolon-after-two"),
        pytest.param("278,125 513,25; 386,75 543,5;", id="and-one-at-the-end"),
        pytest.param("278,5 513,2 1080,4 663,7", id="two-points"),
        pytest.param("20,75 60,25 240,50 64,75", id="rows-to-and-fro"),
    ],
)
def test_what_shows_a_decimal_comma(text):
    with pytest.raises(MarkError, match="decimal commas"):
        parse_points(text, subject="--gap")


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(WAY, id="columns-of-three-digits"),
        pytest.param(WAY.replace(" ", "; "), id="a-semicolon-after-each"),
        pytest.param("20,60 70,60 120,61 180,62 230,63 241,64", id="columns-of-two-digits-one-way"),
        pytest.param("20,60 10,70 40,75 60,62 80,20", id="an-odd-number"),
        pytest.param("80,5 960,7", id="two-words"),
        pytest.param("278.0,5 513,2 886,4 943,1", id="a-point-says-that-none-is-a-comma"),
        pytest.param("0278,0513 0386,0543", id="filled-up-with-0-by-a-program"),
        pytest.param("278,513 386,543;", id="two-points-and-a-semicolon-at-the-end"),
        pytest.param("0,0 0,100 100,100 100,0", id="a-column-of-0"),
    ],
)
def test_what_may_be_meant_as_it_stands_is_taken_so(text):
    assert len(parse_points(text, subject="--path")) == len(text.split())


def test_whole_pixels_in_the_first_columns_are_typed_with_one_point():
    with pytest.raises(MarkError, match=r"if whole pixels are meant, write the first as 10\.0,5"):
        parse_points("10,5 20,5 30,6 40,6", subject="--path")
    assert parse_points("10.0,5 20,5 30,6 40,6", subject="--path")[0] == (10.0, 5.0)
