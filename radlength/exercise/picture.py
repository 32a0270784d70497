"""The image of an exercise with the truth drawn over the learner's marks, and what was said about them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from radlength.clean import clean
from radlength.exercise.compose import TrueLine
from radlength.exercise.feedback import OneFeedback
from radlength.exercise.files import open_image
from radlength.exercise.models import Answer
from radlength.geometry import fit_curve
from radlength.report.canvas import Canvas
from radlength.report.colours import BLUE, DARK, GREEN, ORANGE, PALE, WHITE, Colour
from radlength.report.inset import window_of
from radlength.report.lettering import BOLD, wrapped, write_boxed, write_text
from radlength.report.picture import beside, write_png
from radlength.trade import CAUTION

Grey = NDArray[np.uint8]
Picture = NDArray[np.uint8]
FloatArray = NDArray[np.float64]

LONGEST, PANEL, INSET, MARGIN = 960, 470, 340, 20
INSET_MM = 4.0
"""Height of the enlarged window about the true apex, millimetres in the tooth."""
ROW_HEIGHT = 22


def feedback_picture(one: OneFeedback, folder: Path) -> Picture:
    """Return the picture after one exercise, RGB, shape (rows, columns, 3), uint8.

    Parameters
    ----------
    one
        What is told.
    folder
        Where the set's images are.

    Raises
    ------
    ExerciseError
        The image is not the set's.
    """
    grey = np.rint(open_image(folder, one.key.task).display() * 255).astype(np.uint8)
    aspect = one.key.pitch / one.key.pitch.min()
    zoom = LONGEST / max(grey.shape * aspect)
    canvas = Canvas.over(grey, (zoom * aspect[0], zoom * aspect[1]))
    draw_marks(canvas, one)
    return beside(canvas.pixels, _panel(one, _inset(grey, one)))


def write_feedback_picture(one: OneFeedback, folder: Path, out: Path, *, learner: str) -> Path:
    """Write the picture after one exercise as ``CODE.NUMBER.feedback.png`` and return its path."""
    out.mkdir(parents=True, exist_ok=True)
    return write_png(out / f"{learner}.{one.key.task.id}.feedback.png", feedback_picture(one, folder))


def draw_marks(canvas: Canvas, one: OneFeedback) -> None:
    """Draw the learner's marks, then the truth over them."""
    _draw_learner(canvas, one.answer)
    true = np.array(one.key.truth.canal_px)
    if one.key.truth.reference_px is not None and one.answer.reference_px is not None:
        reference = np.array(one.key.truth.reference_px)
        canvas.dashes(reference, PALE, 2)
        canvas.square(reference[0], PALE)
        canvas.arrow(reference[-4], reference[-1], PALE)
    if one.answer.canal_px is not None or one.answer.apex_px is not None:
        canvas.dashes(TrueLine(true).points, GREEN, 2)
        canvas.diamond(true[0], GREEN)
        canvas.cross(true[-1], GREEN)


def _draw_learner(canvas: Canvas, answer: Answer) -> None:
    if answer.reference_px is not None:
        curve = fit_curve(np.array(answer.reference_px)).resample(100)
        canvas.line(curve, ORANGE)
        canvas.square(curve[0], ORANGE)
        canvas.arrow(curve[-6], curve[-1], ORANGE)
    if answer.canal_px is not None:
        canvas.line(fit_curve(np.array(answer.canal_px)).resample(200), BLUE)
        for click in answer.canal_px[1:-1]:
            canvas.dot(click, BLUE)
        canvas.diamond(answer.canal_px[0], BLUE)
        canvas.cross(answer.canal_px[-1], BLUE)
    if answer.apex_px is not None:
        canvas.cross(answer.apex_px, BLUE)


def _inset(grey: Grey, one: OneFeedback) -> Picture:
    """Return the surroundings of the true apex enlarged, dark where the window leaves the image."""
    apex = np.array(one.key.truth.canal_px[-1])
    half = np.maximum(INSET_MM / 2 / one.key.mm_per_unit / one.key.pitch, 4.0)
    low = np.floor(apex - half).astype(int)
    high = np.ceil(apex + half).astype(int) + 1
    window = window_of(grey, low, high)
    zoom = (INSET / window.shape[0], INSET / window.shape[1])
    canvas = Canvas.over(window, zoom, origin_px=(float(low[0]), float(low[1])))
    draw_marks(canvas, one)
    pixels = np.ascontiguousarray(canvas.pixels[:INSET, :INSET])
    write_boxed(pixels, f"apex, {INSET_MM:g} mm high", (0, 0), WHITE, 15)
    return pixels


def _panel(one: OneFeedback, inset: Picture) -> Picture:
    room = PANEL - 2 * MARGIN
    truth = "teacher's marks" if one.key.truth.basis == "teacher" else "truth"
    rows: list[tuple[str, Colour, int]] = [(f"Exercise {one.key.task.id}: {one.heading}", WHITE, BOLD)]
    task, invented = one.key.task, "; simulated image, no patient" if one.invented else ""
    rows += [
        (f"tooth {clean(task.tooth, 4)}, canal {clean(task.canal, 40)}{invented}", WHITE, 400),
        ("blue, orange: your canal, your instrument", BLUE, 400),
        (f"green, pale, dashed: {truth}", GREEN, 400),
    ]
    rows += [(line, PALE, 400) for line in one.lines]
    rows += [(f"Published: {figure}", PALE, 400) for figure in one.published]
    rows.append((CAUTION, ORANGE, 400))
    told = [
        (line, colour, weight)
        for text, colour, weight in rows
        for line in (*wrapped(text, room, 16, weight), "")
    ]
    height = (
        MARGIN + INSET + MARGIN + sum(ROW_HEIGHT if line else ROW_HEIGHT // 3 for line, _, _ in told) + MARGIN
    )
    panel = np.full((height, PANEL, 3), DARK, np.uint8)
    panel[MARGIN : MARGIN + INSET, MARGIN : MARGIN + INSET] = inset
    y = MARGIN + INSET + MARGIN
    for line, colour, weight in told:
        if line:
            write_text(panel, line, (MARGIN, y + 16), colour, 16, weight)
        y += ROW_HEIGHT if line else ROW_HEIGHT // 3
    return panel
