import pytest
from helpers.batches import tree

from radlength.batch import JOBS, Task
from radlength.batch.task import key_of
from radlength.batch.work import work
from radlength.record import record_path


@pytest.fixture
def root(tmp_path):
    return tree(tmp_path / "images", 1)


PLACE = "b/tooth000.tif"


@pytest.mark.parametrize("job", ["estimate", "check", "quality", "report"])
def test_each_job_gives_rows_of_the_image(root, job):
    outcome = work(Task(job, str(root), PLACE))
    assert [row["image"] for row in outcome.rows] == [PLACE]
    assert "problem" not in outcome.rows[0]
    assert sorted(outcome.files) == ([".html", ".pdf"] if job == "report" else [])


def test_an_estimate_is_the_one_a_single_image_gives(root):
    from radlength.imaging import read_radiograph
    from radlength.record import load_record, measure_record

    ((_, alone),) = measure_record(load_record(root / PLACE), read_radiograph(root / PLACE))
    (row,) = work(Task("estimate", str(root), PLACE)).rows
    assert row["canal_length_mm"] == round(alone.canal_length.value_mm, 4)
    assert row["working_length_mm"] == round(alone.working_length.value_mm, 4)
    assert row["status"] == "estimate, not confirmed"


@pytest.mark.parametrize("job", sorted(set(JOBS) - {"dicom"}))
def test_a_worker_that_sees_no_folder_gives_the_same(root, job):
    image = root / PLACE
    sent = Task(job, "", PLACE, image=image.read_bytes(), record=record_path(image).read_bytes())
    assert work(sent) == work(Task(job, str(root), PLACE))


def test_what_is_known_is_not_done_again(root):
    first = work(Task("estimate", str(root), PLACE))
    again = work(Task("estimate", str(root), PLACE, known=first.key))
    assert (again.fresh, again.rows, again.key) == (False, (), first.key)


def test_the_key_follows_from_job_image_and_record():
    keys = {
        key_of(job, image, record)
        for job in ("estimate", "check")
        for image in (b"1", b"2")
        for record in (None, b"1")
    }
    assert len(keys) == 8


def test_an_image_without_record_is_one_row_that_says_so(root):
    record_path(root / PLACE).unlink()
    (row,) = work(Task("estimate", str(root), PLACE)).rows
    assert (row["image"], row["problem_code"]) == (PLACE, "record-missing")
    assert "no record of this image" in row["problem"]
    assert str(root) not in row["problem"]


def test_records_in_a_tree_of_their_own(root, tmp_path):
    there = tmp_path / "records" / "b"
    there.mkdir(parents=True)
    record_path(root / PLACE).rename(there / "tooth000.tif.radlength.json")
    (row,) = work(Task("estimate", str(root), PLACE, records_root=str(tmp_path / "records"))).rows
    assert row["canal"] == "MB"


@pytest.mark.parametrize(
    ("fault", "code"),
    [
        (MemoryError(), "memory"),
        (OSError(5, "input/output error"), "os-error"),
        (ZeroDivisionError(), "unexpected"),
    ],
    ids=lambda value: str(value) or type(value).__name__,
)
def test_any_fault_is_one_row_and_tried_again_next_time(root, monkeypatch, fault, code):
    def broken(image, records):
        raise fault

    monkeypatch.setitem(JOBS, "estimate", broken)
    outcome = work(Task("estimate", str(root), PLACE))
    assert (outcome.rows[0]["problem_code"], outcome.key) == (code, "")


def test_dicom_documents_are_written_beside_the_record_with_the_same_identity_each_time(tmp_path):
    from helpers.archive_images import marked_image

    image = marked_image(tmp_path).path
    rows = work(Task("dicom", str(tmp_path), image.name)).rows
    assert [row["kind"] for row in rows] == ["sr", "pr"]
    assert all((tmp_path / row["file"]).is_file() for row in rows)
    assert work(Task("dicom", str(tmp_path), image.name)).rows == rows


def test_documents_of_an_image_that_is_no_dicom_are_a_row_that_says_so(root):
    (row,) = work(Task("dicom", str(root), PLACE)).rows
    assert row["problem"]
