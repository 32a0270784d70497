"""Files that lead elsewhere or hold too much: links out of a case, paths that climb, a record of a million points."""

from __future__ import annotations

import json
import sys

import pytest
from helpers.batches import tree
from helpers.bounded import bounded
from helpers.made_case import full_case
from helpers.records import as_bytes, canal, full_record, radiograph, raw

from radlength.batch.find import images_below
from radlength.cli.marks_file import record_from_marks
from radlength.errors import RadlengthError, RecordError, ReportError
from radlength.exercise import ExerciseSet
from radlength.record import (
    case_path,
    dump_record,
    load_case,
    load_record,
    parse_record,
    record_path,
    save_case,
)
from radlength.record.case_files import case_file_findings
from radlength.report import case_html, case_pages, share_case

links = pytest.mark.skipif(sys.platform == "win32", reason="links need rights there")
CLIMBING = [
    "../../etc/passwd",
    "/etc/passwd",
    "C:\\x.png",
    "..\\x.png",
    "\\\\host\\x.png",
    "a/../../x.png",
    "x\0.png",
]


@pytest.fixture
def received(tmp_path):
    """A case in a folder, and beside that folder a file that is not its business."""
    home = tmp_path / "received"
    home.mkdir()
    save_case(full_case(home), home)
    (home / "tooth.tif").rename(tmp_path / "private.tif")
    return home


@links
def test_a_link_out_of_a_received_case_is_serious_and_never_copied_out(received, tmp_path):
    (received / "tooth.tif").symlink_to(tmp_path / "private.tif")
    case = load_case(received)
    found = case_file_findings(case, received)
    assert [(one.code, one.severity) for one in found if "image" in one.code] == [
        ("case-image-outside", "serious")
    ]
    with pytest.raises(ReportError, match="a link out of the folder"):
        share_case(case, received, tmp_path / "shared")
    assert not (tmp_path / "shared").exists() or not list((tmp_path / "shared").iterdir())


@links
def test_links_in_a_circle_end(received):
    (received / "tooth.tif").symlink_to(received / "other.tif")
    (received / "other.tif").symlink_to(received / "tooth.tif")
    (received / "around").symlink_to(received, target_is_directory=True)
    codes = [one.code for one in case_file_findings(load_case(received), received)]
    assert "case-image-outside" in codes or "case-image-missing" in codes
    case_html(case_pages(load_case(received), received))


@links
def test_a_lost_image_is_not_looked_for_through_links(received, tmp_path):
    (received / "elsewhere.tif").symlink_to(tmp_path / "private.tif")
    codes = [one.code for one in case_file_findings(load_case(received), received)]
    assert "case-image-missing" in codes
    assert "case-image-moved" not in codes


@links
def test_a_record_that_is_a_link_to_something_else_is_refused_and_left_alone(tmp_path):
    victim = tmp_path / "victim.txt"
    victim.write_text("mine")
    image = tree(tmp_path / "tree", 1).joinpath("b", "tooth000.tif")
    record_path(image).unlink()
    record_path(image).symlink_to(victim)
    with pytest.raises(RecordError, match="not JSON"):
        load_record(image)
    assert victim.read_text() == "mine"


@links
def test_a_tree_that_links_to_itself_is_walked_once(tmp_path):
    root = tree(tmp_path / "tree", 2)
    (root / "a" / "again").symlink_to(root, target_is_directory=True)
    assert len(images_below(root)) == 2


@pytest.mark.parametrize("path", CLIMBING, ids=ascii)
def test_a_climbing_path_in_a_case_file_is_refused(received, path):
    data = json.loads(case_path(received).read_bytes())
    del data["sha256"]
    data["events"][0]["path"] = path
    case_path(received).write_bytes(json.dumps(data).encode())
    with pytest.raises(RecordError, match="leaves the folder of the case"):
        load_case(received)


@pytest.mark.parametrize("path", CLIMBING, ids=ascii)
def test_a_set_of_exercises_names_no_file_elsewhere(path):
    from helpers.exercise_markers import course

    plain = course().exercises.model_dump(mode="json")
    plain["tasks"][0]["image"] = path
    with pytest.raises(ValueError, match="image"):
        ExerciseSet.model_validate_json(json.dumps(plain))


def many_points(count: int) -> list[list[float]]:
    return [[float(n % 1300), float(n % 890) + (n % 7) / 8] for n in range(count)]


def test_a_record_of_a_million_points_is_read_under_a_cap(tmp_path):
    data = raw(full_record())
    data["canals"][0]["canal"]["path_px"] = many_points(1_000_000)
    with bounded(tmp_path) as running:
        ended = running.read(as_bytes(data), "record-unchecked", megabytes=1500, seconds=120)
    print(ended)
    assert ended.how == "read"


@pytest.mark.parametrize("count", [1000], ids=["a-thousand"])
def test_a_long_path_is_kept_to_the_last_point(count):
    image = radiograph()
    kept = full_record(image).with_canal(canal(name="long", path=many_points(count)))
    assert len(parse_record(dump_record(kept)).entry("46 long").canal.path_px) == count


def test_a_file_of_marks_without_an_end_is_refused(tmp_path):
    path = tmp_path / "a.marks.json"
    with path.open("wb") as file:
        file.truncate(200_000_000)
    with pytest.raises(RadlengthError, match="not a readable JSON file"):
        record_from_marks(path, radiograph(rows=1300, columns=900))
    assert path.stat().st_size == 200_000_000
