import errno
import json
import os
import shutil
import signal
import subprocess
import sys
import time
import tracemalloc
from functools import partial
from pathlib import Path

import pytest
from helpers.batches import tree

from radlength.batch import Outcome, Task, on_processes, run, run_batch
from radlength.batch.cluster import next_chunk
from radlength.batch.journal import Journal
from radlength.batch.local import DIED, chunks
from radlength.batch.work import work
from radlength.errors import BatchError
from radlength.record import record_path


def here(tasks):
    return map(work, tasks)


def backwards(tasks):
    return iter([work(task) for task in tasks][::-1])


@pytest.fixture
def root(tmp_path):
    return tree(tmp_path / "images", 4)


def tables(out, job="estimate"):
    return [(out / f"radlength-batch-{job}.{kind}").read_bytes() for kind in ("csv", "json")]


def test_results_are_sorted_and_the_same_whatever_order_they_come_in(root, tmp_path):
    one = run_batch(root, "estimate", tmp_path / "one", runner=here)
    two = run_batch(root, "estimate", tmp_path / "two", runner=backwards, send_images=True)
    assert one.rows == two.rows
    assert [row["image"] for row in one.rows] == sorted(row["image"] for row in one.rows)
    assert tables(tmp_path / "one") == tables(tmp_path / "two")


def test_one_bad_file_is_one_row(root, tmp_path):
    (root / "b" / "broken.png").write_bytes(b"no picture")
    done = run_batch(root, "quality", tmp_path / "out", runner=here)
    assert (done.images, done.failed) == (5, 1)
    assert [row["image"] for row in done.rows if "problem" in row] == ["b/broken.png"]


def test_what_is_done_is_not_done_again_unless_it_changed(root, tmp_path):
    out = tmp_path / "out"
    first = run_batch(root, "estimate", out, runner=here)
    assert run_batch(root, "estimate", out, runner=here).resumed == 4
    image = root / "a" / "tooth001.tif"
    record_path(image).unlink()
    again = run_batch(root, "estimate", out, runner=here)
    assert (first.resumed, again.resumed, again.failed) == (0, 3, 1)


def test_another_record_beside_an_image_is_told_however_it_is_done(root, tmp_path):
    """A resumed batch took the lines of before, and a worker that was sent bytes saw no other record."""
    records, image, out = tmp_path / "records", root / "a" / "tooth001.tif", tmp_path / "out"
    for place in root.rglob("*.radlength.json"):
        there = records / place.relative_to(root)
        there.parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(place, there)
    batch = partial(run_batch, root, "estimate", runner=here, records_root=records)

    def told(done):
        return [row["image"] for row in done.rows if "other-record" in row["findings"]]

    assert told(batch(out)) == []
    record_path(image).write_bytes(record_path(image).read_bytes() + b"\n")
    again = batch(out)
    sent = batch(tmp_path / "sent", send_images=True)
    assert (told(again), again.resumed) == (["a/tooth001.tif"], 3)
    assert sent.rows == again.rows
    assert batch(tmp_path / "sent").resumed == 4
    record_path(image).unlink()
    assert told(batch(out)) == []


def test_a_batch_that_was_killed_goes_on_with_the_same_result(root, tmp_path):
    class KilledError(Exception):
        pass

    def killed(tasks):
        for number, task in enumerate(tasks):
            if number == 2:
                raise KilledError
            yield work(task)

    with pytest.raises(KilledError):
        run_batch(root, "report", tmp_path / "out", runner=killed)
    assert not (tmp_path / "out" / "radlength-batch-report.csv").exists()
    went_on = run_batch(root, "report", tmp_path / "out", runner=here)
    assert went_on.resumed == 2
    run_batch(root, "report", tmp_path / "whole", runner=here)
    files = {p.relative_to(tmp_path / "whole") for p in (tmp_path / "whole").rglob("*.*") if p.name[0] != "."}
    assert len(files) == 2 + 2 * 4
    for file in files:
        assert (tmp_path / "out" / file).read_bytes() == (tmp_path / "whole" / file).read_bytes()


def test_a_file_that_was_taken_away_or_is_empty_is_made_again(root, tmp_path):
    out = tmp_path / "out"
    run_batch(root, "report", out, runner=here)
    (out / "b" / "tooth000.tif.pdf").unlink()
    (out / "b" / "tooth002.tif.html").write_bytes(b"")  # as a loss of power may leave it
    assert run_batch(root, "report", out, runner=here).resumed == 2
    assert (out / "b" / "tooth000.tif.pdf").read_bytes()[:4] == b"%PDF"
    assert (out / "b" / "tooth002.tif.html").read_bytes()


def test_records_and_images_are_not_touched(root, tmp_path):
    before = {path: path.read_bytes() for path in root.rglob("*") if path.is_file()}
    for job in ("estimate", "check", "quality", "report"):
        run_batch(root, job, tmp_path / job, runner=here)
    assert {path: path.read_bytes() for path in root.rglob("*") if path.is_file()} == before


def test_progress_is_told(root, tmp_path):
    told = []
    run_batch(
        root, "estimate", tmp_path / "out", runner=here, tell=lambda done, total: told.append((done, total))
    )
    assert told == [(1, 4), (2, 4), (3, 4), (4, 4)]


def test_no_such_job_and_a_folder_that_cannot_be_made(root, tmp_path):
    with pytest.raises(BatchError, match="no job 'decide'; estimate"):
        run_batch(root, "decide", tmp_path / "out")
    with pytest.raises(BatchError, match="leave out --send-images"):
        run_batch(root, "dicom", tmp_path / "out", send_images=True)
    (tmp_path / "file").touch()
    with pytest.raises(BatchError, match="cannot be made"):
        run_batch(root, "estimate", tmp_path / "file" / "out")


