"""The picture on the screen, the file it came from, and the numbers beside it: they belong together, or it is said."""

import cv2
import numpy as np
import pytest
from helpers.marked_dock import CANAL, layer, mark
from napari.layers import Image, Labels
from napari.layers._source import layer_source

from napari_radlength._convert import IMAGE_KEY, image_layer
from napari_radlength._section_record import CHANGED
from napari_radlength._viewer import words_overlay
from radlength.imaging import read_radiograph
from radlength.record import record_path
from radlength.session import unsaved_path


@pytest.fixture
def opened(dock, image_file):
    """An image opened by its file, marked by hand."""
    dock.open_images([image_file])
    dock.set_assist(False)
    mark(dock.session)
    return dock


def exchange(image):
    """Put another picture in place of one, as a program does that exports under one name."""
    cv2.imwrite(str(image), cv2.imread(str(image), cv2.IMREAD_GRAYSCALE)[:, ::-1])


def brought_in(viewer, path, pixels):
    """Add a layer as a reader of napari's own does."""
    with layer_source(path=str(path)):
        plain = Image(pixels, name=path.stem)
    viewer.add_layer(plain)
    return plain


def radiographs(viewer):
    return [one for one in viewer.layers if one.metadata.get(IMAGE_KEY) is not None]


def test_a_save_beside_another_picture_is_refused_and_the_new_one_offered(opened, image_file, said):
    exchange(image_file)
    opened.save()
    assert "another picture by now" in said[-1]
    assert not record_path(image_file).exists()
    assert opened.recovery.isVisible()
    assert opened.recovery.words.text() == CHANGED["image-exchanged"]
    opened.recovery.bring.click()
    assert opened.headline.length.text() == "no length yet"
    assert [one.metadata[IMAGE_KEY] for one in radiographs(opened.viewer)] == [opened.session.radiograph]
    assert "made on another picture" in opened.recovery.words.text()
    assert unsaved_path(image_file).exists()


@pytest.mark.parametrize("dirty", [True, False])
def test_an_image_opened_again_is_the_picture_that_is_there(opened, image_file, said, dirty):
    if not dirty:
        opened.save()
    exchange(image_file)
    opened.open_images([image_file])
    grey = cv2.imread(str(image_file), cv2.IMREAD_GRAYSCALE)
    shown = opened.session.radiograph.display()
    assert np.corrcoef(shown.ravel(), grey.ravel())[0, 1] > 0.999
    assert opened.headline.length.text() == "no length yet"
    assert unsaved_path(image_file).exists() == dirty
    assert len(radiographs(opened.viewer)) == 1
    assert said == []


def test_a_picture_exchanged_between_its_two_readings_is_not_the_one_marked(dock, viewer, image_file):
    data, settings, _ = image_layer(read_radiograph(image_file))
    exchange(image_file)
    viewer.add_image(data, **settings)
    assert dock.session.radiograph.pixel_sha256 == read_radiograph(image_file).pixel_sha256
    shown = [one for one in radiographs(viewer) if one.visible]
    assert [one.metadata[IMAGE_KEY] for one in shown] == [dock.session.radiograph]


def test_a_page_turned_to_an_exchanged_image_shows_the_new_one(dock, folder):
    dock.open_images([folder])
    first = dock.session.radiograph
    mark(dock.session)
    dock.next_image()
    exchange(first.path)
    dock.previous_image()
    assert dock.session.radiograph.path == first.path
    assert dock.session.radiograph.pixel_sha256 != first.pixel_sha256
    assert dock.session.annotation.canal.path_px == ()


def test_a_second_picture_of_another_reader_is_opened_and_does_not_lie_over_the_first(
    opened, viewer, image_file, qtbot
):
    other = image_file.with_name("other.png")
    cv2.imwrite(str(other), np.random.default_rng(5).integers(0, 90, (400, 300)).astype(np.uint8))
    plain = brought_in(viewer, other, np.zeros((400, 300)))
    qtbot.waitUntil(lambda: opened.session.radiograph.path == other)
    assert plain not in viewer.layers
    assert opened.headline.length.text() == "no length yet"
    opened.show_image(opened.shots.index(next(one for one in opened.shots if one.path == image_file)))
    assert opened.session.annotation.canal.path_px == tuple(CANAL)


def test_labels_of_a_file_are_left_alone(opened, viewer, image_file, qtbot):
    with layer_source(path=str(image_file)):
        labels = Labels(np.zeros((400, 300), int))
    viewer.add_layer(labels)
    qtbot.wait(50)
    assert labels in viewer.layers
    assert viewer.layers[0].metadata[IMAGE_KEY] is opened.session.radiograph


def test_the_same_picture_of_another_reader_keeps_its_marks(opened, viewer, image_file, qtbot):
    plain = brought_in(viewer, image_file, np.zeros((400, 300)))
    qtbot.waitUntil(lambda: plain not in viewer.layers)
    assert opened.session.annotation.canal.path_px == tuple(CANAL)
    assert opened.session.can_undo


def test_a_picture_that_is_no_radiograph_is_refused_and_lies_below(opened, viewer, image_file, said, qtbot):
    photo = image_file.with_name("photo.png")
    photo.write_bytes(b"what another reader takes for a picture")
    plain = brought_in(viewer, photo, np.zeros((400, 300)))
    qtbot.waitUntil(lambda: bool(said))
    assert viewer.layers[0] is plain
    assert opened.session.radiograph.path == image_file
    assert opened.headline.length.text() != "no length yet"


def test_an_image_that_is_deleted_comes_back_below_its_marks(opened, viewer, qtbot):
    length = opened.headline.length.text()
    turned = np.array(opened.layers.image.affine.affine_matrix)
    viewer.layers.remove(opened.layers.image)
    qtbot.waitUntil(lambda: opened.layers.image is not None)
    assert viewer.layers[0] is opened.layers.image
    assert np.array_equal(opened.layers.image.affine.affine_matrix, turned)
    assert "put back" in words_overlay(viewer).text
    assert opened.headline.length.text() == length
    opened.mark_canal()
    assert layer(viewer, "canal") is viewer.layers.selection.active


def test_all_layers_deleted_at_once_come_back(opened, viewer, qtbot):
    before = [one.name for one in viewer.layers]
    viewer.layers.clear()
    qtbot.waitUntil(lambda: len(viewer.layers) == len(before))
    assert [one.name for one in viewer.layers] == before
    assert opened.session.can_undo


def test_an_image_without_marks_is_not_said_to_be_in_a_record(dock, image_file):
    dock.open_images([image_file])
    assert dock.record.words.text() == "nothing is marked yet"
    mark(dock.session)
    assert dock.record.words.text() == "unsaved marks"
