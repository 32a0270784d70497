"""Documents as other programs see them: validators of dicom3tools and dcmtk, and highdicom as a second reader."""

from __future__ import annotations

import re
import subprocess
import warnings
from pathlib import Path

import numpy as np
import pydicom
import pytest
from helpers.archive_images import MB, decisions, mark, marked_image, write_image
from helpers.archive_servers import has_tool
from pydicom.data import get_testdata_file
from pydicom.uid import JPEG2000Lossless, JPEGLSLossless, RLELossless

from radlength.dicom import deidentify, list_measurements, write_documents
from radlength.imaging import read_radiograph
from radlength.record import measure_record

KINDS = ["sr", "pr", "sc", "derived"]


def _said(*command: str | Path) -> str:
    done = subprocess.run([*map(str, command)], capture_output=True, text=True, check=False, timeout=60)
    return done.stdout + done.stderr


def _errors(path: Path) -> list[str]:
    lines = _said("dciodvfy", "-new", path).splitlines()
    assert lines, "dciodvfy says at least which kind of object it sees"
    return [line for line in lines if line.startswith("Error")]


def _unexpected(path: Path) -> list[str]:
    """Return warnings but those about our own codes and about a media directory."""
    lines = _said("dciodvfy", "-new", path).splitlines()
    known = re.compile(r"99RADLENGTH|needed to build DICOMDIR")
    return [line for line in lines if line.startswith("Warning") and not known.search(line)]


@has_tool("dciodvfy")
@pytest.mark.parametrize("inverted", [False, True], ids=["m2", "m1"])
@pytest.mark.parametrize("bits", [8, 12])
def test_dciodvfy_finds_no_error(tmp_path, inverted, bits):
    made = marked_image(tmp_path, inverted=inverted, bits=bits)
    files = [made.path, *(one.path for one in write_documents(made.path, KINDS))]
    files += [one.path for one in write_documents(made.path, ["sr"], decisions=decisions("46 MB", "46 D"))]
    assert {path.name: _errors(path) for path in files} == {path.name: [] for path in files}
    assert {path.name: _unexpected(path) for path in files} == {path.name: [] for path in files}


@has_tool("dciodvfy")
def test_dciodvfy_finds_no_error_without_a_scale_and_with_bare_headers(tmp_path):
    path = write_image(tmp_path / "bare.dcm")
    mark(path, references=False, two=False)
    oblong = write_image(tmp_path / "oblong.dcm", ImagerPixelSpacing=[0.1, 0.05], seed=3)
    mark(oblong)
    for image, kinds in ((path, ["sr", "pr"]), (oblong, ["sr", "pr", "sc"])):
        for one in write_documents(image, kinds):
            assert _errors(one.path) == [], one.path.name


@has_tool("dciodvfy")
@has_tool("dcmconv")
@pytest.mark.parametrize(
    ("option", "syntax"),
    [
        ("+ti", "1.2.840.10008.1.2"),
        ("+tb", "1.2.840.10008.1.2.2"),
        ("+td", "1.2.840.10008.1.2.1"),
        ("-F", "1.2.840.10008.1.2.1"),
    ],
    ids=["implicit", "big-endian", "deflated", "no-preamble"],
)
def test_documents_of_an_image_however_it_is_coded(tmp_path, option, syntax):
    path = write_image(tmp_path / "tooth.dcm")
    _said("dcmconv", option, path, path)
    mark(path)
    written = write_documents(path, KINDS)
    assert [_errors(one.path) for one in written] == [[]] * 4
    derived = pydicom.dcmread(written[-1].path)
    assert derived.file_meta.TransferSyntaxUID == syntax
    assert np.array_equal(read_radiograph(written[-1].path).stored, read_radiograph(path).stored)


@has_tool("dciodvfy")
@pytest.mark.parametrize(
    "syntax", [None, JPEG2000Lossless, JPEGLSLossless, RLELossless], ids=["plain", "j2k", "jpeg-ls", "rle"]
)
def test_copies_without_identity_are_valid_however_the_original_was_stored(tmp_path, syntax):
    path = write_image(tmp_path / "tooth.dcm")
    if syntax is not None:
        ds = pydicom.dcmread(path)
        ds.compress(
            syntax,
            encoding_plugin={JPEG2000Lossless: "pylibjpeg", JPEGLSLossless: "pyjpegls"}.get(syntax, ""),
        )
        ds.save_as(path)
    mark(path)
    made = deidentify([path], tmp_path / "out")
    assert np.array_equal(read_radiograph(path).stored, read_radiograph(made.images[0]).stored)
    files = [*made.images, *(one.path for one in write_documents(made.images[0], KINDS))]
    assert {file.name: _errors(file) for file in files} == {file.name: [] for file in files}


