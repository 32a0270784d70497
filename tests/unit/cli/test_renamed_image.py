"""An image that got another name: no output tells the old one, which may have been a patient's."""

from __future__ import annotations

from pathlib import Path


def test_the_old_name_is_in_no_report_and_no_answer(marked: Path, tmp_path: Path, invoke) -> None:
    new = marked.with_name("0001.png")
    for ending in ("", ".radlength.json"):
        (marked.parent / f"{marked.name}{ending}").rename(marked.parent / f"{new.name}{ending}")
    page = tmp_path / "page.html"
    done = invoke("report", new, "--html", page, "--csv", tmp_path / "lengths.csv")
    assert done.code == 0
    said = [done.out, invoke("check", new).out, invoke("estimate", new).out]
    said += [page.read_text(encoding="utf-8"), (tmp_path / "lengths.csv").read_text(encoding="utf-8-sig")]
    assert [text for text in said if marked.name in text] == []
    assert "radlength report 0001.png" in page.read_text(encoding="utf-8")
    assert invoke("check", new).out.startswith("0001.png: the record is sound")


def test_the_old_name_is_in_no_refusal(image: Path, invoke) -> None:
    """Of commands that cannot tell which canal is meant, or find none."""
    assert invoke("mark", image, "--apex-sd", "0.2").code == 0
    new = image.with_name("0001.png")
    for ending in ("", ".radlength.json"):
        (image.parent / f"{image.name}{ending}").rename(image.parent / f"{new.name}{ending}")
    for words in (("estimate", new), ("shape", "curvature", new)):
        done = invoke(*words)
        assert done.code == 1
        assert "0001.png" in done.err
        assert image.name not in done.err
