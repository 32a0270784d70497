"""Diameters and an outline belong to the size and taper that stand in the field, and to nothing typed before."""

import numpy as np
import pytest
from helpers.marked_dock import layer

from radlength.length import Terminus


@pytest.fixture
def shown(marked, qtbot):
    """A dock that shows 25/.06 on its canal."""
    marked.edit_canal(terminus=Terminus(offset_mm=1.0))
    type_over(marked, qtbot, "25/.06")
    marked.shape.show_button.click()
    assert "0.25 at 0" in marked.shape.words.text()
    assert len(outline(marked)) > 0
    return marked


def type_over(dock, qtbot, text):
    dock.shape.option.selectAll()
    qtbot.keyClicks(dock.shape.option, text)


def outline(dock):
    return np.asarray(layer(dock.viewer, "outline").data)


def test_other_words_take_the_diameters_and_the_outline_away(shown, qtbot):
    type_over(shown, qtbot, "40/.04")
    assert "0.25" not in shown.shape.words.text()
    assert len(outline(shown)) == 0
    shown.shape.show_button.click()
    assert "0.40 at 0" in shown.shape.words.text()
    assert len(outline(shown)) > 0


@pytest.mark.parametrize("words", ["25", "25/6", "200/.02", "25/.06@99"])
def test_nothing_is_shown_of_an_option_that_is_refused(shown, qtbot, said, words):
    shown.shape.option.setText("25/.06")
    shown.shape.show_button.click()
    type_over(shown, qtbot, words)
    shown.shape.show_button.click()
    assert len(said) == 1
    assert "mm wide" not in shown.shape.words.text()
    assert len(outline(shown)) == 0
