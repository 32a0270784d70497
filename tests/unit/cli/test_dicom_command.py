from __future__ import annotations

import shlex

import pytest
from helpers.archive_images import DISTAL, mark, marked_image, write_image
from pydicom import dcmread
from pydicom.uid import KeyObjectSelectionDocumentStorage
from typer.main import get_command

from radlength.cli import dicom_archive, dicom_copy, dicom_show, dicom_write
from radlength.cli.app import build_app
from radlength.length import Canal
from radlength.record import load_record, save_record
from radlength.trade import CAUTION


def test_write_then_show(tmp_path, invoke):
    made = marked_image(tmp_path)
    done = invoke("dicom", "write", made.path, "--json")
    assert [one["kind"] for one in done.json["documents"]] == ["sr", "pr"]
    report = done.json["documents"][0]["file"]
    shown = invoke("dicom", "show", report, "--image", made.path, "--json").json
    assert shown["ours"] is True
    assert shown["verified_by"] == []
    assert {one["group"] for one in shown["measurements"]} >= {"46 MB", "46 D", "file in MB"}
    assert [one["canal"] for one in shown["elsewhere"]] == ["46 MB", "46 D"]
    text = invoke("dicom", "show", report, "--image", made.path)
    assert text.code == 0
    for words in ("46 MB, elsewhere:", "verified by nobody", " ".join(CAUTION.split()[:4])):
        assert words in text.out


def test_a_report_is_shown_with_its_intervals_rules_and_doubts(tmp_path, invoke):
    made = marked_image(tmp_path)
    report = invoke("dicom", "write", made.path, "--json").json["documents"][0]["file"]
    shown = invoke("dicom", "show", report, "--json").json
    length = next(one for one in shown["measurements"] if (one["group"], one["unit"]) == ("46 D", "mm"))
    assert length["low"] < length["value"] < length["high"]
    distal = shown["canals"][1]
    assert (distal["canal"], distal["reference"]) == ("46 D", "file in MB")
    assert any(doubt.startswith("reference-borrowed: ") for doubt in distal["doubts"])
    text = " ".join(invoke("dicom", "show", report).out.split())
    assert "46 D, doubt: reference-borrowed: The reference lies in canal MB, not in D" in text
    assert (
        "46 MB: 6 points; 1 mm short of the radiographic apex (clinician's own offset); Instrument of" in text
    )


def test_all_kinds_are_told(tmp_path, invoke):
    done = invoke("dicom", "write", marked_image(tmp_path).path, "--picture", "--calibrated")
    assert done.code == 0
    for words in ("report written", "presentation written", "picture written", "calibrated copy written"):
        assert words in done.out


def test_a_folder_for_the_documents_is_made(tmp_path, invoke):
    out = tmp_path / "new" / "documents"
    done = invoke("dicom", "write", marked_image(tmp_path).path, "--out", out)
    assert done.code == 0, done.err
    assert len(list(out.glob("*.dcm"))) == 2


def case_of(folder, invoke, *, decided=True):
    """Make a case of a marked image through the commands, with a decision by a person where one is wanted."""
    path = write_image(folder / "a.dcm")
    mark(path, two=False)
    ends = ("--canal", "46 MB", "--ends-at", "radiographic apex", "--short", "1")
    known = ("--value", "20.5", "--limit", "0.5")
    decision = ("--value", "20.5", "--again", "20.5", "--by", "Παπά^Ζωή", "--based-on", "4")
    steps = [
        ("new", folder, "--invented"),
        ("add", "image", folder, path, "--stage", "working length", "--taken", "2026-01-02"),
        ("add", "canal", folder, "--tooth", "46", "--canal", "MB", "--reference-point", "cusp"),
        ("add", "length", folder, *ends, *known, "--method", "tactile", "--flaring", "before flaring"),
        ("decide", folder, *ends, *decision),
    ]
    for words in steps if decided else steps[:-1]:
        done = invoke("case", *words)
        assert done.code == 0, done.err
    return path


def test_decided_by_a_person_in_the_case_it_is_verified(tmp_path, invoke):
    path = case_of(tmp_path, invoke)
    report = invoke("dicom", "write", path, "--case", tmp_path, "--json").json["documents"][0]["file"]
    assert "verified by Παπά^Ζωή" in invoke("dicom", "show", report).out


def test_without_a_decision_in_the_case_nobody_verifies(tmp_path, invoke):
    path = case_of(tmp_path, invoke, decided=False)
    report = invoke("dicom", "write", path, "--case", tmp_path, "--json").json["documents"][0]["file"]
    assert "verified by nobody" in invoke("dicom", "show", report).out


def test_a_decision_never_comes_from_a_case_without_the_image(tmp_path, invoke):
    (tmp_path / "other").mkdir()
    case_of(tmp_path / "other", invoke)
    path = write_image(tmp_path / "b.dcm", seed=2)
    mark(path, two=False)
    done = invoke("dicom", "write", path, "--case", tmp_path / "other")
    assert (done.code, "the image is not in the case" in done.err) == (1, True)


def test_a_record_is_restored(tmp_path, invoke):
    made = marked_image(tmp_path)
    report = invoke("dicom", "write", made.path, "--json").json["documents"][0]["file"]
    (tmp_path / "tooth.dcm.radlength.json").unlink()
    assert invoke("dicom", "show", report, "--restore").code == 2
    lost = invoke("dicom", "show", report, "--image", made.path)
    assert (lost.code, "leave --image out, or add --restore" in lost.err) == (1, True)
    done = invoke("dicom", "show", report, "--restore", "--image", made.path)
    assert done.code == 0
    assert "record written" in done.out
    assert (tmp_path / "tooth.dcm.radlength.json").exists()


