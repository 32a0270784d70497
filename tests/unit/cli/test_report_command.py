from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2

from radlength.record import load_record, save_record
from radlength.trade import CAUTION


def test_picture_is_written(marked: Path, tmp_path: Path, invoke) -> None:
    out = tmp_path / "marked.png"
    done = invoke("report", marked, "--png", out)
    assert done.code == 0
    assert CAUTION in " ".join(done.out.split())
    picture = cv2.imread(str(out))
    document = invoke("report", marked, "--png", out, "--json").json
    assert picture.shape[:2] == (document["rows"], document["columns"])


def test_picture_never_replaces_the_image(marked: Path, invoke) -> None:
    before = marked.read_bytes()
    done = invoke("report", marked, "--png", marked)
    assert done.code == 1
    assert "would replace the image" in done.err
    assert marked.read_bytes() == before


def test_unwritable_place(marked: Path, tmp_path: Path, invoke) -> None:
    done = invoke("report", marked, "--png", tmp_path / "nowhere" / "x.png")
    assert done.code == 1
    assert (
        "the picture cannot be written: No such file or directory; check the folder and its rights"
        in done.err
    )


def test_a_place_is_needed(marked: Path, invoke) -> None:
    assert invoke("report", marked).code == 2


def test_universal_numbers_are_shown_on_request(marked: Path, tmp_path: Path, invoke) -> None:
    out = tmp_path / "tooth.html"
    assert invoke("report", marked, "--html", out).code == 0
    assert "Universal" not in out.read_text(encoding="utf-8")
    assert invoke("report", marked, "--html", out, "--universal").code == 0
    assert "Tooth 45 (Universal 29): root canal length" in out.read_text(encoding="utf-8")


def test_a_canal_without_a_scale_does_not_take_the_picture_from_the_others(
    marked: Path, tmp_path: Path, invoke
) -> None:
    out, shared = tmp_path / "marked.png", tmp_path / "shared"
    record = load_record(marked)
    other = replace(record.entry("single").canal, name="B")
    save_record(record.with_canal(other, reference=None), marked)
    done = invoke("report", marked, "--png", out, "--share", shared)
    assert done.code == 0, done.err
    assert "not measured, not drawn: 45 B: " in done.out
    document = invoke("report", marked, "--png", out, "--json").json
    assert [one["canal"] for one in document["not_measured"]] == ["45 B"]
    assert [entry.reference for entry in load_record(shared / "shared-1.png").canals] == ["reference 1", None]


def test_a_picture_of_no_length_is_refused(marked: Path, tmp_path: Path, invoke) -> None:
    record = load_record(marked)
    save_record(record.with_canal(record.entry("single").canal, reference=None), marked)
    done = invoke("report", marked, "--png", tmp_path / "marked.png")
    assert done.code == 1
    assert "no scale" in done.err
    assert not (tmp_path / "marked.png").exists()
