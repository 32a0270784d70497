"""``radlength check FOLDER``: every record and case of a tree."""

from __future__ import annotations

from helpers.case_commands import said
from helpers.cases import CANAL, points, write_image
from helpers.made_case import write_marked_image

from radlength.record import load_case, load_record, save_record
from radlength.record.case_findings import case_findings
from radlength.uncertainty import Marking


def test_check_reads_a_whole_tree(measured, invoke):
    write_marked_image(measured)
    invoke("case", "add", "image", measured, "tooth.tif", "--stage", "review", "--taken", "2026-01-02")
    done = invoke("check", measured.parent, "--json")
    assert done.code == 0
    kinds = [(one["path"], one["kind"], one["verdict"]) for one in done.json["files"]]
    assert kinds == [
        ("tooth46/radlength-case.json", "case", "agrees"),
        ("tooth46/tooth.tif.radlength.json", "record", "agrees"),
    ]
    save_record(load_record(measured / "tooth.tif").with_marking(Marking(apex_mm=0.4)))
    assert invoke("check", measured.parent).code == 0
    assert invoke("check", measured.parent, "--strict").code == 3
    assert "2 files: 0 agrees, 2 differs, 0 broken" in invoke("check", measured.parent).out
    (measured / "tooth.tif").rename(measured / "moved.tif")
    done = invoke("check", measured.parent)
    assert done.code == 1
    assert "the same image is now moved.tif" in said(done.out)
    assert "its image is not there: bring it back; of records that lie apart" in said(done.out)


def test_check_of_a_tree_says_what_is_broken_and_goes_on(measured, invoke):
    (measured / "radlength-case.json").write_text("{", encoding="utf-8")
    write_marked_image(measured)
    done = invoke("check", measured)
    assert done.code == 1
    assert "2 files: 1 agrees, 0 differs, 1 broken" in done.out
    assert "not JSON" in done.out


def test_check_of_a_tree_with_records_elsewhere(tmp_path, invoke):
    images, records = tmp_path / "images", tmp_path / "records"
    images.mkdir()
    records.mkdir()
    image = write_marked_image(images)
    (images / "tooth.tif.radlength.json").rename(records / "tooth.tif.radlength.json")
    assert invoke("check", images, "--records", records).code == 0
    assert image.exists()


def test_a_doubt_of_a_case_names_the_command_here_and_none_elsewhere(folder, invoke):
    case = load_case(folder)
    assert all("radlength" not in str(finding) for finding in case_findings(case))
    command = "radlength case add length --help"
    for done in (invoke("check", folder), invoke("case", "show", folder)):
        assert command in said(done.out)
    assert invoke(*command.split()[1:]).code == 0


def test_a_record_without_a_scale_is_sound_and_not_measured_yet(tmp_path, invoke):
    image = write_image(tmp_path / "tooth.png")
    assert invoke("mark", image, "--tooth", "45", "--canal", "single", "--path", points(CANAL)).code == 0
    done = invoke("check", tmp_path)
    assert done.code == 0
    assert "1 file: 1 agrees, 0 differs, 0 broken" in done.out
    assert "cannot be measured: tooth.png: no scale" in said(done.out)
