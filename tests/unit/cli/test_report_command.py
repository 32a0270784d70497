from __future__ import annotations

from pathlib import Path

import cv2

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
