from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import cv2
import numpy as np
import pytest
import tifffile
from helpers.records import GAP, PATH, canal, radiograph, reference

from radlength.errors import RadlengthError, ReportError
from radlength.geometry import CARRIED, Assist
from radlength.imaging import Radiograph, read_radiograph
from radlength.imaging.radiograph import HeaderScale
from radlength.length import Terminus, confirm_length
from radlength.record import Record, load_record, measure_entry, measure_record
from radlength.report import share_copy

CANARY = "CANARY"
WHEN = datetime(2026, 3, 17, 11, 42, 9, tzinfo=UTC)


def _canaried(folder: Path) -> tuple[Record, Path]:
    """An invented image and record with a canary in every text and in the metadata of the file."""
    place = folder / f"{CANARY}-file.tif"
    tags = {
        "description": f"{CANARY}-description",
        "software": f"{CANARY}-software",
        "datetime": "2026:03:17 11:42:09",
    }
    tifffile.imwrite(place, radiograph().stored, extratags=[(315, "s", 0, f"{CANARY}-artist", True)], **tags)
    image = read_radiograph(place)
    marked = replace(
        canal(name=f"{CANARY}-canal"), reference_point=f"{CANARY}-cusp", straight=f"{CANARY}-view"
    )
    helped = (Assist(1, 1, f"{CANARY}-method", f"{CANARY}-version", 0.5),)
    marked = replace(marked, assists=helped)
    known = replace(reference(name=f"{CANARY}-reference"), canal=f"{CANARY}-canal", assists=helped)
    record = Record.new(
        image,
        canals=[marked],
        references=[known],
        terminus=Terminus(offset_mm=1.0),
        who=f"{CANARY}-who",
        when=WHEN,
    )
    entry = record.canals[0]
    record = record.with_estimate(entry.id, measure_entry(record, entry, image), when=WHEN)
    stored = record.estimates[0].model_copy(
        update={"algorithm": f"{CANARY}-a", "software": f"{CANARY}-s", "findings": (f"{CANARY.lower()}-f",)}
    )
    record = record.model_copy(update={"estimates": (stored,)})
    done = confirm_length(
        21.0, GAP, mm_per_px=0.025, rule="tip within 1 mm", terminus=Terminus(offset_mm=1.0)
    )
    record = record.with_confirmation(entry.id, done, GAP, who=f"{CANARY}-checker", when=WHEN)
    versions = {"algorithm": f"{CANARY}-c", "software": f"{CANARY}-d"}
    kept = record.confirmations[0].model_copy(update=versions)
    return record.model_copy(update={"confirmations": (kept,)}), place


def test_no_canary_survives(tmp_path: Path) -> None:
    record, place = _canaried(tmp_path)
    image = read_radiograph(place)
    out = tmp_path / "out"
    shared = share_copy(record, image, out)
    assert {path.name for path in out.iterdir() if not path.name.endswith(".bak")} == set(shared.files)
    old_ids = [entry.id for entry in record.canals]
    for path in out.rglob("*"):
        content = path.read_bytes().lower()
        for trace in (CANARY.lower(), "2026-03-17", "11:42", "2026:03:17", *old_ids):
            assert trace.encode() not in content, (path.name, trace)
        assert CANARY.lower() not in path.name.lower()


def test_the_canaries_are_really_there(tmp_path: Path) -> None:
    """The test above could fail: record and file are full of them."""
    record, place = _canaried(tmp_path)
    assert record.model_dump_json().count(CANARY) >= 13
    assert place.read_bytes().count(CANARY.encode()) >= 3


def test_the_copy_measures_the_same_on_the_same_pixels(tmp_path: Path) -> None:
    record, place = _canaried(tmp_path)
    image = read_radiograph(place)
    out = tmp_path / "out"
    share_copy(record, image, out)
    copy = read_radiograph(out / "shared-1.png")
    shared = load_record(out / "shared-1.png")
    assert np.array_equal(copy.stored, image.stored)
    before, after = measure_record(record, image)[0][1], measure_record(shared, copy)[0][1]
    assert after.canal_length.value_mm == pytest.approx(before.canal_length.value_mm, abs=1e-9)
    assert after.working_length is not None
    assert after.canal.path_px == before.canal.path_px == PATH
    assert after.canal.label == "46 canal 1"
    assert len(shared.history) == 1
    assert shared.history[0].when.day == 1


def test_usual_names_stay(tmp_path: Path) -> None:
    image = radiograph()
    record = Record.new(image, canals=[canal(name="MB")], references=[reference()])
    share_copy(record, image, tmp_path / "out")
    assert load_record(tmp_path / "out" / "shared-1.png").canals[0].canal.name == "MB"


def test_points_of_another_image_are_still_told_as_such(tmp_path: Path) -> None:
    image = radiograph()
    over = replace(canal(), assists=(Assist(0, 1, CARRIED, "1", 0.0),))
    share_copy(Record.new(image, canals=[over], references=[reference()]), image, tmp_path / "out")
    shared = load_record(tmp_path / "out" / "shared-1.png")
    found = measure_entry(shared, shared.canals[0], image).findings
    assert "marks-carried" in [finding.code for finding in found]


