"""What the report says is what was marked and measured, and a person stands behind it only where one does."""

from __future__ import annotations

import hashlib
from datetime import timedelta, timezone
from pathlib import Path

import pydicom
import pytest
from helpers.archive_images import (
    DISTAL,
    INSTRUMENT,
    MB,
    change,
    decisions,
    mark,
    marked_image,
    quiet_read,
    write_image,
)

from radlength.dicom import DicomError, write_documents
from radlength.dicom import codes as c
from radlength.dicom import sr_items as items
from radlength.dicom.tree import below, code_of, everything, first, text_of, value_of
from radlength.errors import ScaleError
from radlength.imaging import read_radiograph
from radlength.record import Record, measure_record, save_record
from radlength.scale import Reference
from radlength.trade import CAUTION


def _report(image: Path, **options):
    written = write_documents(image, ["sr"], **options)[0]
    return pydicom.dcmread(written.path)


def _groups(sr, finding):
    found = [
        item for _, item in everything(sr) if any(c.is_code(n, c.GROUP) for n in item.ConceptNameCodeSequence)
    ]
    return [one for one in found if code_of(first(one, c.FINDING_TYPE)).CodeValue == finding[0]]


def _points(item):
    data = list(next(below(item, c.SOURCE, "SCOORD")).GraphicData)
    return [(round(y - 0.5, 3), round(x - 0.5, 3)) for x, y in zip(data[::2], data[1::2], strict=True)]


def test_one_group_a_canal_and_one_a_reference(tmp_path):
    made = marked_image(tmp_path)
    sr = _report(made.path)
    canals, references = _groups(sr, c.CANAL), _groups(sr, c.CALIBRATION_OBJECT)
    assert [text_of(first(one, c.TRACKING)) for one in canals] == ["46 MB", "46 D"]
    assert [text_of(first(one, c.TRACKING)) for one in references] == ["file in MB"]
    sites = [code_of(first(one, c.FINDING_SITE)) for one in canals]
    assert [site.CodeValue for site in sites] == ["866005003"] * 2
    measured = [found for _, found in measure_record(made.record, read_radiograph(made.path))]
    for group, found in zip(canals, measured, strict=True):
        path, working = first(group, c.PATH_LENGTH), first(group, c.WORKING_LENGTH)
        stated = [path, working, *(first(path, code) for code in (c.ABOVE, c.BELOW, c.STANDARD_U))]
        length = found.canal_length
        exact = (
            length.value_mm,
            found.working_length.value_mm,
            length.upper_arm,
            length.lower_arm,
            length.u_mm,
        )
        assert [value_of(one) for one in stated] == [(float(f"{value:.11g}"), "mm") for value in exact]
        said = [text_of(one) for one in below(group, c.FINDING)]
        assert [one.split(":")[0] for one in said] == [doubt.code for doubt in found.findings]
        assert text_of(first(group, c.CAUTION_ITEM)) == CAUTION
    assert [_points(first(one, c.PATH_LENGTH)) for one in canals] == [list(MB), list(DISTAL)]


def test_uncertainty_is_in_the_unit_of_its_parent(tmp_path):
    sr = _report(marked_image(tmp_path).path)
    pairs = 0
    for above, item in everything(sr):
        if item.get("ValueType") == "NUM" and above and above[-1].get("ValueType") == "NUM":
            assert value_of(item)[1] == value_of(above[-1])[1]
            pairs += 1
    assert pairs == 14


def test_the_calibration_states_object_limits_and_factor(tmp_path):
    group = _groups(_report(marked_image(tmp_path).path), c.CALIBRATION_OBJECT)[0]
    size, pixels, factor = (first(group, code) for code in (c.OBJECT_SIZE, c.PATH_LENGTH, c.FACTOR))
    assert value_of(size) == (21.0, "mm")
    assert value_of(first(size, c.AROUND)) == (0.25, "mm")
    assert value_of(factor)[0] == pytest.approx(21.0 / value_of(pixels)[0])
    assert value_of(factor)[1] == "mm/{pixel}"
    assert _points(size) == list(INSTRUMENT)
    assert code_of(first(group, c.PLACEMENT)).CodeValue == "PLACED-IN-CANAL"


