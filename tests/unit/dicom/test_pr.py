"""The presentation state: curves where they were measured, one calibration or none, the right polarity."""

from __future__ import annotations

import numpy as np
import pydicom
import pytest
from helpers.archive_images import MB, change, mark, marked_image, write_image

from radlength.dicom import write_documents
from radlength.geometry import fit_curve
from radlength.imaging import read_radiograph
from radlength.record import Record, load_record, measure_record, save_record
from radlength.scale import Reference
from radlength.trade.cautions import CAUTION_SHORT


def _pr(path):
    return pydicom.dcmread(write_documents(path, ["pr"])[0].path)


def _xy(line):
    return np.asarray(line.GraphicData).reshape(-1, 2)


def test_the_measured_curve_is_drawn_half_a_pixel_from_its_centres(tmp_path):
    pr = _pr(marked_image(tmp_path).path)
    lines = pr.GraphicAnnotationSequence[0].GraphicObjectSequence
    assert [line.TrackingID for line in lines] == ["46 MB", "46 D", "file in MB"]
    curve = fit_curve(MB).resample(65)
    assert np.abs(_xy(lines[0]) - (curve[:, ::-1] + 0.5)).max() < 1e-4
    assert all(line.NumberOfGraphicPoints == len(_xy(line)) for line in lines)


def test_texts_state_lengths_with_intervals_and_the_caution(tmp_path):
    made = marked_image(tmp_path)
    texts = [
        one.UnformattedTextValue for one in _pr(made.path).GraphicAnnotationSequence[0].TextObjectSequence
    ]
    _, found = measure_record(made.record, read_radiograph(made.path))[0]
    said = f"46 MB: canal length {found.canal_length}, working length {found.working_length}"
    assert texts[0] == said.replace("–", " to ")
    assert texts[0].isascii()
    assert CAUTION_SHORT in texts[-1]


def test_tracking_is_that_of_the_report(tmp_path):
    made = marked_image(tmp_path)
    sr, pr = (pydicom.dcmread(one.path) for one in write_documents(made.path, ["sr", "pr"]))
    drawn = {line.TrackingUID for line in pr.GraphicAnnotationSequence[0].GraphicObjectSequence}
    groups = sr.ContentSequence[-1].ContentSequence
    assert {group.ContentSequence[1].UID for group in groups} == drawn


def test_one_reference_in_the_canal_is_the_spacing_of_the_presentation(tmp_path):
    """PS3.3 C.10.4: it may differ from the image's, since a calibration by an object may have been performed."""
    path = write_image(tmp_path / "tooth.dcm")
    mark(path, two=False)
    area = _pr(path).DisplayedAreaSelectionSequence[0]
    found = measure_record(load_record(path), read_radiograph(path))[0][1]
    factor = found.canal_length.value_mm / fit_curve(MB).length
    assert [float(side) for side in area.PresentationPixelSpacing] == pytest.approx([factor] * 2, rel=1e-7)
    assert "PresentationPixelAspectRatio" not in area
    assert area.PresentationSizeMode == "SCALE TO FIT"


def _two_references(path):
    record = load_record(path)
    bent = Reference([(20, 90), (220, 90)], 20.0, 0.25, "beside", "wire")
    record = record.with_reference(bent)
    entry = record.entry("D")
    save_record(record.with_canal(entry.canal, reference="wire", terminus=entry.terminus), path)


@pytest.mark.parametrize("case", ["borrowed", "header", "several", "no-scale"])
def test_without_one_calibration_for_all_there_is_no_spacing(tmp_path, case):
    path = write_image(tmp_path / "tooth.dcm")
    if case == "no-scale":
        change(path, ImagerPixelSpacing=None)
    mark(path, references=case not in ("header", "no-scale"))
    if case == "several":
        _two_references(path)
    area = _pr(path).DisplayedAreaSelectionSequence[0]
    assert "PresentationPixelSpacing" not in area
    assert list(area.PresentationPixelAspectRatio) == [1, 1]


def test_the_proportions_of_pixels_are_kept(tmp_path):
    path = write_image(tmp_path / "tooth.dcm", ImagerPixelSpacing=[0.1, 0.05])
    mark(path)
    area = _pr(path).DisplayedAreaSelectionSequence[0]
    assert list(area.PresentationPixelAspectRatio) == [20_000, 10_000]
    assert list(area.DisplayedAreaBottomRightHandCorner) == [150, 260]
    assert list(area.DisplayedAreaTopLeftHandCorner) == [1, 1]


@pytest.mark.parametrize(("inverted", "shape"), [(True, "INVERSE"), (False, "IDENTITY")], ids=["m1", "m2"])
def test_polarity_is_that_of_the_image(tmp_path, inverted, shape):
    pr = _pr(marked_image(tmp_path, inverted=inverted).path)
    assert pr.PresentationLUTShape == shape
    assert pr.SoftcopyVOILUTSequence[0].WindowCenter == 2048


def test_an_image_without_a_window_leaves_it_out(tmp_path):
    pr = _pr(marked_image(tmp_path, WindowCenter=None, WindowWidth=None).path)
    assert "SoftcopyVOILUTSequence" not in pr


@pytest.mark.parametrize(
    ("side", "written"), [("R", "R"), ("B", ""), (None, "")], ids=["right", "both", "unsaid"]
)
def test_the_series_has_a_side_or_an_empty_one(tmp_path, side, written):
    assert _pr(marked_image(tmp_path, ImageLaterality=side).path).Laterality == written


def test_without_a_scale_the_text_says_pixels(tmp_path):
    path = write_image(tmp_path / "tooth.dcm", ImagerPixelSpacing=None)
    mark(path, references=False, two=False)
    text = _pr(path).GraphicAnnotationSequence[0].TextObjectSequence[0].UnformattedTextValue
    assert text == "46 MB: 221 pixels, no scale"


def test_attacks_in_names_stay_text(tmp_path):
    from helpers.reports import EVIL

    path = write_image(tmp_path / "tooth.dcm")
    record = mark(path, two=False)
    from dataclasses import replace

    canal = replace(record.canals[0].canal, name=EVIL + "\\" + "x" * 2000)
    fresh = Record.new(read_radiograph(path), canals=[canal], references=record.references, who="a\\b=c\x1b")
    from radlength.record import record_path

    record_path(path).unlink()
    save_record(fresh, path)
    for written in write_documents(path, ["sr", "pr"]):
        ds = pydicom.dcmread(written.path)
        text = str(ds)
        assert "\x1b" not in text
        assert "\u202e" not in text


@pytest.mark.parametrize(
    ("photometric", "shape", "written"),
    [
        ("MONOCHROME1", "INVERSE", "INVERSE"),
        ("MONOCHROME2", "INVERSE", "INVERSE"),
        ("MONOCHROME2", None, "IDENTITY"),
    ],
)
def test_an_image_that_wants_to_be_seen_inverted_is_shown_so(tmp_path, photometric, shape, written):
    """PS3.3 C.11.6.1.2; a presentation state overrides what the image says (PS3.4 N.2.1.4)."""
    path = write_image(
        tmp_path / "tooth.dcm", PhotometricInterpretation=photometric, PresentationLUTShape=shape
    )
    mark(path)
    assert _pr(path).PresentationLUTShape == written