@has_tool("dsrdump")
def test_dsrdump_shows_the_tree_and_who_verified(tmp_path):
    made = marked_image(tmp_path)
    plain, verified = (
        _said("dsrdump", "+Pl", write_documents(made.path, ["sr"], decisions=told)[0].path)
        for told in ((), decisions("46 MB", "46 D"))
    )
    _, found = measure_record(made.record, read_radiograph(made.path))[0]
    assert f'"{found.canal_length.value_mm:.10f}'[:8] in plain
    assert "UNVERIFIED" in plain
    assert re.search(r"Verification Flag\s*: VERIFIED", verified)
    assert re.search(r"Verifying Observers\s*: .*2026-01-02 12:00:00.*Decider\^Invented", verified)
    assert re.search(r"Predecessor Docs\s*: 1", verified)
    for text in (plain, verified):
        assert "E: " not in text
        assert re.search(r"Preliminary Flag\s*: PRELIMINARY", text)


@has_tool("dcmpschk")
@pytest.mark.parametrize("inverted", [False, True], ids=["m2", "m1"])
def test_dcmpschk_passes_the_presentation(tmp_path, inverted):
    made = marked_image(tmp_path, inverted=inverted)
    said = _said("dcmpschk", write_documents(made.path, ["pr"])[0].path)
    assert "Test passed" in said
    assert "Test failed" not in said


def _table() -> pydicom.Dataset:
    table = pydicom.Dataset()
    table.LUTDescriptor, table.LUTExplanation = [4096, 0, 16], "invented"
    table.add_new("LUTData", "OW", np.linspace(0, 65535, 4096).astype("<u2").tobytes())
    return table


@has_tool("dcmpschk")
@pytest.mark.parametrize(
    ("tables", "windows", "seen"),
    [
        (0, 2, {"WindowCenter": 100, "WindowWidth": 200, "WindowCenterWidthExplanation": "first"}),
        (2, 1, {"VOILUTSequence": 1}),
    ],
    ids=["windows", "tables and a window"],
)
def test_of_several_ways_to_see_an_image_its_presentation_has_one(tmp_path, tables, windows, seen):
    """The image offers a choice; a presentation state has chosen, else dcmtk calls it wrong."""
    made = marked_image(tmp_path)
    ds = made.dataset()
    ds.WindowCenter, ds.WindowWidth = [100, 2000][:windows], [200, 4000][:windows]
    ds.WindowCenterWidthExplanation = ["first", "second"][:windows]
    if tables:
        ds.VOILUTSequence = [_table() for _ in range(tables)]
    ds.save_as(made.path)
    state = write_documents(made.path, ["pr"])[0].path
    said = _said("dcmpschk", state)
    assert "Test passed" in said, said
    assert "Test failed" not in said, said
    (voi,) = pydicom.dcmread(state).SoftcopyVOILUTSequence
    found = {one.keyword: len(one.value) if one.VR == "SQ" else one.value for one in voi}
    assert found == seen
    assert _errors(state) == []


def _pgm(path: Path) -> np.ndarray:
    data = path.read_bytes()
    head = re.match(rb"P5\s+(?:#[^\n]*\n)*(\d+)\s+(\d+)\s+(\d+)\s", data)
    assert head is not None
    columns, rows = int(head[1]), int(head[2])
    return np.frombuffer(data[head.end() :][: rows * columns], np.uint8).reshape(rows, columns).astype(int)


@has_tool("dcmp2pgm")
def test_a_presentation_never_turns_the_picture_into_its_negative(tmp_path):
    """The twin stored as MONOCHROME1 must look like the MONOCHROME2 one (PS3.4 N.2.1.4), as dcmtk renders it."""
    pictures = []
    for inverted in (False, True):
        path = write_image(tmp_path / f"{inverted}.dcm", inverted=inverted)
        if inverted:
            ds = pydicom.dcmread(path)
            ds.PixelData = (4095 - ds.pixel_array).astype("<u2").tobytes()
            ds.save_as(path)
        mark(path)
        shown = tmp_path / f"{inverted}.pgm"
        _said("dcmp2pgm", "-p", write_documents(path, ["pr"])[0].path, path, shown)
        pictures.append(_pgm(shown))
    assert pictures[0].std() > 20
    assert np.abs(pictures[0] - pictures[1]).max() <= 1


def test_a_mark_on_a_pixel_is_in_that_pixel_for_whoever_floors_coordinates(tmp_path):
    """PS3.3 C.18.6.1.1: a coordinate's whole part counts the pixel, in columns first; centres are at a half."""
    path = write_image(tmp_path / "tooth.dcm")
    ds = pydicom.dcmread(path)
    pixels = np.zeros((260, 150), np.uint16)
    pixels[241, 64] = 4000
    ds.PixelData = pixels.tobytes()
    ds.save_as(path)
    mark(path, two=False)
    sr, pr = (pydicom.dcmread(one.path) for one in write_documents(path, ["sr", "pr"]))
    group = sr.ContentSequence[-1].ContentSequence[1]
    scoord = next(
        item
        for num in group.ContentSequence
        for item in num.get("ContentSequence", ())
        if item.ValueType == "SCOORD"
    )
    line = pr.GraphicAnnotationSequence[0].GraphicObjectSequence[0]
    for data in (scoord.GraphicData, line.GraphicData):
        x, y = list(data)[-2:]
        assert (round(y - 0.5, 3), round(x - 0.5, 3)) == MB[-1] == (241.0, 64.25)
        assert pixels[int(y), int(x)] == 4000


