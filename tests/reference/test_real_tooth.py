"""A real tooth whose length is printed in its own figure: a test of the plumbing, not of accuracy.

Haberthür, Hlushchuk, Wolf: Automated segmentation and description of the internal morphology of human permanent
teeth by means of micro-CT, BMC Oral Health 2021, doi 10.1186/s12903-021-01551-x; figure Tooth036.ExtractedSlices,
CC BY 4.0. Voxels of 10 µm. The axis beside its coronal projection has a tick every 500 voxels; the projection
carries a bar of 1 mm. The bar is our reference, the axis is the outside truth.
"""

from __future__ import annotations

import json
from importlib import resources
from pathlib import Path

import numpy as np
import pytest

from radlength.imaging import read_radiograph
from radlength.length import Canal, Estimate, estimate_length
from radlength.scale import Reference
from radlength.uncertainty import Marking

FIGURE = Path(__file__).parents[2] / "fixtures" / "images" / "Tooth036.ExtractedSlices.png"
VOXEL_MM = 0.010
TICK_VOXELS = 500
LEFT, RIGHT, TOP, BOTTOM = 312, 467, 56, 625
"""Columns and rows of the coronal projection in the figure, frame included."""


@pytest.fixture(scope="module")
def figure() -> np.ndarray:
    return read_radiograph(FIGURE).stored


@pytest.fixture(scope="module")
def axis_mm_per_px(figure: np.ndarray) -> float:
    """Read the axis: dark ticks in the white column just left of the projection."""
    ticks = np.nonzero(figure[TOP : BOTTOM + 1, LEFT - 2] < 0.5 * figure.max())[0] + TOP
    steps = np.diff(ticks)
    assert len(ticks) == 5
    assert steps.min() == steps.max()
    return float(TICK_VOXELS * VOXEL_MM / steps[0])


def _bar(figure: np.ndarray) -> list[tuple[float, float]]:
    """Return the outer edges of the drawn bar: the longest white run of the projection."""
    panel = figure[TOP : BOTTOM + 1, LEFT : RIGHT + 1]
    white = panel == figure.max()
    row = int(white.sum(axis=1).argmax()) + 1
    columns = np.nonzero(white[row])[0] + LEFT
    assert columns[-1] - columns[0] + 1 == len(columns)
    return [(float(row + TOP), columns[0] - 0.5), (float(row + TOP), columns[-1] + 0.5)]


def _measured(path: list[tuple[float, float]], bar: list[tuple[float, float]]) -> Estimate:
    """One pixel of the figure is 0.04 mm: the bar, drawn in whole pixels, is known to no better than that."""
    reference = Reference(path_px=bar, length_mm=1.0, limit_mm=0.04, placement="beside")
    marking = Marking(apex_mm=0.05, stop_mm=0.05, tip_mm=0.005, path_mm=0.05)
    return estimate_length(Canal(tooth="33", name="single", path_px=path), reference, marking=marking)


def _bar_limit_mm(estimate: Estimate) -> float:
    """95 % from the bar alone: its length and its two ends, nothing of the projection geometry."""
    parts = {line.name: line.u_mm for line in estimate.budget.lines}
    ends = [u for name, u in parts.items() if "of the reference" in name]
    assert len(ends) == 2
    return float(1.96 * np.hypot(parts["reference length"], np.hypot(*ends)))


def test_tooth_length_agrees_with_the_axis(
    figure: np.ndarray, axis_mm_per_px: float, capsys: pytest.CaptureFixture[str]
) -> None:
    """The projection runs from voxel 0 to about voxel 2390: 23.9 mm of tooth, top to bottom."""
    middle = (LEFT + RIGHT) / 2
    estimate = _measured([(TOP - 0.5, middle), (BOTTOM + 0.5, middle)], _bar(figure))
    true_mm = (BOTTOM - TOP + 1) * axis_mm_per_px
    limit_mm = _bar_limit_mm(estimate)
    length_mm = estimate.canal_length.value_mm
    with capsys.disabled():
        print(
            f"\n  tooth 036: axis {true_mm:.2f} mm, by the bar {length_mm:.2f} ±{limit_mm:.2f} mm (bar alone)"
        )
    assert true_mm == pytest.approx(23.9, abs=0.1)
    assert abs(length_mm - true_mm) <= limit_mm
    assert limit_mm < 1.5


def test_chord_of_the_demo_marks_agrees_with_the_axis(axis_mm_per_px: float) -> None:
    raw = json.loads(
        resources.files("radlength").joinpath("demo", "tooth036-projection.marks.json").read_text("utf-8")
    )
    path = [(row, column) for row, column in raw["canals"][0]["path_px"]]
    bar = [(row, column) for row, column in raw["references"][0]["path_px"]]
    estimate = _measured(path, bar)
    true_mm = float(np.hypot(*np.subtract(path[-1], path[0]))) * axis_mm_per_px
    assert abs(estimate.straight_length.value_mm - true_mm) <= _bar_limit_mm(estimate)
    assert estimate.canal_length.low_mm < true_mm < estimate.canal_length.high_mm


def test_bundled_crop_is_the_figure_unchanged(figure: np.ndarray) -> None:
    with resources.as_file(resources.files("radlength").joinpath("demo", "tooth036-projection.png")) as path:
        crop = read_radiograph(path).stored
    assert np.array_equal(crop, figure[TOP : BOTTOM + 1, LEFT : RIGHT + 1])


def test_a_bar_read_ten_percent_wrong_would_be_noticed(figure: np.ndarray, axis_mm_per_px: float) -> None:
    """The check above can fail: it does with a bar three pixels shorter."""
    bar = _bar(figure)
    shorter = [bar[0], (bar[1][0], bar[1][1] - 3)]
    middle = (LEFT + RIGHT) / 2
    estimate = _measured([(TOP - 0.5, middle), (BOTTOM + 0.5, middle)], shorter)
    true_mm = (BOTTOM - TOP + 1) * axis_mm_per_px
    assert abs(estimate.canal_length.value_mm - true_mm) > _bar_limit_mm(estimate)
