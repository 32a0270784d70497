"""Numbers of the shape commands that cannot be, and tables that cannot be written to their end."""

from __future__ import annotations

from pathlib import Path

import pytest
from helpers.cases import MARK, write_image

from radlength.cli.outputs import write_whole
from radlength.errors import ReportError


@pytest.mark.parametrize("value", ["0", "-1", "nan", "inf", "1e-9"])
def test_a_step_that_cannot_be_is_refused(marked, invoke, value):
    done = invoke("shape", "curvature", marked, "--step", value)
    assert done.code == 1
    assert "--step" in done.err
    assert "0.05 to 5 mm" in done.err


@pytest.mark.parametrize("value", ["nan", "-1", "0", "inf"])
def test_no_limit_lets_a_changed_view_through(marked, invoke, tmp_path, value):
    second = write_image(tmp_path / "after.png", seed=2)
    assert invoke("mark", second, *MARK).code == 0
    done = invoke("shape", "compare", marked, second, "--limit-px", value)
    assert done.code == 1
    assert "--limit-px" in done.err
    assert "0.05 to 100 pixels" in done.err


def test_a_seed_below_nothing_is_wrong_usage(marked, invoke):
    assert invoke("shape", "curvature", marked, "--seed", "-1").code == 2
    assert invoke("shape", "compare", marked, marked, "--seed", "-1").code == 2


@pytest.mark.parametrize("option", ["--csv", "--html"])
def test_a_table_or_page_that_cannot_be_written_leaves_the_old_one(
    marked, invoke, tmp_path, monkeypatch, option
):
    def full(*_):
        raise OSError(28, "No space left on device")

    out = tmp_path / ("old.csv" if option == "--csv" else "old.html")
    out.write_text("old", encoding="utf-8")
    with monkeypatch.context() as patched:
        patched.setattr(Path, "replace", full)
        done = invoke("shape", "curvature", marked, option, out)
    assert done.code == 1
    assert f"{out}: it cannot be written: No space left on device" in done.err
    assert out.read_text(encoding="utf-8") == "old"
    assert not list(tmp_path.glob(".*"))
    assert invoke("shape", "curvature", marked, option, out).code == 0
    assert out.read_bytes().startswith(b"\xef\xbb\xbfcanal" if option == "--csv" else b"<!")


def test_what_is_no_file_is_written_to_or_refused(tmp_path):
    with pytest.raises(ReportError, match="a folder is where a file should be"):
        write_whole(tmp_path, "text")
    assert write_whole(Path("/dev/null"), "text") == Path("/dev/null")
    assert not Path("/dev/null").is_file()
