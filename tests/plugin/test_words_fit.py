"""What to do next fits on the image, and is read on a bright one to its last letter."""

import numpy as np
import pytest

from napari_radlength._viewer import say_on_image, words_overlay

LONG = "6 clicks along the instrument to its tip; click on or drag, Enter goes on to the canal, and so on"


def test_without_a_window_words_keep_their_lines(viewer):
    say_on_image(viewer, "first\nsecond")
    assert words_overlay(viewer).text == "first\nsecond"


@pytest.mark.gui
def test_words_are_read_to_the_last_letter_in_a_small_window(make_napari_viewer):
    viewer = make_napari_viewer(show=True)
    viewer.theme = "dark"
    viewer.window.resize(1000, 700)
    image = viewer.add_image(np.zeros((60, 90), np.uint8), contrast_limits=(0, 255))
    viewer.reset_view()
    say_on_image(viewer, LONG)
    high = 20 * len(words_overlay(viewer).text.split("\n"))
    words = viewer.screenshot(canvas_only=True, flash=False)[:high, :, 0]
    image.data = np.full((60, 90), 255, np.uint8)
    image.scale, image.translate = (9, 9), (-100, -100)  # behind all of the words
    box = viewer.screenshot(canvas_only=True, flash=False)[:high, :, 0]
    assert (box[:, -4:] > 128).all()
    last = int(np.flatnonzero((words > 128).any(0)).max())
    assert words_overlay(viewer).text.rstrip().endswith("so on")
    assert last < words.shape[1] - 4
    assert int(np.flatnonzero((box < 64).any(0)).max()) > last