def test_copies_to_give_away(tmp_path, invoke):
    made = marked_image(tmp_path)
    done = invoke("dicom", "deidentify", made.path, "--out", tmp_path / "give")
    assert done.code == 0
    assert "a name burned into the pixels is never removed" in " ".join(done.out.split())
    again = invoke("dicom", "deidentify", made.path, "--out", tmp_path / "give2", "--json").json
    assert len(again["images"]) == len(again["records"]) == 1


@pytest.mark.parametrize("name", ["tooth.png", "tooth.txt"])
def test_what_is_no_dicom_has_no_patient(tmp_path, invoke, name):
    (tmp_path / name).write_bytes(b"\x89PNG\r\n\x1a\n" if name.endswith("png") else b"hello, this is text")
    done = invoke("dicom", "write", tmp_path / name)
    assert done.code == 1
    assert done.err.startswith(f"radlength: {name}: not a DICOM file, so it has no patient and no study; ")


def test_a_report_is_not_compared_with_another_image(tmp_path, invoke):
    made, other = marked_image(tmp_path), marked_image(tmp_path, "other.dcm", seed=2)
    report = invoke("dicom", "write", made.path, "--json").json["documents"][0]["file"]
    done = invoke("dicom", "show", report, "--image", other.path)
    assert done.code == 1
    assert "the report is about another image" in done.err


EXAMPLES = {
    "write": dicom_write.EXAMPLE,
    "show": dicom_show.EXAMPLE,
    "deidentify": dicom_copy.EXAMPLE,
    "send": dicom_archive.SEND_EXAMPLE,
    "find": dicom_archive.FIND_EXAMPLE,
    "fetch": dicom_archive.FETCH_EXAMPLE,
}
GROUP = get_command(build_app()).commands["dicom"]  # type: ignore[attr-defined]


def test_every_command_of_the_group_is_tried_here():
    assert tuple(GROUP.commands) == tuple(EXAMPLES)


@pytest.mark.parametrize("name", EXAMPLES)
def test_options_are_documented_and_the_example_parses(name, invoke):
    command, example = GROUP.commands[name], EXAMPLES[name]
    assert [one.name for one in command.params if not getattr(one, "help", None)] == []
    assert {"--json", "--debug"} <= {option for one in command.params for option in one.opts}
    words = shlex.split(example)
    assert words[:3] == ["radlength", "dicom", name]
    assert command.make_context(name, words[3:]).params
    said = " ".join(invoke("dicom", name, "--help").out.split())
    assert example in said
    assert CAUTION in said


def test_it_is_said_whether_the_case_verifies_the_report(tmp_path, invoke):
    path = case_of(tmp_path, invoke)
    done = invoke("dicom", "write", path, "--case", tmp_path, "--json").json
    assert (done["verified"], done["not_verified_because"]) == (True, [])
    assert "verified by who decided" in invoke("dicom", "write", path, "--case", tmp_path).out
    save_record(load_record(path).with_canal(Canal("46", "D", DISTAL), reference="file in MB"))
    told = invoke("dicom", "write", path, "--case", tmp_path)
    assert told.code == 0
    assert "not verified: no decision on 46 D" in told.out
    assert "verified" not in invoke("dicom", "write", path).out


def test_a_report_of_older_marks_is_told_from_one_of_the_present(tmp_path, invoke):
    path = write_image(tmp_path / "a.dcm")
    mark(path, two=False)
    report = invoke("dicom", "write", path, "--json").json["documents"][0]["file"]
    assert invoke("dicom", "show", report, "--image", path, "--json").json["outdated"] == []
    entry = load_record(path).canals[0]
    shorter = Canal("46", "MB", entry.canal.path_px[:-1])
    save_record(load_record(path).with_canal(shorter, reference=entry.reference, terminus=entry.terminus))
    told = " ".join(invoke("dicom", "show", report, "--image", path).out.split())
    assert "46 MB: the report says a canal length of" in told


def test_a_record_that_is_there_is_not_replaced_by_that_of_a_report(tmp_path, invoke):
    made = marked_image(tmp_path)
    report = invoke("dicom", "write", made.path, "--json").json["documents"][0]["file"]
    done = invoke("dicom", "show", report, "--restore", "--image", made.path)
    assert done.code == 1
    assert "there is a record of the image already, and it is not replaced; move it away" in done.err


def test_an_unknown_reference_is_named(tmp_path, invoke):
    done = invoke("dicom", "write", marked_image(tmp_path).path, "--calibrated", "--reference", "mine")
    assert done.code == 1
    assert "no object of known length is called 'mine'; one of: file in MB" in done.err


def test_a_document_without_a_measurement_says_so(tmp_path, invoke):
    """As a selection of key objects is one: it has a content tree and no number."""
    made = marked_image(tmp_path)
    path = invoke("dicom", "write", made.path, "--json").json["documents"][0]["file"]
    report = dcmread(path)
    report.Manufacturer = report.ManufacturerModelName = "another"
    report.SOPClassUID = report.file_meta.MediaStorageSOPClassUID = KeyObjectSelectionDocumentStorage
    del report.CodingSchemeIdentificationSequence
    report.ContentSequence = report.ContentSequence[:1]
    report.save_as(path)
    shown = invoke("dicom", "show", path)
    assert shown.code == 0, shown.err
    assert "no measurement is in it" in shown.out
    assert "Measured on" not in shown.out
