"""What is seen of two images at once: which is which, why they were refused, and what is serious first."""

from dataclasses import replace

import pytest
from helpers.two_images import marked_pair
from napari.components import ViewerModel

from napari_radlength._convert import IMAGE_KEY, ROLE_KEY
from napari_radlength._viewer import words_overlay
from napari_radlength._views_words import result_words
from radlength.finding import Finding


@pytest.fixture
def dock(tmp_path, make_dock):
    made = make_dock(ViewerModel())
    made.open_images(marked_pair(tmp_path)[1])
    choose(made.views.other, 1)
    choose(made.views.shift, 1)
    return made


def choose(box, index):
    box.setCurrentIndex(index)
    box.activated.emit(index)


def test_teeth_that_differ_are_refused_where_the_result_would_stand(dock):
    there = dock.session_of(dock.views.chosen)
    for index, canal in enumerate(there.annotation.canals):
        there.select(index)
        there.rename_canal("36", canal.name)
    dock.views.show_dock(dock)
    dock.views.solve.click()
    assert "Refused:" in dock.views.result.text()
    assert "46 MB on this image and 36 MB on the other" in dock.views.result.text()
    assert dock.views.result.isVisible()
    dock.select(1)
    assert dock.views.result.text() == ""


def test_side_by_side_tells_which_is_which_and_covers_no_words(dock):
    viewer = dock.viewer
    dock.toggle_beside()
    assert "Left: view1.png   Right, with the marks: view0.png" in words_overlay(viewer).text
    roles = [layer.metadata.get(ROLE_KEY) for layer in viewer.layers]
    images = [n for n, layer in enumerate(viewer.layers) if layer.metadata.get(IMAGE_KEY) is not None]
    assert max(images) < min(n for n, role in enumerate(roles) if role is not None)
    dock.toggle_beside()
    assert "Left:" not in words_overlay(viewer).text


def test_what_is_serious_stands_right_below_the_length_whichever_canal_it_is_about(dock, qtbot):
    said = []
    views = dock.views
    done = views._done
    views._done = lambda result: (said.append(result), done(result))
    views.solve.click()
    qtbot.waitUntil(lambda: not views.result.text().startswith("solving"), timeout=30000)
    job, found, _ = said[0]
    about = Finding("planted", "ML lies where it cannot.", "Look again.", "serious", "46 ML")
    note = Finding("planted-note", "D is a little short.", "", "note", "46 D")
    text = result_words(job, replace(found, findings=(note, about)))
    assert (
        text.index("from two views") < text.index("ML lies where it cannot") < text.index("Straight: view0")
    )
    assert "1 finding about the other canals" in text
    assert "a little short" not in text


def test_another_image_with_the_same_marks_is_another_pair(dock):
    first = dock.views._current().key
    radiograph = dock.session.radiograph
    dock.session.radiograph = replace(radiograph, pixel_sha256="0" * 64)
    assert dock.views._current().key != first