@pytest.mark.parametrize("full", ["a report", "the journal", "the tables"])
def test_a_full_disk_is_said_with_the_place_and_what_was_done_is_kept(root, tmp_path, monkeypatch, full):
    """The system names no file when a write finds no room; the words must."""

    def no_room(*_words, **_more):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    out = tmp_path / "out"
    with monkeypatch.context() as patched:
        if full == "the journal":
            patched.setattr(Journal, "add", no_room)
        else:
            whole = run.put_whole
            last = {"a report": ".html", "the tables": ".csv"}[full]
            patched.setattr(
                run,
                "put_whole",
                lambda place, data: (no_room if place.suffix == last else whole)(place, data),
            )
        words = r"out: the results cannot be written: No space left on device; make room or rights, or choose"
        with pytest.raises(BatchError, match=words):
            run_batch(root, "report", out, runner=here)
    again = run_batch(root, "report", out, runner=here)
    assert (again.failed, again.resumed) == (0, 4 if full == "the tables" else 0)


def test_reports_that_are_written_are_not_held_in_memory(tmp_path):
    """Thousands of reports of half a megabyte would fill it."""
    for number in range(40):
        (tmp_path / f"tooth{number}.tif").touch()
    held = []

    def reports(tasks):
        for task in tasks:
            held.append(tracemalloc.get_traced_memory()[0])
            yield Outcome(task.place, "key", ({"image": task.place},), {".pdf": bytes(500_000)})

    tracemalloc.start()
    try:
        run_batch(tmp_path, "report", tmp_path / "out", runner=reports)
    finally:
        tracemalloc.stop()
    assert held[-1] - held[4] < 2_000_000


def test_processes_give_the_same_bytes(root, tmp_path):
    run_batch(root, "estimate", tmp_path / "one", runner=here)
    run_batch(root, "estimate", tmp_path / "two", runner=partial(on_processes, workers=2))
    assert tables(tmp_path / "one") == tables(tmp_path / "two")


BATCH = """
import multiprocessing, os, sys, time
from pathlib import Path
from radlength.batch import on_processes, run_batch

def waiting(tasks):
    for outcome in on_processes(tasks, 2):
        print(*[child.pid for child in multiprocessing.active_children()], flush=True)
        time.sleep(600)
        yield outcome

if __name__ == "__main__":
    run_batch(Path(sys.argv[1]), "estimate", Path(sys.argv[2]), runner=waiting)
"""


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="looks at processes as Linux shows them")
def test_processes_of_a_batch_that_was_killed_end_with_it(root, tmp_path):
    """They would hold their memory for ever, and write documents beside a batch that was started again."""
    script = tmp_path / "batch.py"
    script.write_text(BATCH)
    with subprocess.Popen(
        [sys.executable, str(script), str(root), str(tmp_path / "out")], stdout=subprocess.PIPE, text=True
    ) as batch:
        workers = [int(pid) for pid in batch.stdout.readline().split()]
        batch.kill()
    assert workers
    until = time.monotonic() + 20
    while any(map(runs, workers)) and time.monotonic() < until:
        time.sleep(0.05)
    left = [pid for pid in workers if runs(pid)]
    for pid in left:
        os.kill(pid, signal.SIGKILL)
    assert not left


def runs(pid):
    """A process whose parent does not collect it is still there, as a zombie, but no longer runs."""
    try:
        return Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()[0] != "Z"
    except OSError:
        return False


def test_chunks_keep_the_order():
    tasks = [Task("estimate", "", str(number)) for number in range(7)]
    assert [len(chunk) for chunk in chunks(tasks, 3)] == [3, 3, 1]
    assert [task for chunk in chunks(tasks, 3) for task in chunk] == tasks


def test_a_message_holds_as_many_tasks_as_asked_or_fewer_that_carry_bytes():
    plain = iter([Task("estimate", "", str(number)) for number in range(5)])
    assert [len(next_chunk(plain, 3)) for _ in range(3)] == [3, 2, 0]
    heavy = iter([Task("estimate", "", str(number), image=b"0" * 2_500_000) for number in range(3)])
    assert [len(next_chunk(heavy, 3)) for _ in range(3)] == [2, 1, 0]


def test_a_death_in_a_worker_is_a_row_and_the_others_are_done(root, tmp_path, monkeypatch):
    """The image kills its process each time: a process killed by the system looks the same."""
    monkeypatch.setattr("radlength.batch.local.work", deadly)
    done = run_batch(root, "estimate", tmp_path / "out", runner=partial(on_processes_deadly, workers=2))
    bad = [row for row in done.rows if "problem" in row]
    assert [row["image"] for row in bad] == ["b/tooth002.tif"]
    assert DIED in bad[0]["problem"]
    assert json.loads((tmp_path / "out" / "radlength-batch-estimate.json").read_bytes())["rows"] == list(
        done.rows
    )


def deadly(task):
    import os
    import signal

    if task.place == "b/tooth002.tif":
        os.kill(os.getpid(), signal.SIGKILL)
    return work(task)


def all_deadly(tasks):
    return tuple(deadly(task) for task in tasks)


def on_processes_deadly(tasks, workers):
    from radlength.batch import local

    local.work_all, kept = all_deadly, local.work_all
    try:
        yield from on_processes(tasks, workers)
    finally:
        local.work_all = kept
