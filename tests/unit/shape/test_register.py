import numpy as np
import pytest
from helpers.pairs import miss_px, pair, similarity, sources
from scipy.ndimage import map_coordinates

from radlength.errors import ImageError
from radlength.shape.registration import moved, register


def bone(low=(0, 0), size=320):
    return (255 * sources()[2][low[0] : low[0] + size, low[1] : low[1] + size]).astype(np.uint8)


@pytest.fixture(scope="module")
def laid():
    one, other, matrix = pair(2, size=360)
    return register(one, other), matrix, one, other


def test_a_known_map_comes_back(laid):
    found, matrix, one, _ = laid
    assert miss_px(found.matrix, matrix, one.shape[0]) < 0.1
    assert found.residual_px < 0.3
    assert 0 < found.u_px < 0.1
    assert found.as_dict()["blocks"] == len(found.blocks.places_px)


def test_points_go_there_and_back(laid):
    found, matrix, _, _ = laid
    points = np.array([(10.0, 20.0), (300.0, 250.0)])
    assert found.to_first(found.to_second(points)) == pytest.approx(points, abs=1e-9)
    assert found.to_second(points) == pytest.approx(moved(matrix, points), abs=0.2)
    assert found.turn_deg == pytest.approx(np.degrees(np.arctan2(matrix[1, 0], matrix[0, 0])), abs=0.05)
    assert found.size == pytest.approx(np.sqrt(np.linalg.det(matrix[:2, :2])), abs=1e-3)


def test_what_is_ignored_does_not_pull():
    one = bone()
    other = one.copy()
    other[60:260, 100:180] = np.roll(one, 3, axis=1)[60:260, 100:180]
    ignore = np.zeros(one.shape, bool)
    ignore[50:270, 90:190] = True
    found = register(one, other, ignore=ignore)
    assert miss_px(found.matrix, np.eye(3), 320) < 0.02


def test_a_third_of_the_image_that_moved_by_itself_does_not_pull():
    one = bone()
    other = one.copy()
    other[60:260, 100:180] = np.roll(one, 3, axis=1)[60:260, 100:180]
    assert miss_px(register(one, other).matrix, np.eye(3), 320) < 0.1


def test_images_of_two_things_are_refused():
    with pytest.raises(ImageError, match=r"have \d+ places in common; 10 or more: .* nothing is compared"):
        register(bone(), np.ascontiguousarray(bone((500, 300))[::-1]))


def test_a_view_squeezed_in_one_direction_is_refused():
    one = bone(size=320)
    rows, columns = np.mgrid[:320, :320].astype(float)
    other = map_coordinates(one, [160 + (rows - 160) * 1.05, columns], order=3, mode="reflect")
    with pytest.raises(ImageError, match=r"parts of .* lie up to .* pixels from where one view would put"):
        register(one, np.clip(other, 0, 255).astype(np.uint8))


def test_parts_at_two_depths_that_shift_against_each_other_are_refused():
    one, behind = bone(size=320).astype(float), bone((400, 250), 320).astype(float)
    both = [(np.roll(one, shift, axis=1) + np.roll(behind, -shift, axis=1)) / 2 for shift in (0, 4)]
    with pytest.raises(ImageError) as caught:
        register(*(image.astype(np.uint8) for image in both))
    assert caught.value.code in ("view-changed", "registration-nothing-in-common")


def test_a_photograph_of_a_block_may_lean_and_not_much():
    one = bone(size=320)
    for lean, code in ((0.04, None), (0.5, "view-changed")):
        matrix = np.array([[1, 0, 0], [0, 1, 0], [lean / 320, 0, 1.0]]) @ similarity(320, 1, 1.0, 4, 2)
        rows, columns = np.mgrid[:320, :320].astype(float)
        back = np.linalg.inv(matrix) @ np.stack([columns.ravel(), rows.ravel(), np.ones(320 * 320)])
        back /= back[2]
        other = map_coordinates(one, back[1::-1], order=3, mode="reflect").reshape(320, 320)
        other = np.clip(other, 0, 255).astype(np.uint8)
        if code is None:
            assert miss_px(register(one, other, kind="block").matrix, matrix, 320) < 0.1
        else:
            with pytest.raises(ImageError, match=r"is stretched by .* in one direction"):
                register(one, other, kind="block")


@pytest.mark.parametrize(
    ("image", "words"),
    [
        pytest.param(np.zeros((200, 200), np.uint8), "the second image is one grey all over", id="blank"),
        pytest.param(
            np.ones((50, 200), np.uint8), r"has the shape \(50, 200\); a grey image of 96 pixels", id="small"
        ),
        pytest.param(np.ones((200, 200, 3), np.uint8), r"has the shape \(200, 200, 3\)", id="colour"),
    ],
)
def test_what_is_no_image_to_compare_is_refused(image, words):
    with pytest.raises(ImageError, match=words):
        register(bone(), image)