def test_highdicom_reads_the_report_as_it_was_meant(tmp_path):
    import highdicom

    made = marked_image(tmp_path)
    sr = highdicom.sr.srread(write_documents(made.path, ["sr"])[0].path)
    groups = sr.content.get_image_measurement_groups()
    assert [one.tracking_identifier for one in groups] == ["file in MB", "46 MB", "46 D"]
    found = [found for _, found in measure_record(made.record, read_radiograph(made.path))]
    for group, measured in zip(groups[1:], found, strict=True):
        lengths = {one.name.meaning: one for one in group.get_measurements()}
        for name, exact in (
            ("Path length", measured.canal_length),
            ("Root canal working length", measured.working_length),
        ):
            assert lengths[name].value == float(f"{exact.value_mm:.11g}")
        assert lengths["Path length"].unit.value == "mm"
        assert group.finding_sites[0].value.value == "866005003"
        assert group.finding_type.value == "3262009"
    coordinates = groups[1].get_measurements()[0].referenced_coordinates[0]
    assert np.abs(coordinates.value - (np.asarray(MB)[:, ::-1] + 0.5)).max() < 1e-4


def test_reports_of_other_programs_are_listed(tmp_path):
    import highdicom
    from pydicom.sr.codedict import codes

    image = pydicom.dcmread(write_image(tmp_path / "tooth.dcm"))
    sr = highdicom.sr
    line = sr.CoordinatesForMeasurement(
        "POLYLINE", np.array([[1.0, 1.0], [5.0, 9.0]]), sr.SourceImageForRegion.from_source_image(image)
    )
    group = sr.MeasurementsAndQualitativeEvaluations(
        tracking_identifier=sr.TrackingIdentifier(uid=highdicom.UID(), identifier="lesion"),
        finding_sites=[sr.FindingSite(codes.SCT.Jaw if hasattr(codes.SCT, "Jaw") else codes.SCT.Head)],
        measurements=[
            sr.Measurement(codes.SCT.Length, 12.5, codes.UCUM.Millimeter, referenced_coordinates=[line]),
        ],
    )
    device = sr.ObserverContext(codes.DCM.Device, sr.DeviceObserverIdentifyingAttributes(uid=highdicom.UID()))
    report = sr.MeasurementReport(
        sr.ObservationContext(observer_device_context=device), codes.cid100.ImagingProcedure, [group]
    )
    document = sr.ComprehensiveSR(
        [image], report[0], highdicom.UID(), 1, highdicom.UID(), 1, manufacturer="other"
    )
    document.save_as(tmp_path / "foreign.dcm")
    listed = list_measurements(tmp_path / "foreign.dcm")
    assert [(one.group, one.name, one.value, one.unit, one.graphic, one.points) for one in listed] == [
        ("lesion", "Length", 12.5, "mm", "POLYLINE", 2)
    ]


@pytest.mark.parametrize("name", ["reportsi.dcm", "test-SR.dcm"])
def test_samples_of_pydicom_are_listed_without_a_stumble(name):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        listed = list_measurements(Path(str(get_testdata_file(name))))
    assert all(isinstance(one.value, float) for one in listed)
    assert len(listed) > 0 or name == "reportsi.dcm"


def test_the_calibrated_copy_is_one_and_the_original_is_not(tmp_path):
    made = marked_image(tmp_path)
    derived = pydicom.dcmread(write_documents(made.path, ["derived"])[0].path)
    original = made.dataset()
    assert (derived.PixelSpacingCalibrationType, len(derived.PixelSpacingCalibrationDescription) <= 64) == (
        "FIDUCIAL",
        True,
    )
    assert derived.ImageType[0] == "DERIVED"
    assert derived.ImagerPixelSpacing == original.ImagerPixelSpacing
    assert "PixelSpacing" not in original
    assert derived.PixelData == original.PixelData
    source = derived.SourceImageSequence[0]
    assert source.ReferencedSOPInstanceUID == original.SOPInstanceUID != derived.SOPInstanceUID
    copy = read_radiograph(tmp_path / "tooth.dcm.radlength-derived.dcm")
    assert copy.scale.meaning == "fiducial"
    found = measure_record(made.record, read_radiograph(made.path))[0][1]
    from radlength.geometry import fit_curve

    assert fit_curve(MB).length * copy.scale.row_mm == pytest.approx(found.canal_length.value_mm, rel=1e-6)
