"""The picture of traces in the README: ``python tests/reference/trace_pictures.py fixtures/pictures/traces.png``.

Six canals of development seeds as they come, the last two made hard. Blue the true line, yellow a trusted trace,
orange and dashed one that is not trusted. Above each: what was traced, and the code of what speaks against it.
"""

from __future__ import annotations

import sys
from pathlib import Path

import matplotlib as mpl
import numpy as np

mpl.use("Agg")
import matplotlib.pyplot as plt

sys.path.insert(0, str(Path(__file__).parents[1]))

from helpers.traced_scenes import cases, clicks_mm, deviations_mm, spoilt

from radlength.tracing import trace_canal

SHOWN = (
    (1002, 0, 5, None),
    (1011, 0, 3, None),
    (1003, 0, 5, None),
    (1028, 3, 3, None),
    (1006, 0, 5, "wrong click"),
    (1001, 0, 5, "noise"),
)
"""Seed, number of the canal, clicks, and how it is made hard."""
MARGIN_MM = 2.5
BLUE, YELLOW, ORANGE = "#56b4e9", "#e8c400", "#d55e00"


def panel(axis, seed, number, count, how):
    """Draw one canal with its trace."""
    case, rng = cases(seed)[number], np.random.default_rng((5, seed))
    clicks, radiograph = clicks_mm(case, count, rng), case.radiograph
    if how:
        radiograph, clicks = spoilt(case, clicks, how, rng)
    found = trace_canal(radiograph, clicks / case.pixel_mm)
    off = deviations_mm(found.path_px * case.pixel_mm, case.truth_mm).max()
    axis.imshow(radiograph.stored, cmap="gray")
    for line, colour, width, style in (
        (case.truth_mm / case.pixel_mm, BLUE, 2.2, "-"),
        (found.path_px, YELLOW if found.trusted else ORANGE, 1.2, "-" if found.trusted else "--"),
    ):
        axis.plot(line[:, 1], line[:, 0], style, color=colour, linewidth=width)
    axis.plot(*(clicks / case.pixel_mm).T[::-1], "o", color="white", markersize=3)
    low, high = (np.array([edge(clicks[:, side]) for side in (0, 1)]) for edge in (np.min, np.max))
    middle, half = (low + high) / 2, (high - low).max() / 2 + MARGIN_MM
    for limit, centre, part in ((axis.set_ylim, middle[0], 1.0), (axis.set_xlim, middle[1], 0.42)):
        ends = np.array([centre - part * half, centre + part * half]) / case.pixel_mm
        limit(*(ends if part < 1 else ends[::-1]))
    codes = [one.code.removeprefix("trace-") for one in found.findings if one.severity != "note"]
    told = codes[0] if codes else "trusted"
    kind = case.kind.replace("_", " ")
    axis.set_title(f"{kind}, {count} clicks\n{told}, {off:.2f} mm off", fontsize=9)
    axis.set_axis_off()


def main():
    figure, axes = plt.subplots(1, len(SHOWN), figsize=(11.5, 4.0), layout="constrained")
    for axis, shown in zip(axes, SHOWN, strict=True):
        panel(axis, *shown)
    figure.savefig(sys.argv[1], dpi=85, pil_kwargs={"optimize": True})


if __name__ == "__main__":
    main()
