"""Images opened last: a short list for one user, that can be cleared and switched off, and is nowhere else."""

import json
import logging
import os
import stat

import pytest
from napari.components import ViewerModel

from napari_radlength._recent import MOST, STATE, Recent, read_recent, remember, set_remember, state_folder
from napari_radlength._recent_menu import fill
from radlength.imaging import Radiograph
from radlength.record import record_path
from radlength.session import Session, unsaved_path


@pytest.fixture(autouse=True)
def state(tmp_path, monkeypatch):
    folder = tmp_path / "state"
    monkeypatch.setenv(STATE, str(folder))
    return folder


@pytest.fixture
def dock(make_dock):
    return make_dock(ViewerModel())


def copies(image_file, count):
    """The same image under several names."""
    made = []
    for n in range(count):
        made.append(image_file.with_name(f"tooth{n:02}.png"))
        made[-1].write_bytes(image_file.read_bytes())
    return made


def entries(dock):
    menu = dock.image.recent.menu()
    fill(menu, dock)
    return {one.text(): one for one in menu.actions() if one.text()}


def test_the_tests_write_into_no_list_of_a_person(monkeypatch):
    folder = state_folder()
    assert str(folder).startswith(os.environ["RADLENGTH_STATE"])
    monkeypatch.delenv(STATE)
    assert state_folder().name == "radlength"
    assert state_folder() != folder


def test_opened_images_come_first_and_once_and_ten_at_most(dock, image_file):
    files = copies(image_file, MOST + 2)
    for path in files:
        remember(path)
    dock.open_images([files[5]])
    names = [one.name for one in read_recent().images]
    assert len(names) == MOST
    assert names[:3] == ["tooth05.png", "tooth11.png", "tooth10.png"]
    assert names.count("tooth05.png") == 1


def test_an_entry_opens_its_image_and_one_that_is_gone_cannot_be_chosen(dock, image_file):
    first, second = copies(image_file, 2)
    for path in (first, second):
        dock.open_images([path])
    folder = image_file.parent.name
    entries(dock)[f"tooth00.png  ({folder})"].trigger()
    assert dock.session.radiograph.path == first
    second.unlink()
    gone = entries(dock)[f"tooth01.png  ({folder})  not there"]
    assert not gone.isEnabled()


def test_the_list_is_cleared(dock, image_file):
    dock.open_images([image_file])
    entries(dock)["Clear the list"].trigger()
    assert read_recent() == Recent()
    assert not entries(dock)["No image was opened yet"].isEnabled()
    assert not entries(dock)["Clear the list"].isEnabled()
    assert image_file.exists()


def test_switched_off_it_is_emptied_and_stays_empty(dock, image_file, state):
    dock.open_images([image_file])
    entries(dock)["Remember opened images"].trigger()
    assert image_file.name not in (state / "recent.json").read_text()
    dock.open_images(copies(image_file, 1))
    assert read_recent() == Recent(remember=False)
    assert "No image is remembered" in entries(dock)
    entries(dock)["Remember opened images"].trigger()
    dock.open_images([image_file])
    assert read_recent().images == (image_file,)


def test_it_says_that_paths_can_hold_names(dock):
    assert "paths can hold names" in dock.image.recent.toolTip()
    assert "paths can hold names" in entries(dock)["Remember opened images"].toolTip()


def test_a_path_is_in_the_list_and_nowhere_else(dock, tmp_path, image_file, state, caplog, capfd):
    home = tmp_path / "CANARY"
    home.mkdir()
    path = home / "tooth.png"
    path.write_bytes(image_file.read_bytes())
    with caplog.at_level(logging.DEBUG):
        dock.open_images([path])
        session = dock.session
        session.apply(session.with_canal(tooth="45", name="single"))
        session.apply(session.with_canal_path([(50.0, 150.0), (360.0, 192.0)]))
        dock.keep_unsaved()
        assert "CANARY" not in unsaved_path(path).read_text()
        dock.save()
    assert "CANARY" in (state / "recent.json").read_text()
    assert "CANARY" not in record_path(path).read_text()
    assert "CANARY" not in caplog.text
    assert "CANARY" not in "".join(capfd.readouterr())


def test_it_is_readable_by_this_user_alone(state, image_file):
    remember(image_file)
    assert stat.S_IMODE((state / "recent.json").stat().st_mode) == 0o600
    assert [one.name for one in state.iterdir()] == ["recent.json"]


@pytest.mark.parametrize(
    "text",
    ["", "no JSON", "[1]", '{"format": "radlength-recent", "version": 1, "images": [1]}', "[" * 100_000],
)
def test_a_list_that_was_not_written_here_is_none(state, text, image_file):
    state.mkdir()
    (state / "recent.json").write_text(text)
    assert read_recent() == Recent()
    remember(image_file)
    assert json.loads((state / "recent.json").read_text())["images"] == [str(image_file)]


def test_a_folder_that_cannot_be_written_only_forgets(dock, state, image_file):
    state.write_text("a file stands where the folder would")
    dock.open_images([image_file])
    set_remember(False)
    assert dock.session.radiograph.path == image_file
    assert read_recent() == Recent()


def test_an_image_without_a_file_is_not_remembered(dock, demo_session, state):
    import numpy as np

    dock.show_session(Session(Radiograph.from_array(np.zeros((40, 30), np.uint8), name="array.tif")))
    assert not (state / "recent.json").exists()
    dock.show_session(demo_session)
    assert read_recent().images == (demo_session.radiograph.path,)
