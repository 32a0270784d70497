from __future__ import annotations

import json
import shutil
import subprocess
from dataclasses import replace

import cv2
import numpy as np
import pydicom
import pytest
import tifffile

from radlength.errors import PhantomError
from radlength.phantom import project, random_scene, simulate_marks
from radlength.phantom.detector import Detector
from radlength.phantom.dicom import _CODES
from radlength.phantom.export import write_image
from radlength.phantom.forms import FORMS
from radlength.phantom.render import Rendering
from radlength.phantom.truth import TEETH, marks_of, truth_of
from radlength.phantom.write import write_json, write_phantom
from radlength.trade import CAUTION

SMALL = {"pitch_mm": 0.05, "shape_px": (700, 520)}


def ramp(bits=8, inverted=False, seed=1, kind="single"):
    """Return a rendering of a plain ramp: what matters here is the file, not the picture."""
    scene = random_scene(seed, kind=kind, **SMALL)
    top = (1 << bits) - 1
    values = np.linspace(0, top, 60 * 80).round().reshape(60, 80)
    pixels = values.astype(np.uint8 if bits == 8 else np.uint16)
    return Rendering(
        pixels, scene, scene.view, Detector(bits=bits, inverted=inverted), np.ones((60, 80), np.float32)
    )


@pytest.mark.parametrize("bits", [8, 12, 16])
def test_png_keeps_every_value(tmp_path, bits):
    image = ramp(bits)
    write_image(tmp_path / "a.png", image, "png")
    assert np.array_equal(cv2.imread(str(tmp_path / "a.png"), cv2.IMREAD_UNCHANGED), image.pixels)


@pytest.mark.parametrize("inverted", [False, True], ids=["black is zero", "white is zero"])
@pytest.mark.parametrize("bits", [8, 12, 16])
def test_tiff_keeps_every_value_and_its_meaning(tmp_path, bits, inverted):
    image = ramp(bits, inverted)
    write_image(tmp_path / "a.tif", image, "tiff")
    with tifffile.TiffFile(tmp_path / "a.tif") as file:
        page = file.pages[0]
        assert np.array_equal(page.asarray(), image.pixels)
        assert page.photometric.name == ("MINISWHITE" if inverted else "MINISBLACK")
        assert CAUTION in page.description
        assert "Simulated" in page.description


def test_jpeg_is_near(tmp_path):
    image = ramp()
    write_image(tmp_path / "a.jpg", image, "jpeg", jpeg_quality=90)
    back = cv2.imread(str(tmp_path / "a.jpg"), cv2.IMREAD_UNCHANGED)
    assert np.abs(back.astype(int) - image.pixels).max() < 12


@pytest.mark.parametrize("inverted", [False, True], ids=["MONOCHROME2", "MONOCHROME1"])
@pytest.mark.parametrize("bits", [8, 12, 16])
def test_dicom_keeps_every_value_and_says_what_it_is(tmp_path, bits, inverted):
    image = ramp(bits, inverted)
    write_image(tmp_path / "a.dcm", image, "dicom")
    ds = pydicom.dcmread(tmp_path / "a.dcm")
    assert np.array_equal(ds.pixel_array, image.pixels)
    assert ds.SOPClassUID == "1.2.840.10008.5.1.4.1.1.1.3"
    assert ds.Modality == "IO"
    assert ds.PhotometricInterpretation == ("MONOCHROME1" if inverted else "MONOCHROME2")
    assert ds.BitsStored == bits
    assert [float(v) for v in ds.ImagerPixelSpacing] == [0.05, 0.05]
    assert "PixelSpacing" not in ds
    assert ds.PatientName == "SIMULATED^PHANTOM"
    assert CAUTION in ds.ImageComments


@pytest.mark.skipif(shutil.which("dciodvfy") is None, reason="dciodvfy (dicom3tools) is not installed")
@pytest.mark.parametrize("kind", ["single", "lower_molar", "upper_molar"])
@pytest.mark.parametrize("bits", [8, 16])
def test_dicom_is_valid(tmp_path, kind, bits):
    """dciodvfy of dicom3tools, PS3.3 A.28."""
    write_image(tmp_path / "a.dcm", ramp(bits, kind=kind, inverted=bits == 8), "dicom")
    told = subprocess.run(
        ["dciodvfy", "-new", str(tmp_path / "a.dcm")], capture_output=True, text=True, check=False
    ).stderr
    assert "IntraoralImageForPresentation" in told
    assert "Error" not in told


def test_tooth_codes_are_the_standards():
    """PS3.16 CID 4018, as pydicom carries it."""
    from pydicom.sr.codedict import codes

    codes_of = [getattr(codes.cid4018, name) for name in codes.cid4018.dir()]
    known = {(code.value, code.meaning) for code in codes_of}
    for tooth, told in _CODES.items():
        assert told in known, tooth
    assert set(TEETH.values()) | set(FORMS) == set(_CODES)