def test_the_terminus_rule_is_told_with_its_table(tmp_path):
    first_canal, second = _groups(_report(marked_image(tmp_path).path), c.CANAL)
    assert value_of(first(first_canal, c.OFFSET)) == (1.0, "mm")
    assert first(first_canal, c.RULE_TABLE) is None
    assert text_of(first(second, c.RULE_TABLE)) == "apex offset by resorption"
    assert text_of(first(second, c.RULE_SEEN)) == "bone"
    assert value_of(first(second, c.OFFSET)) == (1.5, "mm")


def test_nobody_decided_so_nobody_verified(tmp_path):
    sr = _report(marked_image(tmp_path).path)
    assert (sr.CompletionFlag, sr.PreliminaryFlag, sr.VerificationFlag) == (
        "COMPLETE",
        "PRELIMINARY",
        "UNVERIFIED",
    )
    assert "VerifyingObserverSequence" not in sr


def test_one_undecided_canal_leaves_the_report_unverified(tmp_path):
    sr = _report(marked_image(tmp_path).path, decisions=decisions("46 MB"))
    assert sr.VerificationFlag == "UNVERIFIED"
    canals = _groups(sr, c.CANAL)
    assert value_of(first(canals[0], c.DECIDED_LENGTH)) == (20.5, "mm")
    assert first(canals[1], c.DECIDED_LENGTH) is None


def test_decisions_of_every_canal_verify_with_name_and_time(tmp_path):
    sr = _report(marked_image(tmp_path).path, decisions=decisions("46 MB", "46 D", person="Παπά^Ζωή"))
    assert sr.VerificationFlag == "VERIFIED"
    observer = sr.VerifyingObserverSequence[0]
    assert str(observer.VerifyingObserverName) == "Παπά^Ζωή"
    assert observer.VerificationDateTime == "20260102120000+0000"
    assert observer.VerifyingOrganization == "Invented practice"


@pytest.mark.parametrize(
    ("charset", "name"),
    [
        ("ISO_IR 100", "Müller^Jörg"),
        ("ISO_IR 126", "Παπά^Ζωή"),
        ("ISO_IR 192", "Müller^Jörg"),
        ("ISO_IR 192", "Παπά^Ζωή"),
    ],
    ids=["latin", "greek", "utf8-german", "utf8-greek"],
)
def test_names_survive_whatever_set_the_image_is_in(tmp_path, charset, name):
    path = write_image(tmp_path / "tooth.dcm")
    change(path, SpecificCharacterSet=charset, PatientName=name)
    assert str(quiet_read(path).PatientName) == name
    mark(path, who="Ćwik^Żaneta")
    for written in write_documents(path, ["sr", "pr", "sc"]):
        made = pydicom.dcmread(written.path)
        assert made.SpecificCharacterSet == "ISO_IR 192"
        assert str(made.PatientName) == name
        if written.document.kind == "sr":
            people = [
                str(item.PersonName) for _, item in everything(made) if item.get("ValueType") == "PNAME"
            ]
            assert people == ["Ćwik^Żaneta"]


def test_identity_is_copied_and_the_image_untouched(tmp_path):
    made = marked_image(tmp_path, AccessionNumber="A1", StudyID="S7", PatientSex="F")
    before = hashlib.sha256(made.path.read_bytes()).digest()
    image = made.dataset()
    for written in write_documents(made.path, ["sr", "pr", "sc", "derived"]):
        ds = pydicom.dcmread(written.path)
        for keyword in (
            "PatientName",
            "PatientID",
            "PatientSex",
            "StudyInstanceUID",
            "AccessionNumber",
            "StudyID",
        ):
            assert ds[keyword].value == image[keyword].value, keyword
        assert ds.SeriesInstanceUID != image.SeriesInstanceUID
        assert ds.SOPInstanceUID != image.SOPInstanceUID
        assert ds.file_meta.MediaStorageSOPInstanceUID == ds.SOPInstanceUID
    assert hashlib.sha256(made.path.read_bytes()).digest() == before


