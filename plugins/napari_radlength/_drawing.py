"""What is drawn of a session besides the points: lines with their direction, lengths at the apex, a bar of 10 mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from napari_radlength._convert import curve_line, steps_of
from napari_radlength._palette import DOUBT, REFERENCE, canal_colour
from radlength.geometry import fit_curve
from radlength.session import Session

FloatArray = NDArray[np.float64]
BAR_MM = 10


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """Lines as vectors with a colour each, and words with their places.

    Parameters
    ----------
    steps
        Starts and steps, shape (N, 2, 2), pixels.
    colours
        RGBA of each step, shape (N, 4).
    words, places
        Words and their (row, column), shape (M, 2).
    """

    steps: FloatArray
    colours: FloatArray
    words: tuple[str, ...]
    places: FloatArray


def drawn(session: Session, size_px: float) -> Drawing:
    """Return what to draw of a session.

    Parameters
    ----------
    session
        What is marked.
    size_px
        Size of a point in pixels of the image.
    """
    marks = session.annotation
    found = session.proposal
    lines = []
    for n, reference in enumerate(marks.references):
        if found is not None and found.what == "reference" and n == marks.reference_index:
            continue
        lines.append((curve_line(reference.path_px, 40), REFERENCE, 0, 0.0))
    for n, canal in enumerate(marks.canals):
        if canal.hidden or (found is not None and found.what == "canal" and n == marks.current):
            continue
        lines.append((curve_line(canal.path_px), canal_colour(n, canal.colour), 0, 1.2 * size_px))
    if found is not None:
        own = REFERENCE if found.what == "reference" else canal_colour(marks.current, marks.canal.colour)
        colour, dash = (own, 3) if found.trusted else (DOUBT, 1)
        lines.append((found.line_px, colour, dash, 1.2 * size_px))
    bar = _bar(session)
    if bar is not None:
        lines.append((bar, "#ffffff", 0, 0.0))
    parts = [
        (steps_of(line, dash=dash, arrow=arrow), colour)
        for line, colour, dash, arrow in lines
        if line is not None
    ]
    words, places = _lengths(session)
    places = _apart(places, size_px)
    if bar is not None:
        words, places = (
            [*words, f"{BAR_MM} mm by {session.annotation.reference.name}"],
            [*places, (float(bar[4, 0]) - 3.4 * size_px, float(bar[4, 1]))],
        )
    steps = np.concatenate([part for part, _ in parts]) if parts else np.empty((0, 2, 2))
    colours = np.concatenate(
        [np.tile(_rgba(colour), (len(part), 1)) for part, colour in parts] or [np.empty((0, 4))]
    )
    return Drawing(steps, colours, tuple(words), np.asarray(places, dtype=np.float64).reshape(-1, 2))


def _lengths(session: Session) -> tuple[list[str], list[tuple[float, float]]]:
    """Return the length of every canal, labelled, and where its apex is."""
    words, places = [], []
    for n, canal in enumerate(session.annotation.canals):
        found = session.estimate(n)[0] if len(canal.path_px) > 1 and not canal.hidden else None
        if canal.hidden or not canal.path_px:
            continue
        if found is None:
            said = canal.label
        elif found.working_length is not None:
            said = f"{canal.label}\nworking length {found.working_length.value_mm:.1f} mm"
        else:
            said = f"{canal.label}\ncanal length {found.canal_length.value_mm:.1f} mm"
        words.append(said)
        places.append(canal.path_px[-1])
    return words, places


def _apart(places: list[tuple[float, float]], size_px: float) -> list[tuple[float, float]]:
    """Return places of words moved down until none lies on another."""
    moved: list[tuple[float, float]] = []
    for row, column in places:
        while any(abs(row - r) < 4 * size_px and abs(column - c) < 14 * size_px for r, c in moved):
            row += size_px  # noqa: PLW2901
        moved.append((row, column))
    return moved


def _bar(session: Session) -> FloatArray | None:
    """Return a bar of 10 corrected millimetres at the lower edge, or ``None`` without a marked reference."""
    marks = session.annotation
    known = marks.reference.finished()
    scale = session.radiograph.scale
    square = scale.row_mm == scale.column_mm
    if known is None or not square:
        return None
    side = known.length_mm / fit_curve(known.path_px).length
    rows, columns = session.radiograph.shape
    start = np.array([0.97 * rows, 0.04 * columns])
    return np.linspace(start, start + np.array([0.0, BAR_MM / side]), 9)


def _rgba(colour: str) -> FloatArray:
    return np.array([int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)] + [1.0])