@pytest.mark.parametrize("tooth", FORMS)
def test_dicom_says_which_tooth_a_scene_shows(tmp_path, tooth):
    image = ramp()
    write_image(tmp_path / "a.dcm", replace(image, scene=replace(image.scene, form=FORMS[tooth])), "dicom")
    ds = pydicom.dcmread(tmp_path / "a.dcm")
    assert ds.PrimaryAnatomicStructureSequence[0].CodeValue == _CODES[tooth][0]
    assert ds.ImageLaterality == ("L" if tooth == "21" else "R")


@pytest.mark.parametrize(
    ("file_format", "bits", "words"),
    [("gif", 8, "'gif'; png, tiff, jpeg, dicom"), ("jpeg", 12, "a JPEG of 12 bits; 8 bits")],
)
def test_formats_that_cannot_hold_it_are_refused(tmp_path, file_format, bits, words):
    with pytest.raises(PhantomError, match=words):
        write_phantom(tmp_path, 1, file_format=file_format, detector=Detector(bits=bits))
    assert not list(tmp_path.iterdir())


def test_truth_tells_lengths_and_places():
    scene = random_scene(5, kind="lower_molar", shown=("wire",))
    truth = json.loads(json.dumps(truth_of(scene)))
    assert truth["simulated"] is True
    assert truth["caution"] == CAUTION
    for told, canal in zip(truth["canals"], scene.canals, strict=True):
        assert told["length_mm"] == pytest.approx(canal.length_mm, abs=1e-4)
        assert np.array(told["path_px"]) == pytest.approx(
            project(np.array(told["path_mm"]), scene.view), abs=0.01
        )
    tool = truth["instruments"][0]
    assert tool["stop_to_tip_mm"] + tool["gap_mm"] == pytest.approx(scene.canal("MB").length_mm, abs=2e-4)


def test_marks_tell_no_truth():
    scene = random_scene(5, kind="lower_molar", shown=("wire", "rod"), instruments=2)
    marks = marks_of(scene, simulate_marks(scene))
    assert set(marks) == {"format", "version", "invented", "caution", "marking", "references", "canals"}
    assert [r["placement"] for r in marks["references"]] == ["in_canal", "in_canal", "beside", "beside"]
    assert [c["reference"] for c in marks["canals"]][:3] == [
        "instrument in canal MB",
        "instrument in canal ML",
        "instrument in canal MB",
    ]
    assert marks["references"][2]["length_mm"] == 20.0
    text = json.dumps(marks)
    assert f"{scene.canal('D').length_mm:.2f}" not in text


def test_marks_of_an_image_without_any_reference():
    scene = random_scene(5, instruments=0, shown=())
    marks = marks_of(scene, simulate_marks(scene))
    assert marks["references"] == []
    assert marks["canals"][0]["reference"] is None


def test_everything_is_written_side_by_side_and_again_the_same(tmp_path):
    call = {"kind": "single", "shift_deg": 20.0, "clicks": 9, **SMALL}
    first = write_phantom(tmp_path / "a", 4, **call)
    again = write_phantom(tmp_path / "b", 4, **call)
    assert [path.name for path in first] == [
        "phantom-single-4.png",
        "phantom-single-4.truth.json",
        "phantom-single-4.marks.json",
        "phantom-single-4-shift+20.png",
        "phantom-single-4-shift+20.truth.json",
        "phantom-single-4-shift+20.marks.json",
    ]
    for one, two in zip(first, again, strict=True):
        assert one.read_bytes() == two.read_bytes()
    marks = json.loads(first[2].read_text())
    assert len(marks["canals"][0]["path_px"]) == 9
    views = [json.loads(first[i].read_text())["view"] for i in (1, 4)]
    assert views[1]["horizontal_deg"] - views[0]["horizontal_deg"] == pytest.approx(20)


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(PhantomError, match="cannot be written to"):
        write_phantom(tmp_path / "file", 1, **SMALL)


def test_json_keeps_points_on_one_line(tmp_path):
    data = {"path_px": [[1.5, -2.0], [3.0, 4.25]], "points_mm": [[0.1, 1e-5, 3.0]]}
    write_json(tmp_path / "a.json", data)
    text = (tmp_path / "a.json").read_text()
    assert "[1.5, -2.0]" in text
    assert "[0.1, 1e-05, 3.0]" in text
    assert json.loads(text) == data


def test_the_file_of_a_marker_says_that_it_is_invented_and_carries_the_caution(tmp_path):
    written = write_phantom(tmp_path, 3, shift_deg=20.0, shown=("marker",), **SMALL)
    told = json.loads(written[-1].read_text(encoding="utf-8"))
    assert written[-1].name.endswith(".marker.json")
    assert (told["invented"], told["caution"]) == (True, CAUTION)
    assert len(told["shape_mm"]) == len(told["straight_px"]) == len(told["shifted_px"])