def test_made_again_it_is_the_same_file(tmp_path):
    made = marked_image(tmp_path)
    first_time = write_documents(made.path, ["sr", "pr", "derived"])
    kept = [one.path.read_bytes() for one in first_time]
    for one in first_time:
        one.path.unlink()
    again = write_documents(made.path, ["sr", "pr", "derived"])
    assert again == first_time
    assert [one.path.read_bytes() for one in again] == kept


def test_changed_content_names_the_document_before_it(tmp_path):
    made = marked_image(tmp_path)
    one = write_documents(made.path, ["sr"])[0]
    two = write_documents(made.path, ["sr"], decisions=decisions("46 MB"))[0]
    sr = pydicom.dcmread(two.path)
    series = sr.PredecessorDocumentsSequence[0].ReferencedSeriesSequence[0]
    assert series.ReferencedSOPSequence[0].ReferencedSOPInstanceUID == one.document.sop_instance
    assert series.SeriesInstanceUID == one.document.series_instance
    assert one.path != two.path
    assert one.path.exists()


def test_a_document_that_a_loss_of_power_left_empty_is_written_again(tmp_path):
    made = marked_image(tmp_path)
    path = write_documents(made.path, ["sr"])[0].path
    whole = path.read_bytes()
    path.write_bytes(b"")
    assert write_documents(made.path, ["sr"])[0].path == path
    assert path.read_bytes() == whole


def test_a_file_in_the_way_is_left_alone(tmp_path):
    made = marked_image(tmp_path)
    there = tmp_path / "tooth.dcm.radlength-sr.dcm"
    there.write_bytes(b"other")
    with pytest.raises(DicomError, match="another file is in the place of the document"):
        write_documents(made.path, ["sr"])
    assert there.read_bytes() == b"other"


@pytest.mark.parametrize("keyword", ["StudyInstanceUID", "SOPInstanceUID", "SeriesInstanceUID"])
def test_an_image_without_its_uids_is_refused(tmp_path, keyword):
    path = write_image(tmp_path / "tooth.dcm")
    mark(path)
    change(path, **{keyword: ""})
    with pytest.raises(DicomError, match=f"the image lacks {keyword}"):
        write_documents(path)


def test_an_image_without_type_2_attributes_is_served(tmp_path):
    gone = dict.fromkeys(
        ("PatientBirthDate", "PatientSex", "AccessionNumber", "StudyID", "ReferringPhysicianName")
    )
    made = marked_image(tmp_path, **gone)
    sr = _report(made.path)
    assert all(sr[keyword].value in ("", None) for keyword in gone)


def test_without_a_scale_there_are_pixels_and_no_millimetres(tmp_path):
    path = write_image(tmp_path / "tooth.dcm", ImagerPixelSpacing=None)
    mark(path, references=False, two=False)
    sr = _report(path)
    units = {value_of(item)[1] for _, item in everything(sr) if item.get("ValueType") == "NUM"}
    assert units == {"{pixels}"}
    group = _groups(sr, c.CANAL)[0]
    assert value_of(first(group, c.PATH_LENGTH))[0] == pytest.approx(221.06, abs=0.1)
    assert code_of(first(group, c.SCALE_SOURCE)).CodeValue == "SCALE-NONE"


def test_pixels_that_are_not_square_get_both_spacings(tmp_path):
    path = write_image(tmp_path / "tooth.dcm", ImagerPixelSpacing=[0.1, 0.05])
    mark(path)
    group = _groups(_report(path), c.CALIBRATION_OBJECT)[0]
    down, across = (value_of(first(group, code))[0] for code in (c.VERTICAL, c.HORIZONTAL))
    assert down / across == pytest.approx(2.0)
    assert first(group, c.PATH_LENGTH) is None


def test_without_scale_and_square_pixels_nothing_is_made_up(tmp_path):
    path = write_image(tmp_path / "tooth.dcm", ImagerPixelSpacing=None)
    change(path, PixelAspectRatio=[2, 1])
    mark(path, references=False, two=False)
    with pytest.raises(DicomError, match="no scale, and pixels that are not square"):
        write_documents(path, ["sr"])


