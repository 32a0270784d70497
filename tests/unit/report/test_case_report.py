"""A case as page and table: what stands there, and that it says estimate until somebody decided."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import subprocess
from itertools import pairwise
from pathlib import Path

import pytest
from helpers.made_case import NOON, full_case, with_canal, with_decision, with_length
from helpers.reports import EVIL, SCRIPT

from radlength.errors import ReportError
from radlength.record import Case, add_canal, correct_length, new_reference_point, note_canal, withdraw_length
from radlength.report import case_csv, case_html, case_json, case_pages, case_pdf
from radlength.report.case_tables import CASE_COLUMNS
from radlength.report.drawing import Label, svg
from radlength.trade import CAUTION, NOT_CONFIRMED


@pytest.fixture
def case(tmp_path: Path) -> Case:
    return full_case(tmp_path)


def test_without_a_decision_every_output_says_estimate(case: Case, tmp_path: Path) -> None:
    made = case_pages(case, tmp_path)
    assert [page.status for page in made] == [f"{NOT_CONFIRMED} · invented case"]
    assert all(NOT_CONFIRMED in canal.decision for canal in made[0].canals)
    assert NOT_CONFIRMED in case_html(made)
    assert f"{NOT_CONFIRMED} · invented case" in case_csv(case)
    assert "invented" not in case_csv(case.model_copy(update={"invented": False}))
    assert json.loads(case_json(case))["status"] == NOT_CONFIRMED
    for text in (case_html(made), case_csv(case), case_json(case)):
        assert CAUTION.split("'")[0] in text


def test_a_decision_stands_with_its_person_and_its_base(case: Case, tmp_path: Path) -> None:
    page = case_pages(with_decision(case, 20.5, short_mm=1.0, why="felt"), tmp_path)[0]
    wanted = "20.5 mm, 1 mm short of the radiographic apex; decided by invented person, 2026-01-02; based on"
    assert page.canals[0].decision.startswith(wanted)
    assert page.canals[0].decision.endswith("because: felt")
    assert page.status.startswith(NOT_CONFIRMED)
    decided = with_decision(with_decision(case, 20.5, short_mm=1.0), 21.0, canal="46 D")
    assert case_pages(decided, tmp_path)[0].status.startswith("decided by a person")


def test_a_page_a_tooth(case: Case, tmp_path: Path) -> None:
    case = with_length(with_canal(case, tooth="47"), canal="47 MB")
    made = case_pages(case, tmp_path)
    assert [page.tooth for page in made] == ["46", "47"]
    assert [row.canal for row in made[1].rows] == ["47 MB"]
    assert case_html(made).count("<section") == 2


def test_a_doubt_of_another_tooth_stays_on_its_page(case: Case, tmp_path: Path) -> None:
    made = case_pages(with_canal(case, tooth="47"), tmp_path)
    codes = [[finding.code for finding in page.doubts] for page in made]
    assert "case-no-length" not in codes[0]
    assert "case-no-length" in codes[1]


def test_corrected_lengths_and_earlier_series_stay_and_are_told(case: Case, tmp_path: Path) -> None:
    number = case.lengths("46 D")[0].number
    case = correct_length(case, number, value_mm=20.0, why="slipped", when=NOON)
    case = new_reference_point(case, "MB", "reduced cusp", why="cusp reduced", when=NOON)
    rows = {row.number: row for row in case_pages(case, tmp_path)[0].rows}
    assert not rows[str(number)].stands
    assert "corrected by" in rows[str(number)].note
    assert "slipped" in rows[str(number)].note
    assert "from an earlier reference point" in rows["6"].note
    assert rows[str(number + 1)].stands


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
def test_on_paper_why_a_length_does_not_stand_is_read_before_its_millimetres(
    case: Case, tmp_path: Path
) -> None:
    """Nothing is struck through in the PDF: 12.0 mm that was a slip of the hand must not be read as a length."""
    number = case.lengths("46 D")[0].number
    case = correct_length(case, number, value_mm=20.0, why="two digits were typed wrong", when=NOON)
    path = tmp_path / "case.pdf"
    path.write_bytes(case_pdf(case_pages(case, tmp_path)))
    run = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, text=True, check=True)
    text = " ".join(run.stdout.split())
    row = text[text.index(f"{number} · corrected by") :]
    assert row.index("two digits were typed wrong") < row.index(" mm")
    assert re.search(r"\([0-9.]+ mm", row[:200])


def test_a_withdrawn_length_is_told(case: Case, tmp_path: Path) -> None:
    number = case.lengths("46 D")[0].number
    case = withdraw_length(case, number, why="entered twice", when=NOON)
    row = {row.number: row for row in case_pages(case, tmp_path)[0].rows}[str(number)]
    assert (row.note, row.stands) == ("withdrawn: entered twice", False)


def test_the_image_is_drawn_with_its_marks(case: Case, tmp_path: Path) -> None:
    page = case_pages(case, tmp_path)[0]
    caption, drawing = page.drawings[0]
    assert caption == "1: tooth.tif, working length, 2026-01-02, straight"
    assert any(isinstance(shape, Label) and "46 MB" in shape.text for shape in drawing.shapes)


def test_every_image_is_named_once_whether_it_is_drawn_or_not(case: Case, tmp_path: Path) -> None:
    named = "1: tooth.tif, working length, 2026-01-02, straight"
    assert case_html(case_pages(case, tmp_path)).count(named) == 1
    (tmp_path / "tooth.tif").unlink()
    assert case_html(case_pages(case, tmp_path)).count(named) == 1


def test_an_edited_or_missing_image_is_told_and_not_shown(case: Case, tmp_path: Path) -> None:
    with (tmp_path / "tooth.tif").open("ab") as file:
        file.write(b"x")
    page = case_pages(case, tmp_path)[0]
    assert page.drawings == ()
    assert "it was edited or replaced" in page.images[1]
    assert "case-image-edited" in [finding.code for finding in page.doubts]
    (tmp_path / "tooth.tif").unlink()
    assert "case-image-missing" in [finding.code for finding in case_pages(case, tmp_path)[0].doubts]


def test_the_time_line_has_a_station_a_length_and_the_decision(case: Case, tmp_path: Path) -> None:
    def stations(case: Case) -> set[str]:
        chart = case_pages(case, tmp_path)[0].charts[0]
        return {shape.text for shape in chart.shapes if isinstance(shape, Label) and shape.text.isdecimal()}

    numbers = {str(event.number) for event in case.lengths("46 MB")}
    assert stations(case) == numbers
    decided = with_decision(case, 20.5, short_mm=1.0)
    assert stations(decided) == {*numbers, str(decided.events[-1].number)}
    assert "decision" in svg(case_pages(decided, tmp_path)[0].charts[0])


def test_a_chart_without_a_table_says_so(tmp_path: Path) -> None:
    case = with_length(with_canal(), landmark="apical foramen")
    chart = case_pages(note_canal(case, "MB", "open apex", when=NOON), tmp_path)[0].charts[0]
    assert any("not converted" in shape.text for shape in chart.shapes if isinstance(shape, Label))


def test_a_case_without_a_canal_has_no_page(tmp_path: Path) -> None:
    with pytest.raises(ReportError, match="no canal is in the case; add one"):
        case_pages(Case.new(), tmp_path)


def test_a_canal_without_a_length(tmp_path: Path) -> None:
    made = case_pages(with_canal(), tmp_path)
    assert made[0].charts == ()
    assert "No length is in the case yet." in case_html(made)
    assert case_pdf(made).startswith(b"%PDF")


def _evil(folder: Path) -> Case:
    case = add_canal(full_case(folder), "46", EVIL[:50], reference_point=f"</svg>{SCRIPT}\x1b[31m", when=NOON)
    label = case.canals[-1].label
    case = with_length(case, canal=label, rule=SCRIPT, source=EVIL, ruler=EVIL)
    case = note_canal(case, label, "other", words=EVIL, when=NOON)
    return with_decision(case, 21.0, canal=label, by=f"<b>{EVIL}", why=EVIL)


def test_nothing_typed_breaks_a_page(tmp_path: Path) -> None:
    case = _evil(tmp_path)
    made = case_pages(case, tmp_path, patient="<img src=x onerror=alert(1)>")
    html = case_html(made)
    assert "<script" not in html
    assert "<img" not in html
    assert "\u202e" not in html
    assert "\x1b" not in html
    assert case_pdf(made).startswith(b"%PDF")


def test_no_cell_of_the_table_starts_a_formula(tmp_path: Path) -> None:
    case = _evil(tmp_path)
    rows = list(csv.reader(io.StringIO(case_csv(case))))
    assert tuple(rows[0]) == CASE_COLUMNS
    assert len(rows) == 1 + sum(event.kind == "length" for event in case.events)
    assert not [cell for row in rows[1:] for cell in row if cell[:1] in "=+@" and cell]


def test_the_same_case_gives_the_same_bytes(case: Case, tmp_path: Path) -> None:
    once, again = case_pages(case, tmp_path), case_pages(case, tmp_path)
    assert case_html(once) == case_html(again)
    assert case_pdf(once) == case_pdf(again)


def test_many_canals_and_lengths_stay_on_one_page(tmp_path: Path) -> None:
    case = Case.new()
    for number in range(6):
        case = with_canal(case, name=f"canal {number}")
        for step in range(12):
            case = with_length(case, 20 + step / 10, canal=f"46 canal {number}")
    data = case_pdf(case_pages(case, tmp_path))
    assert data.count(b"/Type /Page\n") == 1


def test_a_copy_is_called_a_copy_and_not_of_another_reference_point(case: Case, tmp_path: Path) -> None:
    copy = case.lengths("46 MB")[0].model_copy(update={"number": len(case.events) + 1})
    fields = {name: getattr(case, name) for name in Case.model_fields} | {"events": (*case.events, copy)}
    copied = Case(**fields)
    notes = [row.note for page in case_pages(copied, tmp_path) for row in page.rows]
    assert "the same result was entered again: not counted" in notes[0]
    assert not any("earlier reference point" in note for note in notes)


def test_names_of_methods_below_a_time_line_keep_clear_of_each_other(case: Case, tmp_path: Path) -> None:
    """The sign of the decision lay on "other method". Letters of half their height and a little are wide."""
    decided = with_decision(case, 20.5, short_mm=1.0, why="felt")
    chart = case_pages(decided, tmp_path)[0].charts[0]
    names = [one for one in chart.shapes if isinstance(one, Label) and one.at[1] == 134.5]
    assert [one.text for one in names][-1] == "decision"
    assert len(names) > 2
    for one, after in pairwise(names):
        assert one.at[0] + 0.55 * 6.5 * len(one.text) < after.at[0] - 12
    assert names[-1].at[0] + 0.55 * 6.5 * len("decision") < 260


def test_the_last_sheet_says_whose_it_is(case: Case, tmp_path: Path) -> None:
    """A second sheet of paper bore no tooth, no status and no name."""
    text = case_html(case_pages(case, tmp_path, patient="invented person"))
    foot = text[text.index('<p class="again">') :]
    for told in ("Tooth 46", f"{NOT_CONFIRMED} · invented case", "<bdi>invented person</bdi>"):
        assert told in foot[: foot.index("</p>")]
