"""Two small charts as drawings: the parts of the uncertainty, and kept lengths over time."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from radlength.clean import clean
from radlength.length import Estimate
from radlength.record.models import StoredLength
from radlength.report.catalogue import Words
from radlength.report.colours import Colour
from radlength.report.content import budget_parts
from radlength.report.drawing import Drawing
from radlength.report.events import Event

INK: Colour = (30, 30, 36)
GRID: Colour = (190, 192, 198)
BAR: Colour = (0, 114, 178)
OTHER: Colour = (170, 70, 0)
"""Blue and vermilion after Okabe and Ito (2008), darker, to stand on white."""
WIDE = 260.0
ROW = 13.0
NAME = 6.5


MOST_PARTS = 5


def budget_chart(estimate: Estimate, words: Words) -> Drawing:
    """Return bars of the largest shares of one canal's uncertainty, each with its figure."""
    parts = budget_parts(estimate)[:MOST_PARTS]
    told = ", ".join(f"{name} {share:.0f} %" for name, share, _ in parts)
    name = clean(estimate.canal.label, 40)
    drawing = Drawing((0, 0, WIDE, ROW * (len(parts) + 1)), words("budget_alt", label=name, parts=told))
    drawing.label((0, 9), name, 8, INK, bold=True)
    for row, (part, share, u_mm) in enumerate(parts, 1):
        top = row * ROW
        drawing.label((0, top + 9), part, 7.5, INK)
        end = 114 + 0.8 * share
        drawing.area([(114, top + 2), (end, top + 2), (end, top + 10), (114, top + 10)], BAR)
        drawing.label((end + 3, top + 9), f"{share:.0f} % · {u_mm:.2f} mm", 7.5, INK)
    return drawing


def time_chart(events: Sequence[Event], tooth: str, words: Words) -> Drawing:
    """Return kept lengths by date with their intervals.

    Working lengths are filled circles, canal lengths open diamonds: two things that must not be mixed up.
    """
    drawing = Drawing((0, 0, WIDE, 120), words("time_alt", count=len(events), tooth=tooth))
    kept = [length for e in events for length in (e.canal_length, e.working_length) if length]
    low = float(np.floor(min(length.low_mm for length in kept)))
    high = float(np.ceil(max(length.high_mm for length in kept)))
    _axis(drawing, low, high)
    stations = _stations(events)
    _names(drawing, events, stations, lambda length: _y(length.high_mm, low, high))
    for event, x in zip(events, stations, strict=True):
        for length, shift, working in ((event.canal_length, -2.5, False), (event.working_length, 2.5, True)):
            if length is None:
                continue
            ends = [(x + shift, _y(v, low, high)) for v in (length.low_mm, length.high_mm)]
            colour = BAR if working else OTHER
            drawing.line(ends, colour, 0.8)
            _mark(drawing, x + shift, _y(length.value_mm, low, high), working=working)
    _days(drawing, events, stations)
    for left, key, working in ((30, "working_length", True), (110, "canal_length", False)):
        _mark(drawing, left, 115, working=working)
        drawing.label((left + 5, 117.5), words(key), 6.5, INK)
    return drawing


def _names(
    drawing: Drawing,
    events: Sequence[Event],
    stations: Sequence[float],
    top: Callable[[StoredLength], float],
) -> None:
    """Write above each length whose it is, where there are several canals and room between two of them."""
    if len({event.canal for event in events}) < 2:
        return
    free = -np.inf
    for event, x in zip(events, stations, strict=True):
        name = event.canal.rsplit(" ", 1)[-1]
        half = 0.35 * NAME * len(name)
        if x - half < free:
            continue
        free = x + half + 1
        highest = min(top(length) for length in (event.canal_length, event.working_length) if length)
        drawing.label((x, highest - 2), name, NAME, INK, anchor="middle")


def _y(value_mm: float, low: float, high: float) -> float:
    return 92 - 82 * (value_mm - low) / max(high - low, 1.0)


def _axis(drawing: Drawing, low: float, high: float) -> None:
    step = max(1.0, float(np.ceil((high - low) / 5)))
    for value in np.arange(low, high + 1e-9, step):
        y = _y(float(value), low, high)
        drawing.line([(30, y), (WIDE, y)], GRID, 0.4)
        drawing.label((26, y + 2.5), f"{value:.0f} mm", 6.5, INK, anchor="end")


def _stations(events: Sequence[Event]) -> list[float]:
    """Return where each event stands: true to time, pushed apart only where two would cover each other."""
    first, last = events[0].when.timestamp(), events[-1].when.timestamp()
    span = max(last - first, 1.0)
    gap = min(14.0, 200 / len(events))
    stations: list[float] = []
    for number, event in enumerate(events):
        wanted = 45 + 200 * (event.when.timestamp() - first) / span
        room_left = WIDE - 12 - gap * (len(events) - 1 - number)
        stations.append(min(max(wanted, stations[-1] + gap if stations else 0.0), room_left))
    return stations


def _days(drawing: Drawing, events: Sequence[Event], stations: Sequence[float]) -> None:
    free, day = 0.0, ""
    for event, x in zip(events, stations, strict=True):
        anchored = min(x, WIDE - 20)
        if event.day != day and anchored - 18 >= free:
            drawing.label((anchored, 103), event.day, 6.5, INK, anchor="middle")
            free, day = anchored + 20, event.day


def _mark(drawing: Drawing, x: float, y: float, *, working: bool) -> None:
    if working:
        angles = np.linspace(0, 2 * np.pi, 13)[:-1]
        drawing.area([(x + 2.2 * np.cos(a), y + 2.2 * np.sin(a)) for a in angles], BAR)
        return
    drawing.line([(x, y - 3), (x + 3, y), (x, y + 3), (x - 3, y), (x, y - 3)], OTHER, 1)