def test_nothing_marked_is_refused(tmp_path):
    path = write_image(tmp_path / "tooth.dcm")
    save_record(Record.new(read_radiograph(path)), path)
    with pytest.raises(DicomError, match="no canal is marked"):
        write_documents(path)


def test_an_unknown_kind_is_refused(tmp_path):
    with pytest.raises(DicomError, match="no document 'pdf'"):
        write_documents(marked_image(tmp_path).path, ["pdf"])


def test_times_follow_the_zone_of_the_image(tmp_path):
    """A zone stated here alone would also move the study's own times."""
    plain = marked_image(tmp_path, "plain.dcm")
    zoned = marked_image(tmp_path, "zoned.dcm", TimezoneOffsetFromUTC="+0530")
    assert "TimezoneOffsetFromUTC" not in _report(plain.path)
    written = write_documents(zoned.path, ["sr"])[0]
    sr = pydicom.dcmread(written.path)
    assert sr.TimezoneOffsetFromUTC == "+0530"
    local = written.document.when.astimezone(timezone(timedelta(hours=5, minutes=30)))
    assert (sr.ContentDate, sr.ContentTime) == (local.strftime("%Y%m%d"), local.strftime("%H%M%S"))


def test_a_panoramic_image_gives_no_document(tmp_path):
    path = write_image(tmp_path / "tooth.dcm", Modality="PX")
    mark(path)
    with pytest.raises(ScaleError, match="a panoramic image gives no length"):
        write_documents(path)


def test_the_picture_is_for_looking_and_not_for_measuring(tmp_path):
    made = marked_image(tmp_path)
    sc = pydicom.dcmread(write_documents(made.path, ["sc"])[0].path)
    assert sc.BurnedInAnnotation == "YES"
    assert [keyword for keyword in ("PixelSpacing", "ImagerPixelSpacing") if keyword in sc] == []
    assert "do not measure on it" in sc.DerivationDescription
    assert sc.pixel_array.shape == (sc.Rows, sc.Columns, 3)
    assert len({tuple(pixel) for pixel in sc.pixel_array.reshape(-1, 3)[::37]}) > 50


@pytest.mark.parametrize(
    ("references", "chosen", "words"),
    [
        (False, None, "no object of known length to calibrate by"),
        (True, "other", "no object of known length"),
    ],
    ids=["none", "unknown"],
)
def test_a_calibrated_copy_needs_its_reference(tmp_path, references, chosen, words):
    path = write_image(tmp_path / "tooth.dcm")
    mark(path, references=references)
    before = sorted(tmp_path.iterdir())
    with pytest.raises(DicomError, match=words):
        write_documents(path, ["sr", "derived"], reference=chosen)
    assert sorted(tmp_path.iterdir()) == before, "all of it or nothing"


def test_several_references_must_be_chosen_from(tmp_path):
    path = write_image(tmp_path / "tooth.dcm")
    record = mark(path).with_reference(Reference([(20, 90), (220, 90)], 20.0, 0.25, "beside", "wire"))
    (tmp_path / "tooth.dcm.radlength.json").unlink()
    save_record(record, path)
    with pytest.raises(DicomError, match="several objects of known length; one of: file in MB, wire"):
        write_documents(path, ["derived"])
    derived = pydicom.dcmread(write_documents(path, ["derived"], reference="wire")[0].path)
    assert [float(side) for side in derived.PixelSpacing] == pytest.approx([0.1, 0.1])


def test_a_folder_that_cannot_be_written_is_said(tmp_path):
    (tmp_path / "a file").write_text("no folder", encoding="utf-8")
    with pytest.raises(DicomError, match="the document cannot be written"):
        write_documents(marked_image(tmp_path).path, ["sr"], out=tmp_path / "a file")


def test_the_last_digits_of_a_number_make_no_other_report(tmp_path):
    """As two machines worked out one number."""
    here, there = (
        items.number(c.PATH_LENGTH, value, c.MILLIMETRE) for value in (1.4374041738330696, 1.4374041738330732)
    )
    assert here == there
    assert value_of(here)[0] == pytest.approx(1.437404174, abs=1e-9)
    assert items.number(c.PATH_LENGTH, 1.437405, c.MILLIMETRE) != here
