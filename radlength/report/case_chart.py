"""The time line of a canal as a drawing: lengths at one end point with their intervals, and the decision."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

import numpy as np

from radlength.clean import clean
from radlength.quantity import Quantity
from radlength.record import Case
from radlength.record.case_state import OF_IMAGES, CanalState, decided_at_apex
from radlength.report.catalogue import Words
from radlength.report.charts import BAR, GRID, INK, NAME, OTHER, WIDE
from radlength.report.colours import Colour
from radlength.report.drawing import Drawing

TOP, BOTTOM, HIGH = 18.0, 104.0, 138.0
LEFT = 42.0
THIRD: Colour = (90, 90, 96)
Sign = Literal["image", "locator", "other", "decision"]


@dataclass(frozen=True, slots=True)
class Station:
    """A length in the chart."""

    when: date
    number: int
    length: Quantity
    sign: Sign


def case_chart(case: Case, state: CanalState, words: Words) -> Drawing:
    """Return the lengths of a canal to the radiographic apex, in the order of the work.

    Each kind of method has its own sign, colour only repeats it; the decision is a line across.
    """
    stations = _stations(case, state)
    label = clean(state.label, 60)
    alt = words("case_chart_alt", count=len(stations), label=label)
    drawing = Drawing((0, 0, WIDE, HIGH), alt)
    drawing.label((0, 8), words("case_chart", label=label), 8, INK, bold=True)
    if not stations:
        drawing.label((0, 24), words("case_not_converted"), 7.5, INK)
        return drawing
    low = float(np.floor(min(one.length.low for one in stations)))
    high = max(float(np.ceil(max(one.length.high for one in stations))), low + 1)
    _axis(drawing, low, high)
    places = np.linspace(LEFT + 14, WIDE - 16, len(stations)) if len(stations) > 1 else [WIDE / 2]
    _points(drawing, stations, [float(place) for place in places], low, high)
    _legend(drawing, {one.sign for one in stations}, words)
    return drawing


def _stations(case: Case, state: CanalState) -> list[Station]:
    moved = state.side_by_side.at_apex if state.side_by_side else ()
    stations = [
        Station(case.day_of(event), event.number, one.length, _sign(event.method))
        for event, one in zip(state.lengths, moved, strict=True)
        if one is not None
    ]
    decided = decided_at_apex(case, state.label)
    if decided is not None and state.decision is not None:
        stations.append(Station(state.decision.entered.date(), state.decision.number, decided, "decision"))
    return stations


def _sign(method: str) -> Sign:
    if method in OF_IMAGES:
        return "image"
    return "locator" if method == "apex locator" else "other"


def _y(value: float, low: float, high: float) -> float:
    return BOTTOM - (BOTTOM - TOP) * (value - low) / (high - low)


def _axis(drawing: Drawing, low: float, high: float) -> None:
    step = max(1.0, float(np.ceil((high - low) / 6)))
    for value in np.arange(low, high + 1e-9, step):
        y = _y(float(value), low, high)
        drawing.line([(LEFT, y), (WIDE, y)], GRID, 0.4)
        drawing.label((LEFT - 4, y + 2.5), f"{value:.0f} mm", 6.5, INK, anchor="end")


def _points(
    drawing: Drawing, stations: Sequence[Station], places: Sequence[float], low: float, high: float
) -> None:
    free, day = 0.0, ""
    for one, x in zip(stations, places, strict=True):
        ends = [(x, _y(value, low, high)) for value in (one.length.low, one.length.high)]
        drawing.line(ends, COLOURS[one.sign], 0.9)
        _mark(drawing, x, _y(one.length.value, low, high), one.sign)
        drawing.label((x, BOTTOM + 8), str(one.number), 6.5, INK, anchor="middle")
        told, middle = f"{one.when:%Y-%m-%d}", min(x, WIDE - 19)
        if told != day and middle - 18 >= free:
            drawing.label((middle, BOTTOM + 16), told, 6.5, INK, anchor="middle")
            free, day = middle + 20, told


COLOURS: dict[Sign, Colour] = {"image": BAR, "locator": OTHER, "other": THIRD, "decision": INK}


def _mark(drawing: Drawing, x: float, y: float, sign: Sign) -> None:
    colour = COLOURS[sign]
    if sign == "image":
        angles = np.linspace(0, 2 * np.pi, 13)[:-1]
        drawing.area([(x + 2.6 * np.cos(a), y + 2.6 * np.sin(a)) for a in angles], colour)
    elif sign == "locator":
        drawing.area([(x - 2.4, y - 2.4), (x + 2.4, y - 2.4), (x + 2.4, y + 2.4), (x - 2.4, y + 2.4)], colour)
    elif sign == "other":
        drawing.area([(x, y - 3.2), (x + 3, y + 2.2), (x - 3, y + 2.2)], colour)
    else:
        drawing.line([(x - 5, y), (x + 5, y)], colour, 1.4)
        drawing.line([(x, y - 4), (x + 4, y), (x, y + 4), (x - 4, y), (x, y - 4)], colour, 1.1)


def _legend(drawing: Drawing, signs: set[Sign], words: Words) -> None:
    names: tuple[tuple[Sign, str], ...] = (
        ("image", "case_image_based"),
        ("locator", "case_apex_locator"),
        ("other", "case_other_method"),
        ("decision", "case_decision_mark"),
    )
    left = LEFT
    for sign, key in names:
        if sign in signs:
            _mark(drawing, left + 4, HIGH - 6, sign)
            name = words(key)
            drawing.label((left + 11, HIGH - 3.5), name, NAME, INK)
            left += 19 + 0.62 * NAME * len(name)
