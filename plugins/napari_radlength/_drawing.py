"""What is drawn of a session besides the points: lines with their direction, lengths at the apex, a bar of 10 mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import count

import numpy as np
from numpy.typing import NDArray

from napari_radlength._convert import curve_line, steps_of
from napari_radlength._palette import DOUBT, OTHER, OUTLINE, REFERENCE, canal_colour, ink
from radlength.geometry import fit_curve
from radlength.session import Session

FloatArray = NDArray[np.float64]
BAR_MM = 10
ARROW = 1.2
"""Arrow head, in sizes of a point."""
PADDED_TO = 64
BELOW = 3.4
"""Middle of two lines of words below their apex, in sizes of a point: they stay off its mark in the smallest window."""

LINE, LETTER = 1.25, 0.65
"""Half the height of a line and half the width of a letter in that window, in sizes of a point."""
BETWEEN = 0.8
"""Room between two words below or beside each other, in sizes of a point: which canal each is of has to be seen."""
GAP_POINTS = 10
"""A gap is short: more would leave no dashes to see."""
ASIDE = (0, *(side * step for step in range(1, 17) for side in (-1, 1)))
"""How far words are moved aside before they are moved down, in sizes of a point."""
FAR, BESIDE = 8, 4
"""How far down words look for a place on the image, and how far beside it they may stand then, in sizes of a point."""


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """Lines as vectors with a colour each, and words with their places.

    Parameters
    ----------
    steps
        Starts and steps, shape (N, 2, 2), pixels.
    colours
        RGBA of each step, shape (N, 4).
    words, places, inks
        Words, the (row, column) of their middle, shape (M, 2), and their colours: a light one of their canal.
    """

    steps: FloatArray
    colours: FloatArray
    words: tuple[str, ...]
    places: FloatArray
    inks: tuple[str, ...] = ()


def drawn(session: Session, size_px: float) -> Drawing:
    """Return what to draw of a session besides its current canal and reference.

    Parameters
    ----------
    session
        What is marked.
    size_px
        Size of a point in pixels of the image.
    """
    marks = session.annotation
    lines: list[_Line] = [
        (curve_line(one.path_px, 40), REFERENCE, 0, 0.0)
        for n, one in enumerate(marks.references)
        if n != marks.reference_index
    ]
    lines += [
        (curve_line(one.path_px), canal_colour(n, one.colour), 0, ARROW * size_px)
        for n, one in enumerate(marks.canals)
        if n != marks.current and not one.hidden
    ]
    if session.other_marks is not None:
        other = session.other_marks
        paths = [one.path_px for one in other.references] + [one.path_px for one in other.canals]
        curves = [curve_line(path, 40) for path in paths]
        lines += [(curve, colour, dash, 0.0) for curve in curves for dash, colour in enumerate(OTHER)]
    lines += [(gap, colour, dash, 0.0) for gap in _gaps(session) for dash, colour in enumerate(OTHER)]
    bar = _bar(session)
    words, places, inks = _lengths(session)
    places = [(row + BELOW * size_px, column) for row, column in places]
    wide = session.radiograph.shape[1]
    if bar is None:
        places = _apart(words, places, size_px, wide)
    else:
        lines.append((bar, "#ffffff", 0, 0.0))
        said = f"{BAR_MM} mm by {session.annotation.reference.name}"
        above = float(bar[4, 0]) - (LINE + 0.5) * size_px, float(bar[4, 1])
        first, *places = _apart([said, *words], [above, *places], size_px, wide)
        places = [*places, first]
        words, inks = [*words, said], [*inks, "#ffffff"]
    steps, colours = _vectors(lines)
    where = np.asarray(places, dtype=np.float64).reshape(-1, 2)
    return Drawing(steps, colours, tuple(words), where, tuple(inks))


def drawn_outline(sides: Sequence[FloatArray]) -> tuple[FloatArray, FloatArray]:
    """Return lines of a prepared outline, (row, column) pixels each, as vectors with colours."""
    return _vectors([(side, OUTLINE, 0, 0.0) for side in sides])


def drawn_current(
    session: Session, size_px: float, dragged: Sequence[float] | None = None
) -> tuple[FloatArray, FloatArray]:
    """Return the current canal and reference as vectors with colours: all that a drag changes.

    Parameters
    ----------
    session
        What is marked.
    size_px
        Size of a point in pixels of the image.
    dragged
        (row, column) of the point in the hand, drawn as a cross; its old place still shows the point.
    """
    marks, found = session.annotation, session.proposal
    reference, canal = marks.reference, marks.canal
    own = canal_colour(marks.current, canal.colour)
    lines: list[_Line] = []
    if found is None or found.what != "reference":
        lines.append((curve_line(reference.path_px, 40), REFERENCE, 0, 0.0))
    if not canal.hidden and (found is None or found.what != "canal"):
        lines.append((curve_line(canal.path_px, 60), own, 0, ARROW * size_px))
    if found is not None:
        colour = REFERENCE if found.what == "reference" else own
        line = found.line_px[:: max(len(found.line_px) // 80, 1)]
        lines.append((line, colour if found.trusted else DOUBT, 3 if found.trusted else 1, ARROW * size_px))
    if dragged is not None:
        here = np.asarray(dragged)
        ways = np.eye(2) * size_px
        lines += [(np.stack([here - way, here + way]), "#ffffff", 0, 0.0) for way in ways]
    return _vectors(lines)


def padded(steps: FloatArray, colours: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return vectors with the last one repeated up to a multiple of 64: a count that changes costs a layer much.

    Examples
    --------
    >>> [part.shape for part in padded(np.ones((70, 2, 2)), np.ones((70, 4)))]
    [(128, 2, 2), (128, 4)]
    """
    missing = -len(steps) % PADDED_TO
    if not missing:
        return steps, colours
    return np.pad(steps, ((0, missing), (0, 0), (0, 0)), "edge"), np.pad(
        colours, ((0, missing), (0, 0)), "edge"
    )


