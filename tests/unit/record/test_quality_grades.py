"""Grades are read as people typed them, and no code path makes one."""

from __future__ import annotations

import ast
import csv
import inspect
from pathlib import Path

import pytest
from helpers.cases import write_image

import radlength.imaging.quality
import radlength.record.quality
from radlength.errors import RecordError
from radlength.record.quality_audit import audit
from radlength.record.quality_grades import FIELDS, read_grades
from radlength.record.quality_table import images_in, table_row, table_text, write_table

HEAD = ",".join(FIELDS)


def _table(tmp_path: Path, *lines: str, head: str = HEAD) -> Path:
    path = tmp_path / "audit.csv"
    path.write_text("\n".join(["# a comment, with a comma", head, *lines]) + "\n", "utf-8")
    return path


def test_what_a_person_typed(tmp_path: Path) -> None:
    grades = read_grades(
        _table(
            tmp_path,
            "a.png,1,A,Ärztin Eins,,,,,,",
            'b.png,2,n,某人,,x,,too dark,,"apex cut, see note"',
            "c.png,3,,,,,,,,",
        )
    )
    assert [(grade.image, grade.result, grade.by) for grade in grades.graded] == [
        ("a.png", "A", "Ärztin Eins"),
        ("b.png", "N", "某人"),
    ]
    assert grades.graded[1].errors == ("exposure", "processing")
    assert grades.graded[1].note == "apex cut, see note"
    assert grades.ungraded == ("c.png",)


@pytest.mark.parametrize("mark", [";", "\t"], ids=["semicolon", "tab"])
def test_as_other_spreadsheets_store_it(tmp_path: Path, mark: str) -> None:
    path = tmp_path / "audit.csv"
    lines = [
        '"# a comment, with a comma"' + 2 * mark,
        mark.join(FIELDS),
        mark.join(["a.png", "1", "A", "invented"]),
    ]
    path.write_bytes(b"\xef\xbb\xbf" + "\r\n".join(lines).encode())
    assert read_grades(path).graded[0].by == "invented"


@pytest.mark.parametrize(
    ("lines", "code", "words"),
    [
        (("a.png,1,A,,,,,,,",), "grade-nobody", "nobody puts a name to"),
        (("a.png,1,good,x,,,,,,",), "grade-unknown", "A or N"),
        (("a.png,1,1,x,,,,,,",), "grade-unknown", "line 3"),
        (("a.png,1,A,x,,,,,,", "b.png,1,N,x,,,,,,"), "grade-twice", "line 4 is the same image as line 3"),
        (("a.png,,A,x,,,,,,", "a.png,,N,x,,,,,,"), "grade-twice", "same image"),
    ],
    ids=["nobody", "word", "number", "same pixels", "same name"],
)
def test_what_is_no_grade(tmp_path: Path, lines: tuple[str, ...], code: str, words: str) -> None:
    with pytest.raises(RecordError, match=words) as refused:
        read_grades(_table(tmp_path, *lines))
    assert refused.value.code == code


@pytest.mark.parametrize(
    "data",
    [b"", b"\xff\xfe\x00", b"name,grade\na,A\n", HEAD.encode() + b'\n"a.png', b"\x00" * 40],
    ids=["empty", "not utf-8", "other table", "open quote", "zeros"],
)
def test_what_is_no_table(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "audit.csv"
    path.write_bytes(data)
    with pytest.raises(RecordError, match="the table") as refused:
        read_grades(path)
    assert refused.value.code == "grades-table"


def test_an_audit_of_nothing_is_refused() -> None:
    with pytest.raises(RecordError, match="no image is graded"):
        audit([])
    with pytest.raises(RecordError, match="digital or film"):
        audit([], receptor="paper")  # type: ignore[arg-type]


def test_the_table_leaves_the_person_their_columns(tmp_path: Path) -> None:
    write_image(tmp_path / "a.png")
    (tmp_path / "b.png").write_bytes(b"no image")
    write_image(tmp_path / "=cmd.png", seed=2)
    text = table_text([table_row(image) for image in images_in(tmp_path)])
    rows = list(csv.DictReader(line for line in text.splitlines() if not line.startswith("#")))
    assert {name: row[name] for row in rows for name in FIELDS[2:]} == dict.fromkeys(FIELDS[2:], "")
    by_name = {row["image"]: row for row in rows}
    assert set(by_name) == {"'=cmd.png", "a.png", "b.png"}
    assert "b.png" in by_name["b.png"]["problem"]
    assert float(by_name["a.png"]["noise"]) > 0
    assert "estimate" in text.splitlines()[0].lower()
    assert read_grades(_kept(tmp_path, text)).graded == ()


def _kept(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "audit.csv"
    write_table(path, text)
    return path


@pytest.mark.parametrize(
    "line",
    ["a.png,1,A,somebody,,,,,,", "a.png,1,,somebody,,,,,,", "a.png,1,,,,x,,,,", "a.png,1,,,,,,,,a note"],
    ids=["grade", "name", "error", "note"],
)
def test_grades_are_never_overwritten(tmp_path: Path, line: str) -> None:
    path = _table(tmp_path, line)
    before = path.read_bytes()
    with pytest.raises(RecordError, match="never overwritten"):
        write_table(path, "other")
    assert path.read_bytes() == before


def test_another_file_is_not_overwritten_and_an_empty_table_is(tmp_path: Path) -> None:
    other = tmp_path / "letters.csv"
    other.write_text("name,street\n")
    with pytest.raises(RecordError, match="another table"):
        write_table(other, "x")
    path = _table(tmp_path, "a.png,1,,,,,,,,")
    write_table(path, "new\n")
    assert path.read_text() == "new\n"


def test_a_table_with_a_result_is_not_written() -> None:
    with pytest.raises(RecordError, match="only a person"):
        table_text([dict.fromkeys(FIELDS, "") | {"result": "A"}])


def test_a_folder_without_images(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="no image"):
        images_in(tmp_path)


def test_only_the_reader_of_tables_makes_a_grade() -> None:
    """No other module calls Grade(...), and no measure or quality has a grade of the whole."""
    package = Path(inspect.getfile(radlength.imaging.quality)).parents[2]
    makers = set()
    for path in package.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if (
                isinstance(node, ast.Call)
                and getattr(node.func, "id", getattr(node.func, "attr", "")) == "Grade"
            ):
                makers.add(path.name)
    assert makers == {"quality_grades.py"}
    names = set(dir(radlength.record.quality.ImageQuality))
    assert not names & {"verdict", "grade", "result", "acceptable", "passed"}
