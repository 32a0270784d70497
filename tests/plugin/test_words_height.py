"""Words in the dock take the height they need, and give it back: a small screen has little of it."""

import pytest

from napari_radlength._widgets import label

LONG = (
    "2 findings to look at: under Result, and more words than stand in one line of a dock of 300 pixels. " * 3
)


@pytest.mark.parametrize("change", ["words", "width"])
def test_a_label_gives_back_the_height_it_no_longer_needs(qtbot, change):
    words = label("radlength_test")
    qtbot.addWidget(words)
    words.resize(300, 20)
    words.setText("short")
    short = words.minimumHeight()
    words.setText(LONG)
    long = words.minimumHeight()
    assert long > 2 * short > 0
    if change == "words":
        words.setText("short")
        assert words.minimumHeight() == short
    else:
        words.show()
        words.resize(900, long)
        qtbot.waitUntil(lambda: words.minimumHeight() < long)


def test_the_headline_keeps_no_room_for_what_it_said_before(marked):
    what = marked.headline.what
    low = what.minimumHeight()
    what.setText(LONG)
    assert what.minimumHeight() > low
    marked._refresh()
    assert what.minimumHeight() == low
