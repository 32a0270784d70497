"""Trees as they come from other programs: names that are no UTF-8, pipes, closed folders, one name a hundred times."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

import pytest
from helpers.archive_images import marked_image
from helpers.batches import tree

from radlength.batch import batch_parquet, images_below, run_batch
from radlength.batch.cluster import on_scheduler
from radlength.batch.journal import Journal
from radlength.batch.work import work
from radlength.errors import BatchError
from radlength.record import record_path

LATIN = os.fsdecode(b"M\xfcller.png")
LINUX = pytest.mark.skipif(sys.platform != "linux", reason="other systems refuse such a name")


def here(tasks):
    return map(work, tasks)


@pytest.fixture
def root(tmp_path):
    return tree(tmp_path / "images", 2)


@LINUX
def test_a_name_that_is_no_utf_8_is_a_row_and_is_not_done_again(root, tmp_path):
    for name in (LATIN, "line\u2028break.png", "next\x85line.png"):
        (root / name).write_bytes(b"no picture")
    done = run_batch(root, "estimate", tmp_path / "out", runner=here)
    assert (done.images, done.failed) == (5, 3)
    table = json.loads((tmp_path / "out" / "radlength-batch-estimate.json").read_bytes())
    assert [row["image"] for row in table["rows"]] == [row["image"] for row in done.rows]
    assert LATIN in [row["image"] for row in table["rows"]]
    assert b"M?ller.png" in (tmp_path / "out" / "radlength-batch-estimate.csv").read_bytes()
    assert batch_parquet(done.rows)[:4] == b"PAR1"
    assert run_batch(root, "estimate", tmp_path / "out", runner=here).resumed == 5


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system knows no pipes in folders")
def test_a_pipe_is_not_waited_for(root):
    os.mkfifo(root / "pipe.png")
    assert "pipe.png" not in images_below(root)


def test_a_folder_that_may_not_be_read_is_a_row(root, tmp_path, monkeypatch):
    walk = os.walk

    def closed(top, onerror=None):
        onerror(PermissionError(13, "Permission denied", str(root / "closed")))
        return walk(top)

    monkeypatch.setattr("os.walk", closed)
    done = run_batch(root, "estimate", tmp_path / "out", runner=here)
    assert (done.images, done.failed, done.rows[-1]["image"]) == (2, 1, "closed/")
    assert "its images are not in this table" in done.rows[-1]["problem"]


@pytest.mark.skipif(os.name == "nt", reason="links need a right there")
@pytest.mark.parametrize("alone", [False, True], ids=["beside images", "alone"])
def test_what_is_a_link_is_a_row_that_says_so(root, tmp_path, alone):
    """Links are not followed, and a hundred images that lie elsewhere are not left out in silence."""
    inside = tmp_path / "links" if alone else root
    inside.mkdir(exist_ok=True)
    (inside / "x.tif").symlink_to(next((root / "a").iterdir()))
    (inside / "elsewhere").symlink_to(root / "b")
    (inside / "notes.txt").symlink_to(next((root / "a").iterdir()))
    done = run_batch(inside, "estimate", tmp_path / "out", runner=here)
    rows = [row for row in done.rows if row.get("problem_code") == "link"]
    assert [row["image"] for row in rows] == ["elsewhere/", "x.tif"]
    assert rows[1]["problem"] == "x.tif: a link is not followed; its image is not in this table"
    assert (done.images, done.failed) == (0 if alone else 2, 2)


def test_a_problem_names_the_place_in_the_tree(root, tmp_path):
    for folder in ("x", "y"):
        (root / folder).mkdir()
        (root / folder / "image.png").write_bytes(b"no picture")
    done = run_batch(root, "estimate", tmp_path / "out", runner=here)
    problems = [row["problem"] for row in done.rows if "problem" in row]
    assert [words.split(":")[0] for words in problems] == ["x/image.png", "y/image.png"]


def test_two_batches_of_one_job_do_not_write_over_each_other(root, tmp_path):
    out = tmp_path / "out"
    run_batch(root, "estimate", out, runner=here)
    with Journal(out / ".radlength-batch-estimate.jsonl"):
        with pytest.raises(BatchError, match="another batch is writing its results there"):
            run_batch(root, "estimate", out, runner=here)
        assert run_batch(root, "check", out, runner=here).images == 2
    assert run_batch(root, "estimate", out, runner=here).resumed == 2


def test_a_report_that_holds_no_more_is_said_beside_the_problem(root, tmp_path):
    out = tmp_path / "out"
    run_batch(root, "report", out, runner=here)
    place = images_below(root)[0]
    record_path(root / place).unlink()
    done = run_batch(root, "report", out, runner=here)
    problem = next(row["problem"] for row in done.rows if "problem" in row)
    assert f"of an earlier run, and no more true, there is still: {place}.html, {place}.pdf" in problem


def test_results_in_a_folder_that_may_not_be_looked_into_are_made_again(root, tmp_path, monkeypatch):
    out = tmp_path / "out"
    done = run_batch(root, "report", out)
    usual, asked = Path.is_file, set()

    def closed(path):
        if path.parent == out / "a" and path.suffix == ".html" and path not in asked:
            asked.add(path)
            raise PermissionError(13, "Permission denied", str(path))
        return usual(path)

    monkeypatch.setattr(Path, "is_file", closed)
    again = run_batch(root, "report", out)
    assert (again.images, again.failed) == (done.images, 0)
    assert 0 < again.resumed < again.images


def test_documents_that_were_taken_away_are_written_again(tmp_path):
    made = marked_image(tmp_path)
    run_batch(tmp_path, "dicom", tmp_path / "out", runner=here)
    report = made.path.with_name(f"{made.path.name}.radlength-sr.dcm")
    before = report.read_bytes()
    assert run_batch(tmp_path, "dicom", tmp_path / "out", runner=here).resumed == 1
    report.unlink()
    assert run_batch(tmp_path, "dicom", tmp_path / "out", runner=here).resumed == 0
    assert report.read_bytes() == before


def test_a_worker_that_begins_elsewhere_finds_the_images(root, tmp_path, monkeypatch):
    """Workers of a cluster have a working folder of their own."""

    def elsewhere(tasks):
        waiting = list(tasks)
        monkeypatch.chdir("/")
        yield from map(work, waiting)

    monkeypatch.chdir(root.parent)
    records = Path(root.name)
    done = run_batch(records, "estimate", tmp_path / "out", runner=elsewhere, records_root=records)
    assert (done.images, done.failed) == (2, 0)


def test_a_folder_of_records_that_is_not_there_is_refused(root, tmp_path):
    with pytest.raises(BatchError, match="no such folder of records"):
        run_batch(root, "estimate", tmp_path / "out", runner=here, records_root=tmp_path / "gone")


@pytest.mark.parametrize(
    "address", ["tcp://127.0.0.1.example.org:8786", "tcp://localhost.example.org:8786", "tcp://[::1]x:1"]
)
def test_a_host_that_only_begins_like_this_machine_is_not_this_machine(address):
    with pytest.raises(BatchError, match="begins with tcp://") as no:
        next(on_scheduler([], address))
    assert no.value.code == "batch-not-encrypted"


def test_the_address_in_a_scheduler_file_is_looked_at_too(tmp_path):
    file = tmp_path / "scheduler.json"
    file.write_text(json.dumps({"address": "tcp://cluster.example.org:8786"}))
    with pytest.raises(BatchError, match="begins with tcp://"):
        next(on_scheduler([], scheduler_file=file))
    file.write_text("{}")
    with pytest.raises(BatchError, match="holds no address"):
        next(on_scheduler([], scheduler_file=file))
