"""Findings that stand or fall by one condition, each tried on both sides of it."""

import numpy as np
import pytest

from radlength.length import Canal, estimate_length
from radlength.scale import Reference
from radlength.uncertainty import Marking


def codes(tooth):
    path = [(row * 40.0, 100.0) for row in np.linspace(0.0, 20.0, 8)]
    tool = Reference([(0.0, 100.0), (19.0 * 40.0, 100.0)], 19.0, 0.1, canal="MB")
    return {finding.code for finding in estimate_length(Canal(tooth, "MB", path), tool).findings}


@pytest.mark.parametrize(
    ("tooth", "told"),
    [("46", True), ("35", True), ("14", True), ("43", False), ("11", False), ("74", False), ("85", False)],
)
def test_the_caution_of_back_teeth_is_about_permanent_premolars_and_molars(tooth, told):
    """ISO 3950: second figure 4 to 8 in quadrants 1 to 4; 5 to 8 are the quadrants of milk teeth."""
    assert ("posterior" in codes(tooth)) is told


def trembling(off_mm, **marking):
    """A straight canal of 20 mm with clicks to either side by turns."""
    rows = np.linspace(0.0, 20.0, 13)
    aside = off_mm * np.array([0.0, *[(-1.0) ** n for n in range(11)], 0.0])
    path = np.column_stack([rows, 2.5 + aside]) * 40.0
    tool = Reference([(0.0, 100.0), (19.0 * 40.0, 100.0)], 19.0, 0.1, canal="MB")
    found = estimate_length(Canal("11", "MB", path), tool, marking=Marking(**marking))
    return "clicks-scatter" in {finding.code for finding in found.findings}


@pytest.mark.parametrize(
    ("path_mm", "off_mm", "told"),
    [(0.02, 0.12, False), (0.02, 0.18, True), (0.1, 0.12, False), (0.1, 0.25, False), (0.1, 0.55, True)],
)
def test_clicks_scatter_beyond_three_spreads_of_the_hand_and_a_tenth_of_a_millimetre(path_mm, off_mm, told):
    """By turns off by d across, by nothing along: d / √2 a coordinate, a little less beside the fitted curve."""
    assert trembling(off_mm, path_mm=path_mm) is told
