"""A copy to give away: a word planted in every attribute there is comes out in none."""

from __future__ import annotations

import hashlib
import warnings

import numpy as np
import pydicom
import pytest
from helpers.archive_images import DISTAL, MB, decisions, mark, marked_image, write_image
from pydicom.datadict import DicomDictionary
from pydicom.dataset import Dataset
from pydicom.sequence import Sequence
from pydicom.uid import UID

from radlength.dicom import DicomError, deidentify, write_documents
from radlength.dicom.allowed import ALLOWED, ANATOMY
from radlength.imaging import read_radiograph
from radlength.length import Canal
from radlength.record import Record, load_record, measure_record, save_record

CANARY = "CANARY7"
DIGITS = "17290417"
"""Stands in dates, times and numbers, where a word cannot."""

TEXTS = {"AE", "CS", "LO", "LT", "PN", "SH", "ST", "UC", "UR", "UT"}
NUMBERS = {"DA": DIGITS, "DT": DIGITS, "TM": "172904.17", "AS": "172Y", "DS": DIGITS, "IS": DIGITS}


def _value(vr):
    if vr in TEXTS:
        return CANARY
    if vr == "UI":
        return f"1.2.3.{DIGITS}"
    return NUMBERS.get(vr)


def _planted(path):
    """Plant the word in every attribute of the data dictionary but the pixels and what they need."""
    needed = {
        "PixelData", "SpecificCharacterSet", "BurnedInAnnotation", "PhotometricInterpretation", "Modality",
        "SOPClassUID", "ImagerPixelSpacing", "TransferSyntaxUID", "NumberOfFrames",
    }  # fmt: skip
    planted = 0
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        ds = pydicom.dcmread(path)
        for tag, (vr, _, _, _, keyword) in DicomDictionary.items():
            if tag >> 16 in (0, 2, 4) or not keyword or keyword in needed:
                continue
            if vr == "SQ":
                item = Dataset()
                item.PatientName = item.PatientComments = item.CodeValue = item.CodeMeaning = CANARY
                ds.add_new(tag, "SQ", Sequence([item]))
            elif _value(vr) is not None:
                ds.add_new(tag, vr, _value(vr))
            elif vr in ("OB", "OW", "UN") and tag >> 16 != 0x7FE0:
                ds.add_new(tag, "OB", CANARY.encode() + b" ")
            else:
                continue
            planted += 1
        block = ds.private_block(0x0011, CANARY, create=True)
        block.add_new(0x01, "LO", CANARY)
        ds.add_new(0x60000010, "US", 1)
        ds.add_new(0x60003000, "OB", CANARY.encode() + b" ")
        ds.PixelData += CANARY.encode() + b" "
        ds.file_meta.SourceApplicationEntityTitle = CANARY
        ds.preamble = (CANARY.encode() * 20)[:128]
        ds.save_as(path)
    return planted


def _new_uids(path):
    ds = pydicom.dcmread(path)
    return [str(ds[keyword].value) for keyword in ("StudyInstanceUID", "SeriesInstanceUID", "SOPInstanceUID")]


def test_a_word_in_every_attribute_comes_out_in_none(tmp_path):
    """A superset of PS3.15 Table E.1-1: the whole data dictionary of pydicom, private attributes, meta, padding."""
    path = write_image(tmp_path / f"{CANARY}.dcm")
    planted = _planted(path)
    assert planted > 3500
    mark(path, who=CANARY)
    made = deidentify([path], tmp_path / "out")
    files = list((tmp_path / "out").iterdir())
    assert len(files) == len(made.images) + len(made.records) == 2
    new_uids = _new_uids(made.images[0])
    assert all(uid.startswith("2.25.") for uid in new_uids)
    for file in files:
        data = file.read_bytes()
        for uid in new_uids:  # random digits: one run in thousands they hold these ones
            data = data.replace(uid.encode(), b"")
        found = [word for word in (CANARY, DIGITS, "172904", "172Y") if word.encode() in data]
        assert found == [], file.name
        assert CANARY not in file.name


