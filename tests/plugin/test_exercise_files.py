"""How the window knows a set: by its file, dropped or named; and that it never reads answers."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from helpers.exercise_window import PITCH_MM, published

from napari_radlength import _exercise_file, _launch
from napari_radlength._reader import get_reader
from radlength.exercise.files import SET_FILE
from radlength.exercise.levels import shape_for


@pytest.fixture
def folder(tmp_path):
    return published(tmp_path)


def test_the_reader_knows_a_set_and_leaves_other_json_alone(folder, tmp_path):
    (grey, settings, kind) = get_reader(str(folder / SET_FILE))("")[0]
    assert (kind, grey.shape) == ("image", shape_for(PITCH_MM))
    assert settings["metadata"] == {_exercise_file.EXERCISE_KEY: str(folder / SET_FILE)}
    (tmp_path / SET_FILE).write_text("{}", encoding="utf-8")
    assert get_reader(str(tmp_path / SET_FILE)) is None
    assert _exercise_file.SET_FILE == SET_FILE
    places = (folder, folder / SET_FILE, tmp_path / "none", folder / "01.png")
    assert [_exercise_file.is_set(place) for place in places] == [True, True, False, False]


@pytest.mark.usefixtures("own_app")
@pytest.mark.gui
@pytest.mark.parametrize("name", ["", SET_FILE])
def test_launch_opens_a_set_at_its_door(folder, monkeypatch, name):
    import napari

    monkeypatch.setattr(napari, "run", lambda: None)
    assert _launch.launch(folder / name) == 0
    viewer = napari.current_viewer()
    dock = viewer.window.dock_widgets["Working length"]
    assert "Three exercises &lt;b&gt;" in dock.exercise.begin.title.text()
    assert dock.session is None
    viewer.close()


def test_no_room_of_the_window_reads_answers():
    """What the window may know of them are words and pictures of the end."""
    import napari_radlength

    for file in Path(napari_radlength.__file__).parent.glob("*.py"):
        text = file.read_text(encoding="utf-8")
        assert not re.search(
            r"load_truth|SealedTruth|answers_beside|exercise\.(answers|score|feedback)", text
        ), file
