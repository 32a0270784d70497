"""Published and recomputed worked examples of length determination.

Sources: rule of three (Grossman; Best; Bregman with a 10 mm blade) - formula published, numbers recomputed; the
stepwise radiographic method (Ingle & Bakland, figure legend, from memory; the steps are published); subtraction by
resorption (Weine, in Grossman's Endodontic Practice, 13th ed.); repeat rule (Grossman 13th ed.); magnification
M = SID/SOD (radiography texts), table recomputed.
"""

import math

import GTC
import numpy as np
import pytest
from uncertainties import ufloat

from radlength.imaging import Radiograph
from radlength.length import Canal, Terminus, confirm_length, estimate_length
from radlength.scale import Reference
from radlength.uncertainty import Budget, BudgetLine, Marking


def ratio(instrument_mm, instrument_image, tooth_image, **options):
    return estimate_length(
        Canal(tooth="11", name="single", path_px=[(0, 0), (tooth_image, 0)]),
        Reference(path_px=[(0, 0), (instrument_image, 0)], length_mm=instrument_mm, limit_mm=0.25),
        **options,
    )


def test_rule_of_three():
    """Instrument 20.0 shows 21.0, tooth shows 23.1: 22.00 mm, M 1.0500, face value 1.10 mm long."""
    estimate = ratio(
        20.0,
        210,
        231,
        terminus=Terminus(offset_mm=1.0),
        radiograph=Radiograph.from_array(np.zeros((300, 9), np.uint8), row_mm=0.1, column_mm=0.1),
    )
    assert estimate.canal_length.value_mm == pytest.approx(22.00, abs=1e-9)
    assert estimate.working_length.value_mm == pytest.approx(21.00, abs=1e-9)
    assert estimate.magnification.value == pytest.approx(1.0500, abs=1e-9)
    assert 23.1 - estimate.canal_length.value_mm == pytest.approx(1.10, abs=1e-9)


def test_ten_millimetre_blade():
    """A blade of 10.0 shows 11.0, the tooth 23.1: 21.00 mm."""
    assert ratio(10.0, 110, 231).canal_length.value_mm == pytest.approx(21.00, abs=1e-9)


def test_stepwise_method():
    """Image 23, tentative 22, the file 1.5 short: 23.5, less 1.0: 22.5 mm."""
    tentative = 23.0 - 1.0
    done = confirm_length(
        tentative,
        [(0, 0), (150, 0)],
        mm_per_px=0.01,
        rule="tip within 1 mm",
        terminus=Terminus(offset_mm=1.0),
    )
    assert done.canal_length.value_mm == pytest.approx(23.5)
    assert done.working_length.value_mm == pytest.approx(22.5)


def test_gap_method_with_magnification():
    """Set 21.0, tip 1.80 short on the image, M 1.05: gap 1.714, apex 22.714, terminus 21.714 mm."""
    done = confirm_length(
        21.0,
        [(0, 0), (180, 0)],
        mm_per_px=0.01 / 1.05,
        rule="tip within 1 mm",
        terminus=Terminus(offset_mm=1.0),
    )
    assert done.gap.value_mm == pytest.approx(1.714, abs=5e-4)
    assert done.canal_length.value_mm == pytest.approx(22.714, abs=5e-4)
    assert done.working_length.value_mm == pytest.approx(21.714, abs=5e-4)


@pytest.mark.parametrize(
    ("observation", "working"), [("none", 21.0), ("bone", 20.5), ("bone and root", 20.0)], ids=str
)
def test_subtraction_by_resorption(observation, working):
    terminus = Terminus(table="apex offset by resorption", observation=observation)
    assert ratio(20.0, 200, 220, terminus=terminus).working_length.value_mm == pytest.approx(working)


@pytest.mark.parametrize(
    ("gap_px", "beyond", "verdict"),
    [
        (40, False, "adjust"),
        (50, False, "accept"),
        (100, False, "accept"),
        (101, False, "repeat"),
        (20, True, "repeat"),
    ],
    ids=str,
)
def test_repeat_rule(gap_px, beyond, verdict):
    """0.4 adjust; 0.5 and 1.0 accept; 1.01 adjust and take again; beyond: subtract and take again."""
    done = confirm_length(21.0, [(0, 0), (gap_px, 0)], mm_per_px=0.01, rule="tip within 1 mm", beyond=beyond)
    assert done.verdict == verdict


MAGNIFICATION = [
    (203.2, 5, 1.0252), (203.2, 10, 1.0518), (203.2, 20, 1.1092), (203.2, 25, 1.1403),
    (304.8, 5, 1.0167), (304.8, 10, 1.0339), (304.8, 20, 1.0702), (304.8, 25, 1.0893),
    (406.4, 5, 1.0125), (406.4, 10, 1.0252), (406.4, 20, 1.0518), (406.4, 25, 1.0655),
]  # fmt: skip


