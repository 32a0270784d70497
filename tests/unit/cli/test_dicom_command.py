from __future__ import annotations

import pytest
from helpers.archive_images import mark, marked_image, write_image

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


def test_all_kinds_are_told(tmp_path, invoke):
    done = invoke("dicom", "write", marked_image(tmp_path).path, "--picture", "--calibrated")
    assert done.code == 0
    for words in ("report written", "presentation written", "picture written", "calibrated copy written"):
        assert words in done.out


def test_a_decision_needs_a_person_and_a_time(tmp_path, invoke):
    path = marked_image(tmp_path).path
    assert invoke("dicom", "write", path, "--decided", "46 MB=20.5").code == 2
    assert invoke("dicom", "write", path, "--decided", "46 MB=20.5", "--person", "A").code == 2
    assert invoke("dicom", "write", path, "--person", "A").code == 2


@pytest.mark.parametrize(
    ("decided", "time", "words"),
    [
        ("46 MB", "2026-01-02T12:00:00+01:00", "no canal with a length"),
        ("46 MB=x", "2026-01-02T12:00:00+01:00", "no canal with a length"),
        ("46 MB=20", "yesterday", "is not a time"),
        ("46 MB=20", "2026-01-02T12:00:00", "time has no zone"),
        ("47 MB=20", "2026-01-02T12:00:00+01:00", "no canal '47 MB'"),
    ],
    ids=["no-number", "word", "no-time", "no-zone", "other"],
)
def test_half_a_decision_is_refused(tmp_path, invoke, decided, time, words):
    path = marked_image(tmp_path).path
    done = invoke("dicom", "write", path, "--decided", decided, "--person", "A^Invented", "--time", time)
    assert done.code == 1
    assert words in done.err


def test_decided_by_a_person_it_is_verified(tmp_path, invoke):
    path = write_image(tmp_path / "a.dcm")
    mark(path, two=False)
    given = ("--decided", "46 MB=20.5", "--person", "Παπά^Ζωή", "--time", "2026-01-02T12:00:00+01:00")
    report = invoke("dicom", "write", path, *given, "--json").json["documents"][0]["file"]
    assert "verified by Παπά^Ζωή" in invoke("dicom", "show", report).out


def test_a_record_is_restored(tmp_path, invoke):
    made = marked_image(tmp_path)
    report = invoke("dicom", "write", made.path, "--json").json["documents"][0]["file"]
    (tmp_path / "tooth.dcm.radlength.json").unlink()
    assert invoke("dicom", "show", report, "--restore").code == 2
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
    assert f"{name} has no patient or study" in done.err
