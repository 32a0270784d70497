"""The files of a case that is open in the window: edited, swapped, damaged, another folder; and ways to open it."""

import gc

import npe2
import pytest
from helpers.made_case import with_canal
from helpers.staged_case import lines, write_grey
from qtpy.QtCore import QThreadPool

from napari_radlength import _launch
from napari_radlength._convert import CASE_KEY
from napari_radlength._reader import get_reader
from radlength.errors import RecordError
from radlength.record import case_path, load_case, save_case


def test_a_case_of_another_folder_is_said_and_none_is_made_there(dock, case_folder, image_file):
    dock.open_images([case_folder])
    dock.add_images([image_file])
    dock.show_image([one.path for one in dock.shots].index(image_file))
    assert "does not lie in the folder of this case" in dock.case.words.text()
    assert not dock.case.keep.isEnabled()
    case_path(case_folder).unlink()
    dock.look_at_case()
    assert not dock.case.begin.isEnabled()
    assert "several folders" in dock.case.begin.toolTip()


def test_an_edited_image_is_said_and_never_taken_again(dock, case_folder):
    dock.open_images([case_folder])
    write_grey(case_folder / "b.png", 99)
    dock.look_at_case()
    assert "was edited or replaced" in dock.case.findings.text()
    assert not dock.case.stage.isEnabled()
    assert "was edited or replaced" in dock.case.keep.toolTip()
    before = case_path(case_folder).read_bytes()
    with pytest.raises(RecordError, match="edited or replaced"):
        dock.case_book.state(case_folder / "b.png", dock.case.stated)
    assert case_path(case_folder).read_bytes() == before


def test_a_case_that_somebody_changed_meanwhile_is_not_written_over(dock, case_folder, said):
    dock.open_images([case_folder])
    dock.case.stage.setCurrentText("review")
    other = load_case(case_folder)
    save_case(with_canal(other, name="D"))
    dock.keep_stage()
    assert "changed by somebody else" in said[0]
    assert "46 D" in dock.case.canals.text()


def test_a_damaged_case_is_a_sentence(dock, case_folder, said):
    path = case_path(case_folder)
    path.write_bytes(path.read_bytes().replace(b"filling", b"fillinf"))
    dock.open_images([path])
    assert len(said) == 1
    dock.open_images([case_folder])
    assert "The case cannot be read" in dock.case.words.text()
    assert not dock.case.begin.isVisibleTo(dock)
    assert len(lines(dock)) == 4


def test_a_link_to_an_image_elsewhere_is_not_opened(dock, case_folder, tmp_path):
    elsewhere = write_grey(tmp_path / "somebody.png", 7)
    (case_folder / "c.png").unlink()
    (case_folder / "c.png").symlink_to(elsewhere)
    dock.open_images([case_path(case_folder)])
    assert "is a link out of the folder" in dock.case.findings.text()
    assert not any("filling" in line for line in lines(dock))


def test_a_case_and_a_folder_are_read_by_drag_and_drop(dock, case_folder):
    for given in (case_path(case_folder), case_folder):
        ((data, settings, kind),) = get_reader(str(given))(str(given))
        assert (kind, settings["name"], settings["metadata"][CASE_KEY]) == ("image", "b.png", given)
    dock._viewer.add_image(data, **settings)
    assert len(lines(dock)) == 4
    assert dock.case_book.case is not None
    assert get_reader(str(case_folder.parent)) is None
    manager = npe2.PluginManager()
    manager.register(npe2.PluginManifest.from_distribution("radlength"))
    for given in (case_path(case_folder), case_folder):
        (reader,) = manager.iter_compatible_readers([str(given)])
        assert reader.command == "radlength.read_image"


@pytest.mark.usefixtures("own_app")
def test_launch_opens_a_case(case_folder, monkeypatch):
    import napari

    seen = []

    def run():
        viewer = napari.current_viewer()
        seen.extend([viewer.title, viewer.layers[0].name])
        viewer.close()

    monkeypatch.setattr(napari, "run", run)
    assert _launch.launch(case_path(case_folder)) == 0
    assert seen == ["radlength: radlength-case.json", "b.png"]
    QThreadPool.globalInstance().waitForDone(20000)
    gc.collect()
