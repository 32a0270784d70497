"""The dock by the Tab key alone, and what a screen reader says of it."""

from itertools import pairwise

import pytest
from helpers.marked_dock import mark
from qtpy.QtCore import Qt, QThreadPool
from qtpy.QtGui import QAccessible
from qtpy.QtTest import QTest
from qtpy.QtWidgets import QApplication, QComboBox, QWidget

from napari_radlength._dock import open_dock
from radlength.length import Terminus
from radlength.session import Session

pytestmark = pytest.mark.gui
MOST = 200


@pytest.fixture
def dock(make_napari_viewer, image_file):
    viewer = make_napari_viewer(show=True)
    made = open_dock(viewer)
    made.give_room()
    viewer.window.resize(1280, 800)
    made.show_session(Session.open(image_file))
    made.set_assist(False)
    mark(made.session)
    made.edit_canal(terminus=Terminus(offset_mm=1.0))
    QApplication.processEvents()
    yield made
    made.hide()
    QThreadPool.globalInstance().waitForDone(20000)


def said_of(widget):
    """Return what a screen reader says: of a list its current choice, then what it is."""
    found = QAccessible.queryAccessibleInterface(widget)
    name, more = (found.text(kind) for kind in (QAccessible.Text.Name, QAccessible.Text.Description))
    return f"{name}, {more}" if isinstance(widget, QComboBox) else name


def walked(dock, back=False):
    """Return the controls of the dock in the order in which Tab reaches them from the first on."""
    inside = [one for one in dock.findChildren(QWidget) if waits(dock, one)]
    start = max(inside, key=place) if back else min(inside, key=place)
    start.setFocus()
    seen = []
    while len(seen) < MOST:
        here = dock.window().focusWidget()
        if here is None or not dock.isAncestorOf(here) or here in seen:
            return seen, inside
        seen.append(here)
        QTest.keyClick(here, Qt.Key.Key_Backtab if back else Qt.Key.Key_Tab)
    pytest.fail("Tab never leaves the dock")


def waits(dock, widget):
    """Return whether Tab should reach a widget."""
    by_tab = bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus)
    return by_tab and widget.isEnabled() and widget.isVisibleTo(dock) and widget.focusProxy() is None


def place(widget):
    """Return where a control is on the screen: from the top, then from the left; neighbours of a row are one row."""
    middle = widget.mapToGlobal(widget.rect().center())
    return round(middle.y() / 12), middle.x()


def test_tab_goes_from_the_top_to_the_bottom_and_leaves_nothing_out(dock):
    seen, inside = walked(dock)
    names = [one.objectName() for one in seen]
    assert {one.objectName() for one in inside} == set(names)
    assert all(one.isVisibleTo(dock) for one in seen)
    sections = [next(n for n, one in enumerate(dock.sections.values()) if one.isAncestorOf(w)) for w in seen]
    assert sections == sorted(sections)
    dock.area.verticalScrollBar().setValue(0)
    for before, after in pairwise(seen):
        assert place(before) < place(after), (before.objectName(), after.objectName())


def test_backwards_it_is_the_same_way_and_every_control_says_what_it_is(dock):
    forth, _ = walked(dock)
    back, _ = walked(dock, back=True)
    assert [one.objectName() for one in back] == [one.objectName() for one in reversed(forth)]
    spoken = {one.objectName(): said_of(one) for one in forth}
    assert [name for name, words in spoken.items() if len(words.strip()) < 3] == []
    names = list(spoken.values())
    assert sorted({words for words in names if names.count(words) > 1}) == []
    assert said_of(dock.canal.mark) == "Mark the canal"
    assert said_of(dock.canal.tooth) == "11, tooth, ISO 3950"
    sight = dock.area.viewport()
    dock.area.verticalScrollBar().setValue(0)
    forth[-2].setFocus()
    QTest.keyClick(forth[-2], Qt.Key.Key_Tab)
    assert dock.window().focusWidget() is forth[-1]
    assert sight.rect().contains(forth[-1].mapTo(sight, forth[-1].rect().center()))