@pytest.mark.parametrize(("sid", "oid", "printed"), MAGNIFICATION, ids=str)
def test_magnification_from_source_and_object_distance(sid, oid, printed):
    """A 20 mm instrument at object distance `oid` on a detector of 0.1 mm pixels."""
    shown_px = 200 * sid / (sid - oid)
    estimate = ratio(
        20.0,
        shown_px,
        shown_px * 1.1,
        radiograph=Radiograph.from_array(np.zeros((300, 9), np.uint8), row_mm=0.1, column_mm=0.1),
    )
    assert estimate.magnification.value == pytest.approx(printed, abs=5e-5)
    assert estimate.canal_length.value_mm == pytest.approx(22.0)


def test_twelve_straight_and_a_sharp_bend_read_short_as_a_chord():
    """12 mm straight, then 60 degrees at radius 5 mm: 17.236 along, 16.520 straight (recomputed)."""
    s = np.linspace(0, 12 + 5 * math.pi / 3, 14)
    turned = np.clip(s - 12, 0, None) / 5
    path = np.column_stack([np.minimum(s, 12) + 5 * np.sin(turned), 5 * (1 - np.cos(turned))]) * 40
    estimate = estimate_length(
        Canal(tooth="46", name="MB", path_px=path),
        Reference(path_px=[(0, 0), (400, 0)], length_mm=10.0, limit_mm=0.0, placement="beside"),
    )
    assert estimate.canal_length.value_mm == pytest.approx(17.236, abs=0.03)
    assert estimate.straight_length.value_mm == pytest.approx(16.520, abs=1e-3)


def budget_of_the_ratio():
    """Instrument 20.0 ±0.25 read, shows 21.0 u 0.1; tooth shows 23.1 u 0.1, marks independent."""
    end = 0.1 / math.sqrt(2)
    factor = 20.0 / 21.0
    estimate = estimate_length(
        Canal(tooth="11", name="single", path_px=[(0, 10), (231, 10)]),
        Reference(path_px=[(0, 0), (210, 0)], length_mm=20.0, limit_mm=0.25),
        marking=Marking(apex_mm=end * factor, stop_mm=end * factor, tip_mm=end * factor, path_mm=0),
        radiograph=Radiograph.from_array(np.zeros((300, 90), np.uint8), row_mm=0.1, column_mm=0.1),
    )
    lines = [line for line in estimate.budget.lines if line.distribution != "two arms"]
    return Budget(tuple(lines)), estimate.canal_length.value_mm


def test_ratio_budget_against_the_printed_parts():
    """Parts 0.1588, 0.1048, 0.0952; u 0.2127; U 0.425 mm (recomputed from the GUM)."""
    budget, length = budget_of_the_ratio()
    part = {line.name: line.u_mm for line in budget.lines}
    assert length == pytest.approx(22.0)
    assert part["reference length"] == pytest.approx(0.1588, abs=5e-5)
    shown = math.hypot(part["stop of the reference"], part["tip of the reference"])
    assert shown == pytest.approx(0.1048, abs=5e-5)
    tooth = math.hypot(part["reference point"], part["radiographic apex"])
    assert tooth == pytest.approx(0.0952, abs=5e-5)
    assert budget.u_mm == pytest.approx(0.2127, abs=5e-5)
    assert 2 * budget.u_mm == pytest.approx(0.425, abs=5e-4)


def test_ratio_budget_against_two_libraries():
    budget, _ = budget_of_the_ratio()
    limit = 0.25 / math.sqrt(3)
    by_uncertainties = ufloat(20.0, limit) * ufloat(23.1, 0.1) / ufloat(21.0, 0.1)
    by_gtc = GTC.ureal(20.0, limit) * GTC.ureal(23.1, 0.1) / GTC.ureal(21.0, 0.1)
    assert budget.u_mm == pytest.approx(by_uncertainties.std_dev, rel=1e-6)
    assert budget.u_mm == pytest.approx(GTC.uncertainty(by_gtc), rel=1e-6)


def test_a_shared_coronal_mark_against_uncertainties():
    """The mark moves both lengths: with the covariance the budget is smaller."""
    end = 0.1 / math.sqrt(2)
    factor = 20.0 / 21.0
    estimate = ratio(
        20.0,
        210,
        231,
        marking=Marking(apex_mm=end * factor, stop_mm=end * factor, tip_mm=end * factor, path_mm=0),
    )
    lines = [line for line in estimate.budget.lines if line.distribution != "two arms"]
    coronal, tip, apex = (ufloat(0.0, 10 * end) for _ in range(3))
    length = ufloat(20.0, 0.25 / math.sqrt(3)) * (231 + apex - coronal) / (210 + tip - coronal)
    assert Budget(tuple(lines)).u_mm == pytest.approx(length.std_dev, rel=1e-6)


def test_first_order_line_names_are_unique():
    budget, _ = budget_of_the_ratio()
    names = [line.name for line in budget.lines]
    assert len(names) == len(set(names))
    assert all(isinstance(line, BudgetLine) for line in budget.lines)
