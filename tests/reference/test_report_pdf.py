"""PDF reports read back by Debian's poppler tools (poppler-utils), which share no code with what wrote them."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path
from unicodedata import normalize

import cv2
import numpy as np
import pytest
from helpers.records import canal, full_record, radiograph
from helpers.reports import evil, full_pages

from radlength.errors import ReportError
from radlength.report import pages, pdf_report
from radlength.report.colours import canal_colour
from radlength.report.pdf_lettering import Lettering
from radlength.trade import CAUTION, NOT_CONFIRMED

pytestmark = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
CHINESE = Path("/usr/share/fonts/truetype/droid/DroidSansFallbackFull.ttf")


def _tool(*words: object) -> str:
    return subprocess.run(
        list(map(str, words)), capture_output=True, check=True, text=True, timeout=60
    ).stdout


def _written(folder: Path, data: bytes) -> Path:
    path = folder / "report.pdf"
    path.write_bytes(data)
    return path


def _text(path: Path) -> str:
    return " ".join(_tool("pdftotext", path, "-").split())


def test_text_is_found_on_one_page(tmp_path: Path) -> None:
    path = _written(tmp_path, pdf_report(full_pages()))
    text = _text(path)
    for expected in (
        CAUTION,
        NOT_CONFIRMED,
        "working length: 20.7 mm",
        "canal length (to the marked apex): 21.7 mm",
    ):
        assert expected in text, expected
    assert "Pages:           1" in _tool("pdfinfo", path)


def test_each_chart_stands_under_its_own_heading(tmp_path: Path) -> None:
    path = _written(tmp_path, pdf_report(full_pages()))
    rows = [
        line.split() for line in _tool("pdftotext", "-layout", path, "-").splitlines() if "kept over" in line
    ]
    assert [" ".join(row) for row in rows] == [
        "Lengths kept over time What makes the interval: share of the variance"
    ]


def test_every_font_is_embedded(tmp_path: Path) -> None:
    rows = _tool("pdffonts", _written(tmp_path, pdf_report(full_pages()))).splitlines()[2:]
    assert len(rows) >= 2
    for row in rows:
        assert row.split()[-5] == "yes", row


def test_many_canals_and_long_names_stay_on_one_page_above_the_foot(tmp_path: Path) -> None:
    image = radiograph()
    record = full_record(image)
    for number in range(6):
        record = record.with_canal(canal(name=f"extra {number} " + "x" * 90), reference="file in MB")
    path = _written(tmp_path, pdf_report(pages(record, image)))
    assert "Pages:           1" in _tool("pdfinfo", path)
    assert CAUTION in _text(path)
    assert "Charts not drawn here: 5." in _text(path)


@pytest.mark.parametrize("name", ["Ζωή Παπά", "Jörg Müßig"], ids=["Greek", "German"])
def test_names_render(tmp_path: Path, name: str) -> None:
    image = radiograph()
    text = _text(_written(tmp_path, pdf_report(pages(full_record(image), image, patient=name))))
    assert name in text
    assert "□" not in text


def test_signs_without_a_font_are_a_box_and_said_so_beside_the_name(tmp_path: Path) -> None:
    image = radiograph()
    text = _text(_written(tmp_path, pdf_report(pages(full_record(image), image, patient="กขค"))))
    assert "□□□" in text
    told = text.index("are not in the font of this page")
    assert told < text.index("Lengths. A canal length is not a working length.")


@pytest.mark.parametrize(
    "name", ["王小明", "山田 太郎 46", "김민준 Kim"], ids=["Chinese", "Japanese", "Korean"]
)
def test_east_asian_names_are_ink_and_text_without_a_font(tmp_path: Path, name: str) -> None:
    """The name changes its line alone, from its first to its last letter; what stands behind a figure is seen too."""
    image = radiograph()
    drawn = []
    for patient in (name, "."):
        path = _written(tmp_path, pdf_report(pages(full_record(image), image, patient=patient)))
        assert patient in _text(path)
        assert "□" not in _text(path)
        assert all(row.split()[-5] == "yes" for row in _tool("pdffonts", path).splitlines()[2:])
        _tool("pdftoppm", "-r", 150, "-gray", "-singlefile", "-png", path, tmp_path / "page")
        drawn.append(cv2.imread(str(tmp_path / "page.png"), cv2.IMREAD_GRAYSCALE))
    rows, columns = np.nonzero(drawn[0] != drawn[1])
    assert rows.max() - rows.min() < 1.6 * 8 * 150 / 72
    inked = np.diff(np.unique(columns))
    wide = Lettering().width(name, 8.0) * 150 / 72
    assert columns.max() - columns.min() == pytest.approx(wide, abs=4)
    assert inked.max() < 0.8 * 8 * 150 / 72, "a letter is missing"


@pytest.mark.parametrize(
    "name",
    ["محمد علي", "سلام", "اللاعب", "Anna \N{GRINNING FACE}", "김민준", "が", "Zoë"],
    ids=[
        "Arabic",
        "Arabic lam and alef",
        "Arabic twice lam",
        "a sign beyond 16 bits",
        "Korean",
        "Japanese",
        "Latin",
    ],
)
def test_what_is_copied_is_what_was_typed(tmp_path: Path, name: str) -> None:
    """Joined letters say the letters that were joined, but for lam with alef, which is one sign of Unicode."""
    image = radiograph()
    for typed in (name, normalize("NFD", name)):
        path = _written(tmp_path, pdf_report(pages(full_record(image), image, patient=typed)))
        text = _text(path)
        assert name in text.replace("\N{ARABIC LIGATURE LAM WITH ALEF FINAL FORM}", "لا").replace(
            "\N{ARABIC LIGATURE LAM WITH ALEF ISOLATED FORM}", "لا"
        )
        assert "□" not in text


@pytest.mark.skipif(not CHINESE.exists(), reason="fonts-droid-fallback is not installed")
def test_chinese_renders_with_a_font_given(tmp_path: Path) -> None:
    image = radiograph()
    made = pages(full_record(image), image, patient="王小明")
    path = _written(tmp_path, pdf_report(made, font=CHINESE))
    assert "王小明" in _text(path)
    assert "□" not in _text(path)
    fonts = [row.split()[-5] for row in _tool("pdffonts", path).splitlines()[2:]]
    assert fonts == ["yes"] * len(fonts)


def test_a_font_that_cannot_be_embedded_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "x.ttf"
    path.write_bytes(b"not a font")
    with pytest.raises(ReportError, match="the font cannot be embedded"):
        pdf_report(full_pages(), font=path)
    with pytest.raises(ReportError, match="there is no such file of a font"):
        pdf_report(full_pages(), font=tmp_path / "none.ttf")


def test_attacks_are_only_text(tmp_path: Path) -> None:
    path = _written(tmp_path, pdf_report(pages(*evil())))
    assert "JavaScript:      no" in _tool("pdfinfo", path)
    assert b"/URI" not in path.read_bytes()
    assert "\u202e" not in _text(path)


def test_the_apex_is_where_it_was_marked(tmp_path: Path) -> None:
    """The lowest green ink of the page, the apex of canal D, stands at the marked column, to 2.5 of 200 dpi."""
    path = _written(tmp_path, pdf_report(full_pages()))
    _tool("pdftoppm", "-r", 200, "-png", "-singlefile", path, tmp_path / "page")
    page = cv2.imread(str(tmp_path / "page.png"))
    scale = 200 / 72
    pad = 6 * 1300 / 260
    width = min(205.0, 270.0 * (900 + 2 * pad) / (1300 + 2 * pad))
    green = (np.abs(page.astype(int) - canal_colour(1)[::-1]).max(axis=2) < 40) & (
        np.arange(page.shape[1]) < (36 + width) * scale
    )
    expected_x = (36 + (455.75 + pad) / (900 + 2 * pad) * width) * scale
    columns = np.nonzero(green[: round(480 * scale)])[1]
    rows = np.nonzero(green[: round(480 * scale)])[0]
    lowest = rows > rows.max() - 8
    assert columns[lowest].mean() == pytest.approx(expected_x, abs=2.5)
