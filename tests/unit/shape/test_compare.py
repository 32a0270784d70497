import json
from dataclasses import replace

import numpy as np
import pytest
from helpers.blocks import MM, centre_line, half_widths, ruler, sides

from radlength.errors import ImageError, MarkError, ScaleError
from radlength.imaging import Radiograph
from radlength.shape.compare import Side, compare_canal
from radlength.shape.transportation import side_on_image, transport
from radlength.shape.walls import find_walls, marked_walls

LEVELS = (2, 3, 5, 7, 9)


@pytest.fixture(scope="module")
def block():
    return sides(1)


@pytest.fixture(scope="module")
def compared(block):
    return compare_canal(*block[0], ruler(), kind="block", levels_mm=LEVELS)


def test_planted_transportation_comes_back_with_its_side(compared):
    for level in compared.levels:
        assert level.transportation_mm == pytest.approx(0.15, abs=0.03)
        assert abs(level.transportation_mm - 0.15) < 2 * level.u_mm
    removed = np.array([(level.left_mm, level.right_mm) for level in compared.levels])
    before, left, right = half_widths(np.array(LEVELS, dtype=float), 0.15)
    assert removed == pytest.approx(np.column_stack([left - before, right - before]), abs=0.02)


def test_doubts_and_changes_are_told(compared):
    codes = [finding.code for finding in compared.findings]
    assert codes == ["transport-projected", "walls-found", "transport-large"]
    by_name = {one.name: one for one in compared.readings}
    assert by_name["length change"].value == pytest.approx(0, abs=0.02)
    assert by_name["straightening, Weine angle"].value == pytest.approx(0, abs=0.5)
    assert by_name["length before"].value == pytest.approx(16.49, abs=0.05)
    data = json.loads(json.dumps(compared.as_dict(), allow_nan=False))
    assert data["levels"][0]["projected_centring_ratio"] > 0
    assert data["walls"] == ["found", "found"]


def test_a_straightened_canal_is_told(block, compared):
    before, after = block[0]
    points = np.asarray(after.canal.path_px)
    share = np.linspace(0, 1, len(points))[:, None]
    straighter = 0.6 * points + 0.4 * (points[0] + share * (points[-1] - points[0]))
    moved = replace(after, canal=replace(after.canal, path_px=[tuple(p) for p in straighter]))
    found = compare_canal(before, moved, ruler(), registration=compared.registration, levels_mm=(9,))
    by_name = {one.name: one for one in found.readings}
    assert by_name["straightening, Schneider angle"].value > 5
    assert by_name["length change"].value < -0.1