_Line = tuple[FloatArray | None, str, int, float]


def _vectors(lines: list[_Line]) -> tuple[FloatArray, FloatArray]:
    steps, colours = [np.empty((0, 2, 2))], [np.empty((0, 4))]
    for line, colour, dash, arrow in lines:
        if line is not None and len(line) > 1:
            steps.append(steps_of(line, dash=dash, arrow=arrow))
            colours.append(np.tile(_rgba(colour), (len(steps[-1]), 1)))
    return np.concatenate(steps), np.concatenate(colours)


def _gaps(session: Session) -> list[FloatArray | None]:
    """Return the gap of every length confirmation that was read on the marks as they are shown."""
    canals = enumerate(session.annotation.canals)
    found = [session.confirmation(n) for n, canal in canals if not canal.hidden]
    return [curve_line(one.stored.gap_path_px, GAP_POINTS) for one in found if one is not None and one.holds]


def _lengths(session: Session) -> tuple[list[str], list[tuple[float, float]], list[str]]:
    """Return the length of every canal, labelled, where its apex is, and the colour of the words."""
    words, places, inks = [], [], []
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
        inks.append(ink(canal_colour(n, canal.colour)))
    return words, places, inks


def _apart(
    words: Sequence[str], places: Sequence[tuple[float, float]], size_px: float, columns: int
) -> list[tuple[float, float]]:
    """Return the middles of words moved aside a little, or down, until none lies on another; the first one stays.

    None begins or ends beside an image of that many columns that has room for it near its place.
    """
    moved: list[tuple[float, float]] = []
    for said, (row, column) in zip(words, places, strict=True):
        moved.append(
            next(
                (row + down * size_px, at)
                for downs, edges in ((range(FAR), (0,)), (count(), (0, BESIDE)))
                for down in downs
                for edge in edges
                for aside in ASIDE
                for at in (_inside(said, column + aside * size_px, size_px, columns, edge),)
                if not any(
                    _meet(said, other, down + (row - r) / size_px, (at - c) / size_px)
                    for other, (r, c) in zip(words, moved, strict=False)
                )
            )
        )
    return moved


def _meet(said: str, other: str, down: float, aside: float) -> bool:
    """Tell whether two words so far apart, in sizes of a point, would lie on one another."""
    lines = said.split("\n"), other.split("\n")
    high = LINE * sum(max(len(one), 2) for one in lines) + BETWEEN  # a length may still come below a name
    wide = _half(said) + _half(other) + BETWEEN
    return abs(down) < high and abs(aside) < wide


def _inside(said: str, column: float, size_px: float, columns: int, edge: float) -> float:
    """Return the column of the middle of words, moved into an image that has room for them, or so far beside it."""
    half = _half(said) * size_px
    if 2 * half > columns - 1:
        return column
    half -= edge * size_px
    return min(max(column, half), columns - 1 - half)


def _half(said: str) -> float:
    """Return half the width of words, in sizes of a point."""
    return LETTER * max(map(len, said.split("\n")))


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
