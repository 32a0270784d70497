"""Files of a simulated image come together or not at all, and never over others."""

from __future__ import annotations

import pytest

from radlength.cli.phantom_files import made_apart, moved
from radlength.errors import PhantomError


@pytest.fixture
def made(monkeypatch):
    """Make quick images that hold what they are asked for."""

    def write(out, seed, **more):
        files = [out / f"phantom-{seed}.png", out / f"phantom-{seed}.marks.json"]
        files[0].write_text(str(sorted(map(str, more.items()))), encoding="utf-8")
        files[1].write_text("marks", encoding="utf-8")
        return files

    monkeypatch.setattr("radlength.phantom.write.write_phantom", write)


def test_an_image_of_other_options_or_marks_that_were_changed_are_not_replaced(made, invoke, tmp_path):
    del made
    words = ("phantom", "--seed", "7", "--out", tmp_path)
    assert [invoke(*words).code for _ in range(2)] == [0, 0]
    kept = {file: file.read_bytes() for file in tmp_path.iterdir()}
    done = invoke(*words, "--gap-mm", "2")
    assert done.code == 1
    assert "phantom-7.png: a file of that name is there, made with other options or changed" in done.err
    assert {file: file.read_bytes() for file in tmp_path.iterdir()} == kept
    (tmp_path / "phantom-7.marks.json").write_text("my own", encoding="utf-8")
    assert "phantom-7.marks.json: a file" in invoke(*words).err
    assert (tmp_path / "phantom-7.marks.json").read_text(encoding="utf-8") == "my own"


@pytest.mark.parametrize("there", [True, False], ids=["folder", "no folder"])
def test_what_cannot_be_written_leaves_nothing_and_names_the_folder(invoke, monkeypatch, tmp_path, there):
    def full(out, seed, **more):
        (out / "half.png").write_bytes(b"half")
        raise PhantomError(f"the folder {out} cannot be written to: {seed} {more}", code="phantom-folder")

    out = tmp_path / "out"
    if there:
        out.mkdir()
    monkeypatch.setattr("radlength.phantom.write.write_phantom", full)
    done = invoke("phantom", "--seed", "7", "--out", out)
    assert done.code == 1
    assert f"the folder {out} cannot be written to" in done.err
    assert list(tmp_path.rglob("*")) == ([out] if there else [])


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "file").write_text("x", encoding="utf-8")
    with pytest.raises(PhantomError, match="cannot be written to"), made_apart(tmp_path / "file" / "out"):
        pytest.fail("it was made")
    with made_apart(tmp_path) as apart:
        (apart / "a").write_text("x", encoding="utf-8")
        assert moved([apart / "a"], tmp_path) == [tmp_path / "a"]