def test_walls_that_a_person_marked_count(block, compared):
    (before, after), matrix = block
    line = centre_line(60)
    ahead = np.gradient(line, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    left = np.column_stack([-ahead[:, 1], ahead[:, 0]])
    at = np.linspace(16.5, 0, 60)
    widths = half_widths(at, 0.15)
    marked = []
    for side, (one, other) in ((before, widths[:1] * 2), (after, widths[1:])):
        paths = [(line + side_of * half[:, None] * left) / MM for half, side_of in ((one, 1), (other, -1))]
        if side is after:
            paths = [_through(matrix, path) for path in paths]
        walls = marked_walls(paths[1][::-1], paths[0], side.canal.path_px, u_px=0.5)
        marked.append(replace(side, walls=walls))
    found = compare_canal(*marked, ruler(), registration=compared.registration, levels_mm=(3, 7))
    assert [level.transportation_mm for level in found.levels] == pytest.approx([0.15, 0.15], abs=0.01)
    assert "walls-found" not in [finding.code for finding in found.findings]


def _through(matrix, points):
    out = matrix @ np.stack([points[:, 1], points[:, 0], np.ones(len(points))])
    return (out[:2] / out[2]).T[:, ::-1]


def test_a_reversed_path_is_refused(block, compared):
    before, after = block[0]
    turned = replace(after, canal=replace(after.canal, path_px=after.canal.path_px[::-1]))
    with pytest.raises(
        MarkError, match="46 MB: the paths run opposite ways on the two images; both from the crown"
    ):
        compare_canal(before, turned, ruler(), registration=compared.registration, levels_mm=LEVELS)


def test_another_canal_is_refused(block, compared):
    before, after = block[0]
    away = [(row, column + 140) for row, column in after.canal.path_px]
    with pytest.raises(MarkError, match="the paths lie far apart on the two images; the same canal on both"):
        compare_canal(
            before,
            replace(after, canal=replace(after.canal, path_px=away)),
            ruler(),
            kind="block",
            levels_mm=LEVELS,
        )


@pytest.mark.parametrize("levels", [(), (0,), (-1, 2), (16.4,), (200,)])
def test_levels_off_the_canal_are_refused(block, levels):
    with pytest.raises(
        MarkError, match=r"levels at .* mm; distances from the apical end above 0 and below 16\.0 mm"
    ):
        compare_canal(*block[0], ruler(), kind="block", levels_mm=levels)


def test_a_level_without_a_wall_is_refused(block, compared):
    before, after = block[0]
    short = [
        np.array([(row, column + shift) for row, column in before.canal.path_px[:4]]) for shift in (8, -8)
    ]
    walls = marked_walls(*short, before.canal.path_px, u_px=0.5)
    with pytest.raises(MarkError, match="a wall is not there at 3 mm from the apical end"):
        compare_canal(
            replace(before, walls=walls), after, ruler(), registration=compared.registration, levels_mm=(3,)
        )


def test_an_image_of_something_else_is_refused(block):
    before, after = block[0]
    noise = np.random.default_rng(0).integers(0, 255, before.radiograph.shape).astype(np.uint8)
    other = Side(Radiograph.from_array(noise, name="other.tif"), after.canal)
    with pytest.raises(ImageError, match="nothing is compared"):
        compare_canal(before, other, ruler(), kind="block", levels_mm=LEVELS)


def test_walls_on_one_side_are_refused():
    path = [(0, 50), (100, 50), (200, 50)]
    walls = [[(0, 60), (200, 60)], [(0, 70), (200, 70)]]
    with pytest.raises(MarkError, match="both walls lie on the same side of the canal"):
        marked_walls(*walls, path, u_px=1)


def test_no_walls_on_an_even_image():
    even = np.full((300, 200), 120, np.uint8) + np.random.default_rng(0).integers(
        0, 12, (300, 200), dtype=np.uint8
    )
    with pytest.raises(
        MarkError, match=r"no two walls of the canal stand out on the image; .*; mark both walls"
    ):
        find_walls(even, [(20, 100), (150, 100), (280, 100)], widest_px=30)


@pytest.mark.parametrize("dark", [True, False], ids=["dark", "bright"])
def test_walls_of_a_straight_canal_lie_where_they_were_drawn(dark):
    columns = np.arange(200.0)
    inside = 1 / (1 + np.exp(-(columns - 90.3) / 0.7)) - 1 / (1 + np.exp(-(columns - 108.6) / 0.7))
    image = np.broadcast_to(150 + (-80 if dark else 80) * inside, (300, 200)).astype(np.uint8)
    walls = find_walls(image, [(20, 99), (150, 101), (280, 99)], widest_px=40)
    assert np.median(walls.left_px[:, 1]) == pytest.approx(108.6, abs=0.1)
    assert np.median(walls.right_px[:, 1]) == pytest.approx(90.3, abs=0.1)


def test_nothing_removed_has_no_centring_ratio():
    found = transport(3, (1.2, 1.1), (1.2, 1.1), u_wall_mm=0.01)
    assert (found.transportation_mm, found.centring) == (0, None)
    assert transport(3, (1.2, 1.1), (1.1, 1.0)).centring == pytest.approx(1)
    assert transport(3, (1.2, 1.1), (1.1, 1.15)).centring == 0


def test_canals_of_other_images_need_a_scale(block):
    before, after = block[0]
    with pytest.raises(ScaleError, match="no scale"):
        compare_canal(before, after, None, kind="block", levels_mm=LEVELS)


def test_walls_are_found_though_the_path_runs_beside_a_thin_canal():
    columns = np.arange(200.0)
    inside = 1 / (1 + np.exp(-(columns - 96.0) / 0.7)) - 1 / (1 + np.exp(-(columns - 103.0) / 0.7))
    noise = np.random.default_rng(2).normal(0, 1.5, (300, 200))
    image = np.clip(150 - 80 * inside + noise, 0, 255).astype(np.uint8)
    walls = find_walls(image, [(20, 106), (80, 96), (150, 107), (220, 94), (280, 105)], widest_px=40)
    assert np.median(walls.left_px[:, 1]) == pytest.approx(103, abs=0.4)
    assert np.median(walls.right_px[:, 1]) == pytest.approx(96, abs=0.4)
    assert np.quantile(np.abs(walls.left_px[:, 1] - 103), 0.95) < 1


def test_an_image_stored_the_other_way_round_is_compared_and_one_that_only_looks_so_is_refused(
    block, compared
):
    (before, after), _ = block
    stored = after.radiograph.stored
    inverted = Radiograph.from_array(np.iinfo(stored.dtype).max - stored, name="after.tif")
    with pytest.raises(ImageError, match="neither is mirrored or inverted; nothing is compared"):
        compare_canal(before, replace(after, radiograph=inverted), ruler(), kind="block", levels_mm=LEVELS)
    said = replace(inverted, facts=replace(inverted.facts, photometric="MONOCHROME1"))
    found = compare_canal(before, replace(after, radiograph=said), ruler(), kind="block", levels_mm=LEVELS)
    for one, other in zip(found.levels, compared.levels, strict=True):
        assert one.transportation_mm == pytest.approx(other.transportation_mm, abs=0.005)


def test_a_mirrored_image_is_refused(block):
    (before, after), _ = block
    mirrored = Radiograph.from_array(np.ascontiguousarray(after.radiograph.stored[:, ::-1]), name="after.tif")
    path = [(row, after.radiograph.shape[1] - 1 - column) for row, column in after.canal.path_px]
    side = Side(mirrored, replace(after.canal, path_px=path))
    with pytest.raises(ImageError, match="nothing is compared"):
        compare_canal(before, side, ruler(), levels_mm=LEVELS)


def test_the_side_is_told_as_the_arrow_on_the_picture_points(block, compared):
    """Planted to the left of who looks from the crown: downward on the image that is its right, by hand."""
    told = next(one.sentence for one in compared.findings if one.code == "transport-large")
    side = "to the right side of the image: "
    assert told.startswith(f"The canal was carried {side}at 2 mm 0.1")
    assert told.count(side) == 1
    assert told.count("right") == 1
    assert "left" not in told
    assert set(compared.left_on_image) == {"right"}
    assert {level["left_on_image"] for level in compared.as_dict()["levels"]} == {"right"}


@pytest.mark.parametrize(
    ("way", "named"),
    [((0.0, 1.0), "right"), ((0.0, -1.0), "left"), ((-0.9, 0.1), "upper"), ((0.9, -0.1), "lower")],
)
def test_upper_teeth_and_canals_that_lie_across_have_sides_on_the_image_too(way, named):
    assert side_on_image(way) == named
