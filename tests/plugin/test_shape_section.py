"""The section on shape: an outline that belongs to the marks it was made of, and to nothing else."""

import numpy as np
import pytest
from napari.components import ViewerModel

from napari_radlength._convert import ROLE_KEY
from radlength.geometry import polyline_length
from radlength.length import Terminus
from radlength.session import Session

CANAL = [(50.0, 150.0), (120.0, 152.0), (190.0, 156.0), (260.0, 164.0), (320.0, 178.0), (360.0, 192.0)]


@pytest.fixture
def viewer():
    return ViewerModel()


@pytest.fixture
def marked(viewer, make_dock, image_file):
    dock = make_dock(viewer)
    dock.show_session(Session.open(image_file))
    dock.set_assist(False)
    session = dock.session
    session.apply(session.with_canal(tooth="11"))
    ends = (*CANAL[:-1], (345.0, 187.0))
    session.apply(session.with_reference(path_px=ends, length_mm=21.0, limit_mm=0.25))
    session.apply(session.with_canal_path(CANAL))
    return dock


def outline(viewer):
    found = [one for one in viewer.layers if one.metadata.get(ROLE_KEY) == "outline"]
    return found[0].data if found else np.empty((0, 2, 2))


def test_a_preparation_is_shown_until_a_mark_moves(marked, viewer):
    assert not marked.shape.show_button.isEnabled()
    assert "needs a working length" in marked.shape.words.text()
    marked.edit_canal(terminus=Terminus(offset_mm=1.0))
    session = marked.session
    before = session.annotation
    marked.shape.option.setText("30/.04")
    marked.show_shape()
    assert "0.30 at 0, 0.34 at 1, 0.42 at 3" in marked.shape.words.text()
    width = np.linalg.norm(outline(viewer)[-1, 1])
    mm_per_px = session.estimate()[0].canal_length.value_mm / polyline_length(np.array(CANAL))
    assert width * mm_per_px == pytest.approx(0.30, abs=0.03)
    assert session.annotation == before
    assert not session.can_redo
    session.apply(session.with_canal_path([*CANAL[:-1], (362.0, 193.0)]))
    assert len(outline(viewer)) == 0
    assert "Size and taper" in marked.shape.words.text()


def test_what_is_no_instrument_is_a_sentence_and_shows_nothing(marked, viewer, monkeypatch):
    said = []
    monkeypatch.setattr("napari.utils.notifications.show_error", said.append)
    marked.edit_canal(terminus=Terminus(offset_mm=1.0))
    marked.shape.option.setText("0.25/.06")
    marked.show_shape()
    assert len(said) == 1
    assert "25" in said[0]
    assert len(outline(viewer)) == 0


def test_without_a_working_length_nothing_is_drawn(marked, viewer):
    marked.show_shape()
    assert len(outline(viewer)) == 0
