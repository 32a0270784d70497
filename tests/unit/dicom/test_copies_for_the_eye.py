"""The picture and the calibrated copy say of marks, scale and names what is so."""

from __future__ import annotations

import pytest
from helpers.archive_images import DISTAL, INSTRUMENT, MB, mark, write_image

from radlength.dicom import DicomError, read_any, sc, write_documents
from radlength.imaging import read_radiograph
from radlength.length import Canal
from radlength.record import Record, save_record
from radlength.scale import Reference


def _status_of_the_picture(path, monkeypatch):
    said = []
    draw = sc.annotated_picture

    def drawn(*given, status):
        said.append((len(given[1]), status))
        return draw(*given, status=status)

    monkeypatch.setattr(sc, "annotated_picture", drawn)
    write_documents(path, ["sc"])
    return said[-1]


def test_a_picture_of_marks_without_a_scale_is_refused(tmp_path):
    """It would show none of them and say that no canal is marked."""
    path = write_image(tmp_path / "bare.dcm", ImagerPixelSpacing=None)
    mark(path, references=False)
    with pytest.raises(DicomError, match="no canal has a scale"):
        write_documents(path, ["sr", "sc"])
    assert not list(tmp_path.glob("*radlength-s?.dcm"))


def test_a_canal_that_is_not_drawn_is_named_in_the_picture(tmp_path, monkeypatch):
    path = write_image(tmp_path / "half.dcm", ImagerPixelSpacing=None)
    canals = [Canal("46", "MB", MB), Canal("46", "D", DISTAL)]
    reference = Reference(INSTRUMENT, 21.0, 0.25, "in_canal", "file in MB", "MB")
    record = Record.new(read_radiograph(path), canals=canals[:1], references=[reference]).with_canal(
        canals[1]
    )
    save_record(record, path)
    drawn, status = _status_of_the_picture(path, monkeypatch)
    assert (drawn, status) == (1, "estimate, not confirmed · no scale, not drawn: 46 D")


def test_a_picture_of_an_invented_case_says_so(tmp_path, monkeypatch):
    path = write_image(tmp_path / "tooth.dcm")
    save_record(mark(path).model_copy(update={"invented": True}), path)
    assert "invented" in _status_of_the_picture(path, monkeypatch)[1]


@pytest.mark.parametrize(
    ("characters", "patient", "name", "written"),
    [
        (None, "Mueller^J", "Größe", ""),
        ("ISO_IR 100", "Müller^J", "файл", ""),
        ("ISO_IR 100", "Müller^J", "file 15", ": file 15"),
        ("ISO_IR 192", "Müller^J", "файл", ": файл"),
    ],
)
def test_a_calibrated_copy_writes_no_name_that_its_character_set_lacks(
    tmp_path, characters, patient, name, written
):
    path = write_image(tmp_path / "tooth.dcm", SpecificCharacterSet=characters, PatientName=patient)
    reference = Reference(INSTRUMENT, 21.0, 0.25, "in_canal", name, "MB")
    save_record(
        Record.new(read_radiograph(path), canals=[Canal("46", "MB", MB)], references=[reference]), path
    )
    copy = read_any(write_documents(path, ["derived"])[0].path)
    assert copy.PixelSpacingCalibrationDescription == f"21 mm +-0.25 in canal{written}"
    assert str(copy.PatientName) == patient