def test_a_typed_name_on_two_teeth_keeps_its_instruments(tmp_path: Path) -> None:
    """A reference names its canal without the tooth: the same name may not become two."""
    image = radiograph()
    marked = [canal(name="mine"), canal(tooth="47", name="mine")]
    record = Record.new(image, canals=marked, references=[replace(reference(), canal="mine")])
    share_copy(record, image, tmp_path / "out")
    shared = load_record(tmp_path / "out" / "shared-1.png")
    assert [entry.canal.label for entry in shared.canals] == ["46 canal 1", "47 canal 1"]


def test_png_has_no_chunk_but_the_picture(tmp_path: Path) -> None:
    record, place = _canaried(tmp_path)
    share_copy(record, read_radiograph(place), tmp_path / "out")
    data = (tmp_path / "out" / "shared-1.png").read_bytes()
    chunks, at = set(), 8
    while at < len(data):
        chunks.add(data[at + 4 : at + 8])
        at += 12 + int.from_bytes(data[at : at + 4], "big")
    assert chunks == {b"IHDR", b"IDAT", b"IEND"}
    assert cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED).dtype == np.uint16


def test_a_folder_with_something_in_it_is_refused(tmp_path: Path) -> None:
    image = radiograph()
    record = Record.new(image, canals=[canal()], references=[reference()])
    (tmp_path / "kept.txt").write_text("kept")
    with pytest.raises(ReportError, match="holds something"):
        share_copy(record, image, tmp_path)
    assert [path.name for path in tmp_path.iterdir()] == ["kept.txt"]


def test_burned_in_text_is_never_promised_away(tmp_path: Path) -> None:
    image = radiograph()
    record = Record.new(image, canals=[canal()], references=[reference()])
    shared = share_copy(record, image, tmp_path / "out")
    assert "burned into the pixels is never removed" in shared.reminder
    assert shared.reminder in (tmp_path / "out" / "READ-ME.txt").read_text()


def _headed(meaning: str, image: Radiograph) -> Radiograph:
    return replace(image, scale=HeaderScale(row_mm=0.02, column_mm=0.02, meaning=meaning))


def test_a_detector_pitch_goes_along(tmp_path: Path) -> None:
    image = _headed("detector", radiograph())
    record = Record.new(image, canals=[canal()])
    share_copy(record, image, tmp_path / "out")
    copy = read_radiograph(tmp_path / "out" / "shared-1.png")
    found = measure_record(load_record(tmp_path / "out" / "shared-1.png"), copy)[0][1]
    assert found.canal_length.value_mm == pytest.approx(
        measure_record(record, image)[0][1].canal_length.value_mm, abs=1e-9
    )


def test_a_scale_that_cannot_go_along_is_refused(tmp_path: Path) -> None:
    """Otherwise the receiver would read another length, or none, from the same marks."""
    image = _headed("fiducial", radiograph())
    record = Record.new(image, canals=[canal()])
    with pytest.raises(RadlengthError, match="scale"):
        share_copy(record, image, tmp_path / "out")
    assert list((tmp_path / "out").iterdir()) == []


def test_a_negative_is_turned_upright_in_grey(tmp_path: Path) -> None:
    plain = radiograph()
    image = replace(plain, facts=replace(plain.facts, photometric="MONOCHROME1", bits=12))
    record = Record.new(image, canals=[canal()], references=[reference()])
    share_copy(record, image, tmp_path / "out")
    copy = read_radiograph(tmp_path / "out" / "shared-1.png")
    np.testing.assert_allclose(copy.display(), image.display(), rtol=0, atol=1e-6)


@pytest.mark.parametrize("below", [False, True], ids=["file", "below-a-file"])
def test_a_file_in_the_place_of_the_folder_is_said(tmp_path: Path, below: bool) -> None:
    image = radiograph()
    record = Record.new(image, canals=[canal()], references=[reference()])
    (tmp_path / "notes").write_text("kept")
    place = tmp_path / "notes" / "deeper" if below else tmp_path / "notes"
    with pytest.raises(
        ReportError, match=r"a file is in the place of the folder .*; a new or an empty folder; "
    ):
        share_copy(record, image, place)
    assert (tmp_path / "notes").read_text() == "kept"


def test_a_copy_is_confirmed_where_its_record_is(tmp_path: Path) -> None:
    record, place = _canaried(tmp_path)
    image = read_radiograph(place)
    changed = record.with_terminus(record.canals[0].id, Terminus(offset_mm=0.5))
    for number, (one, status) in enumerate(
        [(record, "confirmed on an image"), (changed, "estimate, not confirmed")]
    ):
        share_copy(one, image, tmp_path / f"out{number}")
        shared = load_record(tmp_path / f"out{number}" / "shared-1.png")
        assert (one.status, shared.status) == (status, status)
        assert len(shared.confirmations) == 1
