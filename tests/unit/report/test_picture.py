from __future__ import annotations

from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
from helpers.estimates import INSTRUMENT, measured
from hypothesis import given, settings
from hypothesis import strategies as st

import radlength.report.labels as labels_module
import radlength.report.marks as marks_module
import radlength.report.panel as panel_module
from radlength.errors import ReportError
from radlength.imaging import Radiograph
from radlength.length import Canal, Estimate, estimate_length
from radlength.report import annotated_picture, write_png
from radlength.report.canvas import Canvas
from radlength.report.colours import BLUE, ORANGE, WHITE
from radlength.report.drawing import Line
from radlength.report.marks import draw_scale_bar, working_end
from radlength.report.overlay import image_drawing
from radlength.report.picture import BORDER
from radlength.scale import Reference
from radlength.trade import CAUTION


@pytest.fixture
def said(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every text that is written into a picture."""
    texts: list[str] = []
    for module, name in (
        (panel_module, "write_text"),
        (marks_module, "write_text"),
        (labels_module, "write_boxed"),
    ):
        real = getattr(module, name)

        def spy(pixels: Any, text: str, *rest: Any, _real: Any = real, **more: Any) -> None:
            texts.append(text)
            _real(pixels, text, *rest, **more)

        monkeypatch.setattr(module, name, spy)
    return texts


def test_it_says_what_must_be_said(radiograph: Radiograph, estimate: Estimate, said: list[str]) -> None:
    annotated_picture(radiograph, [estimate], status="estimate, not confirmed")
    words = " ".join(said)
    for expected in (
        "tooth.png",
        "estimate, not confirmed",
        "45 single",
        f"working length {estimate.working_length}",
        "1 mm short of the radiographic apex",
        f"canal length {estimate.canal_length}",
        "for comparison only",
        "reference in this canal, 21 ±0.25 mm",
        "file: 21 ±0.25 mm",
        "mm in the tooth, corrected at 45 single",
        CAUTION,
    ):
        assert expected in words, expected


def test_a_canal_length_never_reads_as_a_working_length(
    radiograph: Radiograph, estimate: Estimate, said: list[str]
) -> None:
    annotated_picture(radiograph, [estimate])
    lengths = [text for text in said if "length" in text and " mm" in text]
    assert any("working length 21.1" in text for text in lengths)
    for text in lengths:
        assert not ("working" in text and "22.1 mm" in text)
        assert not ("canal length" in text and "21.1 mm" in text)
    said.clear()
    annotated_picture(radiograph, [measured(radiograph, terminus=None)])
    assert "no working length" in said
    assert not any("working length 2" in text or "end of the working length" in text for text in said)


def test_serious_doubts_are_on_the_picture(radiograph: Radiograph, said: list[str]) -> None:
    backwards = Reference(path_px=INSTRUMENT.path_px[::-1], length_mm=21, limit_mm=0.25, canal="single")
    annotated_picture(radiograph, [measured(radiograph, reference=backwards)])
    assert "serious: The canal and its reference are marked in opposite directions." in " ".join(said)


def test_many_doubts_are_cut_and_said_so(radiograph: Radiograph, said: list[str]) -> None:
    short = Reference(path_px=[(20, 60), (20, 70)], length_mm=3, limit_mm=0.25, placement="beside")
    found = estimate_length(
        Canal(tooth="45", name="B", path_px=[(20, 60), (250, 60), (200, 55), (259, 70)]),
        short,
        radiograph=radiograph,
    )
    doubts = [finding for finding in found.findings if finding.severity != "note"]
    annotated_picture(radiograph, [found])
    assert ("and more: radlength estimate lists them" in " ".join(said)) == (len(doubts) > 4)


@pytest.mark.parametrize("count", [1, 2, 4])
def test_no_text_covers_an_apex(radiograph: Radiograph, monkeypatch: pytest.MonkeyPatch, count: int) -> None:
    """Around every apex the picture is the same with labels as without them."""
    estimates = [measured(radiograph, name, 12.0 * n) for n, name in enumerate(["A", "B", "C", "D"][:count])]
    with_labels = annotated_picture(radiograph, estimates)
    monkeypatch.setattr(labels_module.Labels, "write", lambda *_, **__: False)
    without = annotated_picture(radiograph, estimates)
    zoom = 960 / 260
    for estimate in estimates:
        row, column = ((np.array(estimate.canal.path_px[-1]) + 0.5) * zoom - 0.5 + BORDER).astype(int)
        window = slice(row - 20, row + 21), slice(column - 20, column + 21)
        assert with_labels[window].shape == (41, 41, 3)
        assert np.array_equal(with_labels[window], without[window])
    assert not np.array_equal(with_labels, without)


def test_apex_mark_is_drawn_at_the_apex(radiograph: Radiograph, estimate: Estimate) -> None:
    picture = annotated_picture(radiograph, [estimate])
    moved = annotated_picture(radiograph, [measured(radiograph, shift=10.0)])
    zoom = 960 / 260
    row, column = ((np.array(estimate.canal.path_px[-1]) + 0.5) * zoom - 0.5 + BORDER).round().astype(int)
    arm = (column + 11, row)
    assert picture[arm[1], arm[0]].tolist() == [86, 180, 233]
    assert moved[arm[1], arm[0] + round(10 * zoom)].tolist() == [86, 180, 233]
    assert moved[arm[1], arm[0]].tolist() != [86, 180, 233]


def test_the_apex_itself_is_left_as_it_is(radiograph: Radiograph, estimate: Estimate) -> None:
    """Neither the mark nor the curve paints the pixels at the apex: they stay grey."""
    picture = annotated_picture(radiograph, [estimate])
    zoom = 960 / 260
    row, column = ((np.array(estimate.canal.path_px[-1]) + 0.5) * zoom - 0.5 + BORDER).round().astype(int)
    at_apex = picture[row - 1 : row + 2, column - 1 : column + 2]
    assert np.ptp(at_apex, axis=2).max() == 0
    assert np.array_equal(
        at_apex, annotated_picture(radiograph, [])[row - 1 : row + 2, column - 1 : column + 2]
    )


def test_a_reference_length_changes_the_picture(radiograph: Radiograph, estimate: Estimate) -> None:
    longer = Reference(path_px=INSTRUMENT.path_px, length_mm=22.0, limit_mm=0.25, name="file", canal="single")
    before = annotated_picture(radiograph, [estimate])
    assert np.array_equal(before, annotated_picture(radiograph, [measured(radiograph)]))
    assert not np.array_equal(before, annotated_picture(radiograph, [measured(radiograph, reference=longer)]))


def test_the_reference_is_dashed_in_its_own_colour(radiograph: Radiograph, estimate: Estimate) -> None:
    without = estimate_length(
        estimate.canal, radiograph=radiograph.with_stated_pitch(0.05, 0.05), terminus=estimate.terminus
    )
    image = slice(0, 960), slice(0, 400)
    with_reference = (annotated_picture(radiograph, [estimate])[image] == ORANGE).all(axis=2).sum()
    assert with_reference > 300
    assert (annotated_picture(radiograph, [without])[image] == ORANGE).all(axis=2).sum() == 0


@pytest.mark.parametrize("pitch", [(0.05, 0.1), (0.1, 0.05)], ids=["wide", "tall"])
def test_pixels_that_are_not_square_are_drawn_in_proportion(pitch: tuple[float, float]) -> None:
    stored = np.zeros((200, 200), np.uint8)
    radiograph = Radiograph.from_array(stored, row_mm=pitch[0], column_mm=pitch[1])
    picture = annotated_picture(radiograph, [])
    height = 960 if pitch[0] > pitch[1] else 480
    width = 480 if pitch[0] > pitch[1] else 960
    image = picture[: height + 2 * BORDER, : width + 2 * BORDER]
    assert (image[BORDER:-BORDER, BORDER:-BORDER] == 0).all()
    assert (image[:BORDER] > 0).all()
    assert (image[-BORDER:] > 0).all()
    assert (image[:, :BORDER] > 0).all()
    assert (image[:, -BORDER:] > 0).all()


def test_scale_bar_has_its_length(radiograph: Radiograph, estimate: Estimate) -> None:
    """At 0.1 mm per pixel and a zoom of 4, 5 mm are 200 pixels of the picture."""
    canvas = Canvas.over(radiograph.stored, (4.0, 4.0), border=BORDER)
    strip = np.zeros((56, canvas.pixels.shape[1], 3), np.uint8)
    draw_scale_bar(strip, canvas, estimate, left=BORDER)
    bar = np.nonzero((strip[16] == WHITE).all(axis=1))[0]
    assert bar[-1] - bar[0] == pytest.approx(200, abs=4)


def test_working_length_ends_short_of_the_apex(radiograph: Radiograph, estimate: Estimate) -> None:
    """1 mm at 0.1 mm per pixel is 10 pixels back from row 241."""
    end = working_end(estimate)
    assert end is not None
    assert end[0] == pytest.approx((231.0, 60.0), abs=0.01)
    assert working_end(measured(radiograph, terminus=None)) is None


def test_picture_without_canals(radiograph: Radiograph, said: list[str]) -> None:
    annotated_picture(radiograph, [])
    assert "no canal is marked" in said
    assert CAUTION in " ".join(said)


@settings(max_examples=15, deadline=None)
@given(
    rows=st.integers(8, 400),
    columns=st.integers(8, 400),
    deep=st.booleans(),
    marks=st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=3, max_size=6),
)
def test_any_size_and_depth(rows: int, columns: int, deep: bool, marks: list[tuple[float, float]]) -> None:
    kind = np.uint16 if deep else np.uint8
    stored = np.random.default_rng(1).integers(0, np.iinfo(kind).max, (rows, columns), dtype=kind)
    radiograph = Radiograph.from_array(stored)
    path = [(i + across * 0.5, down * columns) for i, (across, down) in enumerate(marks)]
    reference = Reference(path_px=[(0, 0), (7, 7)], length_mm=10, limit_mm=0.5, placement="beside")
    found = estimate_length(Canal(tooth="11", name="single", path_px=path), reference, radiograph=radiograph)
    picture = annotated_picture(radiograph, [found])
    assert picture.dtype == np.uint8
    assert picture.ndim == 3
    assert 400 < picture.shape[0] < 3000


def test_written_and_read_again(tmp_path: Path, radiograph: Radiograph, estimate: Estimate) -> None:
    picture = annotated_picture(radiograph, [estimate])
    written = write_png(tmp_path / "marked.png", picture)
    assert np.array_equal(cv2.cvtColor(cv2.imread(str(written)), cv2.COLOR_BGR2RGB), picture)


def test_unwritable(tmp_path: Path) -> None:
    with pytest.raises(ReportError, match="the picture cannot be written") as caught:
        write_png(tmp_path / "no" / "x.png", np.zeros((2, 2, 3), np.uint8))
    assert caught.value.code == "picture-unwritable"


def test_lines_are_told_apart_where_colours_come_again(radiograph: Radiograph, said: list[str]) -> None:
    estimates = [measured(radiograph, f"c{n}", -40.0 + 10 * n) for n in range(5)]
    annotated_picture(radiograph, estimates)
    assert {"45 c0", "45 c3", "45 c4 – –"} <= set(said)
    assert not {"45 c4", "45 c0 – –"} & set(said)
    drawn = image_drawing(radiograph, estimates, "").shapes
    lines = [one for one in drawn if isinstance(one, Line) and one.colour == BLUE and len(one.points) > 20]
    assert [one.dash is None for one in lines] == [True, False]


def test_a_line_that_is_dashed_is_dark_between() -> None:
    canvas = Canvas(np.full((400, 60, 3), 128, np.uint8))
    path = [(row, 30.0) for row in range(20, 380)]
    for number, gaps in ((0, False), (4, True)):
        canvas.pixels[:] = 128
        marks_module._draw_canal(canvas, np.array(path), number)
        assert bool((canvas.pixels[40:360, 30] < 60).all(axis=1).any()) == gaps


def test_a_canal_that_cannot_be_measured_is_named_and_why(
    radiograph: Radiograph, estimate: Estimate, said: list[str]
) -> None:
    annotated_picture(radiograph, [estimate], unmeasured=[("45 B", "no scale")])
    assert {"45 single", "45 B", "not measured, not drawn", "no scale"} <= set(said)
