"""Many images one after another: what is out of sight costs little, and comes back as it was left."""

import cv2
import numpy as np
import pytest
from qtpy.QtCore import QThreadPool

from napari_radlength._convert import IMAGE_KEY, image_layer
from napari_radlength._several import HIDDEN_KEPT
from napari_radlength._viewer import empty_layer
from radlength.imaging import read_radiograph

COUNT = HIDDEN_KEPT + 6


@pytest.fixture
def many(dock, tmp_path):
    """A dock that has shown one image after another, the first one marked and turned."""
    for n in range(COUNT):
        pixels = np.random.default_rng(n).integers(0, 90, (400, 300)).astype(np.uint8)
        cv2.imwrite(str(tmp_path / f"{n:02}.png"), pixels)
    dock.open_images([tmp_path])
    dock.show_image(0)
    dock.set_assist(False)
    dock.session.apply(dock.session.with_canal_path([(50.0, 150.0), (360.0, 150.0)]))
    dock.turn(1)
    for n in range(1, COUNT):
        dock.show_image(n)
    QThreadPool.globalInstance().waitForDone(20000)
    return dock


def images(viewer):
    return [one for one in viewer.layers if one.metadata.get(IMAGE_KEY) is not None]


def test_the_viewer_keeps_few_images_that_are_out_of_sight(many, viewer):
    assert len(images(viewer)) == HIDDEN_KEPT + 1
    assert [one.name for one in images(viewer) if one.visible] == [f"{COUNT - 1:02}.png"]
    assert len(many._shots) == COUNT


def test_an_image_that_was_taken_out_comes_back_turned_and_with_its_marks(many, viewer):
    many.show_image(0)
    shown = next(one for one in images(viewer) if one.visible)
    assert shown.name == "00.png"
    assert np.allclose(np.abs(np.asarray(shown.affine.affine_matrix)[:2, :2]), [[0, 1], [1, 0]])
    assert many.session.annotation.canal.path_px == ((50.0, 150.0), (360.0, 150.0))
    points = next(one for one in viewer.layers if one.name == "canal points")
    assert len(points.data) == 2
    assert np.allclose(np.asarray(points.affine.affine_matrix), np.asarray(shown.affine.affine_matrix))


def test_an_image_that_was_taken_out_holds_no_pixels(dock, viewer, image_file):
    dock.open_images([image_file])
    layer = images(viewer)[0]
    assert layer.data.nbytes > 100_000
    viewer.layers.remove(layer)
    empty_layer(layer)
    assert layer.data.nbytes == layer._data_view.nbytes == 4


def test_an_image_that_was_taken_out_can_stand_at_the_side(many, viewer):
    many.show_image(1)
    many.toggle_beside()
    assert {one.name for one in images(viewer) if one.visible} == {"00.png", "01.png"}
    many.toggle_beside()
    assert {one.name for one in images(viewer) if one.visible} == {"01.png"}


def test_an_image_opened_twice_lies_over_no_other(dock, viewer, tmp_path):
    """Another image would be marked on the picture of this one."""
    names = "below.png", "twice.png"
    for n, name in enumerate(names):
        cv2.imwrite(
            str(tmp_path / name), np.random.default_rng(n).integers(0, 90, (400, 300)).astype(np.uint8)
        )
    dock.open_images([tmp_path])
    dock.show_image(1)
    data, settings, _ = image_layer(read_radiograph(tmp_path / "twice.png"))
    viewer.add_image(data, **settings)
    assert [one.name for one in images(viewer) if one.visible] == ["twice.png [1]"]
    dock.show_image(0)
    assert [one.name for one in images(viewer) if one.visible] == ["below.png"]
    assert dock.session.radiograph.name == "below.png"


def test_the_other_view_opened_afterwards_stands_beside_the_first(dock, folder, image_file):
    first, second = sorted(folder.glob("*.png"))[:2]
    dock.open_images([first])
    dock.open_images([second])
    assert {shot.path for shot in dock.shots} == {first, second}
    assert dock.session.radiograph.path == second
    dock.previous_image()
    assert dock.session.radiograph.path == first


def test_an_image_of_another_folder_takes_the_place_of_what_is_saved(dock, folder, tmp_path):
    first = sorted(folder.glob("*.png"))[0]
    (tmp_path / "elsewhere").mkdir()
    other = tmp_path / "elsewhere" / "other.png"
    other.write_bytes(first.read_bytes())
    dock.open_images([first])
    dock.open_images([other])
    assert [shot.path for shot in dock.shots] == [other]
    other.unlink()
    dock.open_images([first])
    assert [shot.path for shot in dock.shots] == [first]


def test_layers_come_and_go_together_when_another_image_is_shown(dock, viewer, folder):
    """napari collects garbage once for each layer that goes by itself, a quarter of a second each."""
    if not hasattr(viewer.layers, "batched_update"):
        pytest.skip("this napari tells no batches")
    dock.open_images([folder])
    dock.set_assist(False)
    dock.session.apply(dock.session.with_canal_path([(20.0, 20.0), (40.0, 22.0)]))
    seen = []
    for name in ("begin_batch", "removed", "inserted", "end_batch"):
        getattr(viewer.layers.events, name).connect(lambda _event, name=name: seen.append(name))
    dock.next_image()
    assert seen.count("removed") >= 3
    assert (seen[0], seen[-1]) == ("begin_batch", "end_batch")
    assert seen.count("begin_batch") == seen.count("end_batch") == 1
    assert [one.visible for one in images(viewer)].count(True) == 1


def test_which_image_is_shown_stands_above_its_length(many):
    assert many.headline.image.text() == f"{COUNT - 1:02}.png · {COUNT} of {COUNT}"
    many.show_image(2)
    assert many.headline.image.text() == f"02.png · 3 of {COUNT}"
    assert not many.headline.image.isHidden()


def test_the_only_image_needs_no_place_among_others(marked):
    assert marked.headline.image.isHidden()