def test_the_list_is_short_and_what_is_not_on_it_is_gone(tmp_path):
    assert len(ALLOWED) == 39
    assert len(ANATOMY) == 3
    path = marked_image(tmp_path, StudyDescription="x", ProtocolName="y", DeviceSerialNumber="z").path
    ds = pydicom.dcmread(deidentify([path], tmp_path / "out").images[0])
    ours = {
        "SpecificCharacterSet", "PatientName", "PatientID", "PatientIdentityRemoved", "DeidentificationMethod",
        "DeidentificationMethodCodeSequence", "Manufacturer", "DetectorID", "AcquisitionContextSequence",
        "InstanceNumber", "StudyInstanceUID", "SeriesInstanceUID", "SOPInstanceUID", "PatientBirthDate", "PatientSex",
        "StudyDate", "StudyTime", "AccessionNumber", "ReferringPhysicianName", "StudyID", "SeriesNumber",
        "ContentDate", "ContentTime", "AcquisitionNumber",
    }  # fmt: skip
    assert {element.keyword for element in ds} <= {*ALLOWED, *ANATOMY, *ours}
    assert all(element.VM == 0 for element in ds if element.keyword in ("StudyDate", "StudyID", "PatientSex"))


def test_pixels_scale_and_lengths_are_those_of_the_original(tmp_path):
    made = marked_image(tmp_path, inverted=True)
    out = deidentify([made.path], tmp_path / "out")
    old, new = read_radiograph(made.path), read_radiograph(out.images[0])
    assert np.array_equal(old.stored, new.stored)
    assert (new.scale, new.facts.photometric, new.facts.tooth_codes) == (old.scale, "MONOCHROME1", ("46",))
    before = measure_record(made.record, old)
    after = measure_record(load_record(out.images[0]), new)
    assert [found.canal_length for _, found in after] == [found.canal_length for _, found in before]


def test_a_canal_has_one_name_in_all_copies(tmp_path):
    """Two canals whose names were typed, of which the second image shows one: their lengths may not swap."""
    paths = [write_image(tmp_path / f"{n}.dcm", seed=n) for n in (1, 2)]
    for path, names in zip(paths, (("first", "second"), ("second",)), strict=True):
        canals = [Canal("46", name, MB if name == "first" else DISTAL) for name in names]
        save_record(Record.new(read_radiograph(path), canals=canals), path)
    both, one = (load_record(path) for path in deidentify(paths, tmp_path / "out").images)
    told = {entry.canal.path_px: entry.canal.label for entry in both.canals}
    assert len(set(told.values())) == 2
    assert one.canals[0].canal.label == told[one.canals[0].canal.path_px]


def test_uids_are_new_and_files_of_one_study_stay_together(tmp_path):
    paths = [marked_image(tmp_path, f"{n}.dcm", seed=seed).path for n, seed in enumerate((1, 1, 2))]
    for path in paths[:2]:
        ds = pydicom.dcmread(path)
        ds.SOPInstanceUID = ds.file_meta.MediaStorageSOPInstanceUID = UID(f"2.25.7{path.stem}")
        ds.save_as(path)
    old = [pydicom.dcmread(path) for path in paths]
    new = [pydicom.dcmread(path) for path in deidentify(paths, tmp_path / "out").images]
    for keyword in ("StudyInstanceUID", "SeriesInstanceUID", "SOPInstanceUID"):
        assert {ds[keyword].value for ds in old}.isdisjoint({ds[keyword].value for ds in new})
    assert new[0].StudyInstanceUID == new[1].StudyInstanceUID != new[2].StudyInstanceUID
    assert len({ds.SOPInstanceUID for ds in new}) == 3
    assert [str(ds.PatientID) for ds in new] == ["ANON1", "ANON1", "ANON2"]


@pytest.mark.parametrize(("said", "removed"), [("NO", "YES"), (None, "NO")], ids=["said", "unsaid"])
def test_identity_counts_as_removed_only_where_no_text_is_in_the_picture(tmp_path, said, removed):
    """PS3.3 C.7.1.1: Patient Identity Removed speaks of the attributes and of the pixels."""
    made = marked_image(tmp_path, BurnedInAnnotation=said)
    out = deidentify([made.path], tmp_path / "out")
    assert pydicom.dcmread(out.images[0]).PatientIdentityRemoved == removed
    assert "burned into the pixels is never removed" in out.reminder


