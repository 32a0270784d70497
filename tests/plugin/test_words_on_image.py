"""Words on the image: each tells by its colour and its place which canal it belongs to, and is read on any grey."""

import numpy as np
import pytest
from helpers.marked_dock import layer

from napari_radlength._drawing import drawn
from napari_radlength._palette import CANALS, ink
from radlength.session import Session


@pytest.fixture
def two(dock, image_file):
    """A dock with two canals whose apices lie nearly on one another."""
    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    session = dock.session
    session.apply(session.with_reference(path_px=((60.0, 100.0), (320.0, 100.0)), length_mm=20.0))
    session.apply(session.with_canal(tooth="46", name="MB"))
    session.apply(session.with_canal_path([(60.0, 150.0), (320.0, 150.0)]))
    session.add_canal("46", "ML")
    session.apply(session.with_canal_path([(60.0, 156.0), (322.0, 156.0)]))
    return dock


def luminance(colour):
    share = np.array([int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)])
    linear = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def test_words_have_the_colour_of_their_canal(two):
    found = drawn(two.session, 4.0)
    assert found.words[0].startswith("46 MB")
    assert found.inks == (ink(CANALS[0]), ink(CANALS[1]), "#ffffff")
    two.edit_canal(colour=CANALS[3])
    assert drawn(two.session, 4.0).inks[1] == ink(CANALS[3])
    words = layer(two.viewer, "lengths").text
    shown = np.asarray(words.color.array if hasattr(words.color, "array") else words.values)
    assert len(shown) == 5 * 3


def test_two_words_below_each_other_leave_room_between_them(two):
    size = 4.0
    (first, _), (second, _) = drawn(two.session, size).places[:2]
    assert abs(second - first) >= (2 * 2 * 1.25 + 0.5) * size


WINDOW_PX = 8.9 / 2, 6.9
"""Half a letter and a point in a window of 1000 x 700 that shows a whole image, measured on its screenshot."""


def extents(found, size):
    """Return where words begin and end across the image."""
    letter = WINDOW_PX[0] / WINDOW_PX[1] * size
    wide = [letter * max(map(len, said.split("\n"))) for said in found.words]
    return [(column - half, column + half) for half, (_, column) in zip(wide, found.places, strict=True)]


def test_words_beside_each_other_do_not_meet_in_a_small_window(dock, image_file):
    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    session, size = dock.session, 2.0
    for column, name in ((100.0, "MB"), (146.0, "D")):
        session.apply(session.with_canal(tooth="46", name=name))
        session.apply(session.with_canal_path([(60.0, column), (320.0, column)]))
        if name == "MB":
            session.apply(session.with_reference(path_px=((60.0, 100.0), (320.0, 100.0)), length_mm=20.0))
            session.add_canal("46", "D")
    found = drawn(session, size)
    (_, first), (second, _) = extents(found, size)[:2]
    assert found.places[0][0] == found.places[1][0]
    assert first <= second


@pytest.mark.parametrize("column", [2.0, 297.0])
def test_no_length_begins_or_ends_beside_the_image(dock, image_file, column):
    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    session, size = dock.session, 4.0
    session.apply(session.with_canal(tooth="46", name="MB"))
    session.apply(session.with_reference(path_px=((60.0, 100.0), (320.0, 100.0)), length_mm=20.0))
    session.apply(session.with_canal_path([(60.0, column), (320.0, column)]))
    session.add_canal("46", "ML")
    session.apply(session.with_canal_path([(60.0, column), (322.0, column)]))
    found = drawn(session, size)
    for begin, end in extents(found, size)[:2]:
        assert begin >= 0
        assert end <= 299


@pytest.mark.parametrize("colour", CANALS)
def test_every_colour_of_words_stands_out_from_their_black_edge(colour):
    """WCAG 2.2, success criterion 1.4.6: 7 to 1, since the edge is all that a bright image leaves of the ground."""
    assert (luminance(ink(colour)) + 0.05) / 0.05 >= 7


def test_words_longer_than_the_bar_stay_on_the_image(two):
    """Centred over it they would begin left of the image, in a small window where letters are large beside it."""
    session, size = two.session, 4.0
    middle = drawn(session, size).places[-1][1]
    assert middle == pytest.approx(12 + 65)  # the bar: 10 of 20 mm, 260 pixels long, from 0.04 of 300 columns
    session.apply(session.with_reference(name="the long instrument in canal MB of tooth 46"))
    session.apply(session.with_canal(reference="the long instrument in canal MB of tooth 46"))
    found = drawn(session, size)
    assert found.words[-1] == "10 mm by the long instrument in canal MB of tooth 46"
    assert extents(found, size)[-1][0] >= 0
    assert extents(found, size)[-1][1] <= 299
