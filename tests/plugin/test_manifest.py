"""The manifest, the reader and the sample data, by npe2's own means."""

import npe2
import numpy as np
import pytest

from napari_radlength._convert import IMAGE_KEY
from napari_radlength._reader import get_reader
from napari_radlength._sample import invented_premolar


def test_the_manifest_is_valid_and_imports():
    manifest = npe2.PluginManifest.from_distribution("radlength")
    manifest.validate_imports()
    assert manifest.display_name == "Working length"


def test_the_reader_gives_an_image_with_its_radiograph(image_file):
    data, settings, kind = get_reader(str(image_file))(str(image_file))[0]
    assert kind == "image"
    assert data.shape == settings["metadata"][IMAGE_KEY].shape
    assert 0 <= data.min() <= data.max() <= 1


def test_the_record_opens_its_image(image_file):
    beside = image_file.with_name(image_file.name + ".radlength.json")
    assert get_reader(str(beside))(str(beside))[0][1]["name"] == image_file.name


@pytest.mark.parametrize("name", ["notes.txt", "none.png"])
def test_what_is_not_ours_is_left_to_others(tmp_path, name):
    (tmp_path / "notes.txt").write_text("hello")
    assert get_reader(str(tmp_path / name)) is None
    assert get_reader([str(tmp_path / name)]) is None


def test_the_sample_is_the_invented_case():
    data, settings, kind = invented_premolar()[0]
    assert (kind, settings["name"]) == ("image", "invented-premolar.png")
    assert np.ptp(data) > 0.5
