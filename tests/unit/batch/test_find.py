import pytest

from radlength.batch import images_below
from radlength.errors import BatchError


def test_images_of_a_tree_are_sorted_and_relative(tmp_path):
    for name in (
        "b/two.png",
        "a/one.TIF",
        "three.dcm",
        "a/notes.txt",
        "three.dcm.radlength-sr.dcm",
        "a/one.TIF.radlength.json",
    ):
        place = tmp_path / name
        place.parent.mkdir(exist_ok=True)
        place.touch()
    assert images_below(tmp_path) == ("a/one.TIF", "b/two.png", "three.dcm")


def test_links_and_hidden_files_are_left_alone(tmp_path):
    outside = tmp_path / "outside"
    inside = tmp_path / "inside"
    for folder in (outside, inside, inside / ".hidden"):
        folder.mkdir()
        (folder / "tooth.png").touch()
    (inside / ".secret.png").touch()
    (inside / "linked.png").symlink_to(outside / "tooth.png")
    (inside / "away").symlink_to(outside)
    assert images_below(inside) == ("tooth.png",)


def test_a_folder_without_images_is_refused(tmp_path):
    with pytest.raises(BatchError, match="holds no image"):
        images_below(tmp_path)
    with pytest.raises(BatchError, match="no such folder"):
        images_below(tmp_path / "gone")


def test_a_file_in_place_of_a_folder_is_said(tmp_path):
    (tmp_path / "tooth.png").touch()
    with pytest.raises(BatchError, match="it is a file, not a folder; a folder of images"):
        images_below(tmp_path / "tooth.png")
