"""The text beside the image: lengths, doubts, what the marks mean, the caution."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.length import Estimate
from radlength.report.canvas import Canvas
from radlength.report.colours import DARK, ORANGE, PALE, RED, WHITE, Colour, canal_colour, canal_sign
from radlength.report.lettering import BOLD, wrapped, write_text
from radlength.report.words import WEIGHTS, canal_words, comparison_words, scale_words, working_words
from radlength.trade import CAUTION

PANEL_WIDTH = 580
MARGIN = 24
SMALL, MIDDLE, LARGE = 18, 22, 27
MOST_DOUBTS = 4
_MARK_X = MARGIN + 22


@dataclass(frozen=True, slots=True)
class _Line:
    text: str
    colour: Colour = PALE
    size: int = SMALL
    weight: int = 400

    @property
    def height(self) -> int:
        return round(self.size * 1.42)


def draw_panel(
    name: str, status: str, estimates: Sequence[Estimate], unmeasured: Sequence[tuple[str, str]] = ()
) -> NDArray[np.uint8]:
    """Return the panel.

    Parameters
    ----------
    name
        File name of the image.
    status
        What the record says of confirmation.
    estimates
        Measured canals.
    unmeasured
        Name of each canal that cannot be measured, and why.

    Returns
    -------
    ndarray
        RGB, shape (rows, PANEL_WIDTH, 3), uint8.
    """
    lines = [_Line(name, WHITE, MIDDLE, BOLD), _Line(status, ORANGE, MIDDLE, BOLD)]
    if estimates:
        lines.append(_Line("in brackets: 95 % interval"))
    for number, estimate in enumerate(estimates):
        lines += [_Line("", size=10), *_canal(estimate, number)]
    for label, why in unmeasured:
        lines += [_Line("", size=10), _Line(label, WHITE, LARGE, BOLD)]
        lines += [_Line("not measured, not drawn", RED, MIDDLE + 2, BOLD), _Line(why)]
    if not estimates and not unmeasured:
        lines.append(_Line("no canal is marked", WHITE, MIDDLE, BOLD))
    above = _written(_fitted(lines))
    caution = _written(_fitted([_Line(CAUTION, ORANGE)]))
    return np.vstack([above, _legend(estimates), caution])


def _canal(estimate: Estimate, number: int) -> list[_Line]:
    working, ending = working_words(estimate)
    length, meaning = canal_words(estimate)
    doubts = [finding for finding in estimate.findings if finding.severity != "note"]
    lines = [
        _Line(f"{estimate.canal.label}{canal_sign(number)}", canal_colour(number), LARGE, BOLD),
        _Line(working, WHITE, MIDDLE + 2, BOLD),
        _Line(ending),
        _Line(length, WHITE, MIDDLE),
        _Line(meaning),
        _Line(comparison_words(estimate)),
        _Line(f"scale: {scale_words(estimate)}"),
    ]
    if estimate.magnification is not None:
        lines.append(_Line(f"magnification {estimate.magnification}"))
    for finding in doubts[:MOST_DOUBTS]:
        shade = RED if finding.severity == "serious" else WHITE
        lines.append(_Line(f"{WEIGHTS[finding.severity]}: {finding.sentence}", shade))
    if len(doubts) > MOST_DOUBTS:
        lines.append(_Line("and more: radlength estimate lists them", WHITE))
    return lines


def _fitted(lines: list[_Line]) -> list[_Line]:
    room = PANEL_WIDTH - 2 * MARGIN
    return [
        _Line(part, line.colour, line.size, line.weight)
        for line in lines
        for part in (wrapped(line.text, room, line.size, line.weight) or [""])
    ]


def _written(lines: list[_Line]) -> NDArray[np.uint8]:
    height = sum(line.height for line in lines) + MARGIN
    pixels = np.full((height, PANEL_WIDTH, 3), DARK, np.uint8)
    y = MARGIN // 2
    for line in lines:
        y += line.height
        if line.text:
            baseline = y - round(line.size * 0.36)
            write_text(pixels, line.text, (MARGIN, baseline), line.colour, line.size, line.weight)
    return pixels


def _legend(estimates: Sequence[Estimate]) -> NDArray[np.uint8]:
    """Return the marks that occur and their meaning, drawn by the same strokes as on the image."""
    placements = {estimate.reference.placement for estimate in estimates if estimate.reference is not None}
    rows: list[tuple[str, Callable[[Canvas, int], None]]] = []
    if estimates:
        rows += [("reference point", lambda canvas, row: canvas.diamond((row, _MARK_X), PALE, 8))]
        rows += [
            ("radiographic apex, as marked", lambda canvas, row: canvas.cross((row, _MARK_X), PALE, 11, 4))
        ]
        rows += [("clicks, and the smooth curve pinned at both ends", _clicks)]
    if any(estimate.working_length is not None for estimate in estimates):
        rows.append(("end of the working length", _tick))
    if "in_canal" in placements:
        rows.append(("reference of known length, stop to tip", _instrument))
    if "beside" in placements:
        rows.append(("reference of known length, between two marks", _beside))
    step = round(SMALL * 1.6)
    pixels = np.full((step * len(rows) + 8, PANEL_WIDTH, 3), DARK, np.uint8)
    canvas = Canvas(pixels)
    for number, (words, draw) in enumerate(rows):
        row = step * number + step // 2
        draw(canvas, row)
        write_text(pixels, words, (_MARK_X + 36, row + 7), PALE, SMALL)
    return pixels


def _clicks(canvas: Canvas, row: int) -> None:
    canvas.line([(row, _MARK_X - 22), (row, _MARK_X + 22)], PALE)
    canvas.dot((row, _MARK_X), PALE)


def _tick(canvas: Canvas, row: int) -> None:
    canvas.tick((row, _MARK_X), (row + 1, _MARK_X), WHITE, 9)


def _instrument(canvas: Canvas, row: int) -> None:
    canvas.dashes([(row, _MARK_X - 20), (row, _MARK_X + 14)], ORANGE)
    canvas.square((row, _MARK_X - 20), ORANGE, 5)
    canvas.arrow((row, _MARK_X), (row, _MARK_X + 22), ORANGE, 11)


def _beside(canvas: Canvas, row: int) -> None:
    canvas.dashes([(row, _MARK_X - 18), (row, _MARK_X + 18)], ORANGE)
    canvas.square((row, _MARK_X - 18), ORANGE, 5)
    canvas.square((row, _MARK_X + 18), ORANGE, 5)