@pytest.mark.parametrize("said", ["YES"])
def test_text_in_the_picture_is_never_called_deidentified(tmp_path, said):
    made = marked_image(tmp_path, BurnedInAnnotation=said)
    with pytest.raises(
        DicomError, match="Burned In Annotation is YES: text in the pixels may name the patient"
    ):
        deidentify([made.path], tmp_path / "out")
    assert list((tmp_path / "out").iterdir()) == []


def test_our_own_picture_of_the_marks_is_refused(tmp_path):
    made = marked_image(tmp_path)
    picture = write_documents(made.path, ["sc"])[0].path
    with pytest.raises(Exception, match="not one grey image"):
        deidentify([picture], tmp_path / "out")


def test_documents_made_of_the_copy_carry_nothing_of_the_original(tmp_path):
    """The planted number has a letter inside: digits alone are met by chance among those of new UIDs."""
    made = marked_image(tmp_path, PatientName="Planted^Name", PatientID="47X11")
    write_documents(made.path, ["sr"], decisions=decisions("46 MB"))
    original = made.dataset()
    copy = deidentify([made.path], tmp_path / "out").images[0]
    for written in write_documents(copy, ["sr", "pr"]):
        data = written.path.read_bytes()
        words = [
            "Planted",
            "47X11",
            "Decider",
            "Reader",
            str(original.StudyInstanceUID),
            str(original.SOPInstanceUID),
        ]
        assert [word for word in words if word.encode() in data] == []


def test_nothing_is_written_over(tmp_path):
    made = marked_image(tmp_path)
    before = hashlib.sha256(made.path.read_bytes()).digest()
    with pytest.raises(DicomError, match="holds something"):
        deidentify([made.path], tmp_path)
    deidentify([made.path], tmp_path / "out")
    assert hashlib.sha256(made.path.read_bytes()).digest() == before


def test_values_that_are_not_what_they_may_be_do_not_stay(tmp_path):
    ds = pydicom.dcmread(write_image(tmp_path / "a.dcm"))
    ds.ImageType = ["ORIGINAL", "PRIMARY", "SMITH"]
    ds.RescaleType = "JOHN"
    ds.PatientOrientation = ["A", "SMITH"]
    ds.AnatomicRegionSequence[0].CodeValue = "4711"
    ds.PrimaryAnatomicStructureSequence[0].CodeMeaning = "tooth of John Smith"
    ds.save_as(tmp_path / "a.dcm")
    made = pydicom.dcmread(deidentify([tmp_path / "a.dcm"], tmp_path / "out").images[0])
    gone = ("ImageType", "RescaleType", "PatientOrientation", "AnatomicRegionSequence")
    assert [keyword for keyword in gone if keyword in made] == []
    assert made.PrimaryAnatomicStructureSequence[0].CodeMeaning == "Mandibular right first molar tooth"


def test_the_table_of_the_eye_stays_as_numbers(tmp_path):
    ds = pydicom.dcmread(write_image(tmp_path / "a.dcm"))
    item = Dataset()
    item.add_new("LUTDescriptor", "US", [4096, 0, 12])
    item.add_new("LUTData", "US", list(range(4096)))
    item.LUTExplanation = "John Smith"
    bad = Dataset()
    bad.add_new("LUTDescriptor", "US", [4096, 0, 12])
    bad.add_new("LUTData", "OW", b"John Smith")
    ds.VOILUTSequence = [item, bad]
    ds.save_as(tmp_path / "a.dcm")
    made = pydicom.dcmread(deidentify([tmp_path / "a.dcm"], tmp_path / "out").images[0])
    assert len(made.VOILUTSequence) == 1
    assert made.VOILUTSequence[0].LUTData == np.arange(4096, dtype="<u2").tobytes()
    assert "LUTExplanation" not in made.VOILUTSequence[0]
