from __future__ import annotations

from dataclasses import replace
from typing import get_args

import pytest
from helpers.estimates import measured

from radlength.finding import Severity
from radlength.imaging import Radiograph
from radlength.length import Estimate
from radlength.report.words import (
    METHODS,
    WEIGHTS,
    between_words,
    canal_words,
    largest_parts,
    scale_words,
    working_words,
)
from radlength.scale import Method


def test_every_way_to_the_scale_and_every_weight_has_words() -> None:
    assert set(METHODS) == set(get_args(Method))
    assert set(WEIGHTS) == set(get_args(Severity))


def test_working_length_or_none(radiograph: Radiograph, estimate: Estimate) -> None:
    assert working_words(estimate)[0] == f"working length {estimate.working_length}"
    assert working_words(measured(radiograph, terminus=None))[0] == "no working length"


def test_the_reference_point_is_named(estimate: Estimate) -> None:
    assert between_words(estimate) == "from the reference point to the marked radiographic apex"
    named = replace(estimate, canal=replace(estimate.canal, reference_point="buccal cusp tip"))
    assert canal_words(named)[1] == "along the curve from buccal cusp tip to the marked radiographic apex"


def test_scale_with_and_without_reference(radiograph: Radiograph, estimate: Estimate) -> None:
    assert scale_words(estimate) == "reference in this canal, 21 ±0.25 mm"
    header = measured(
        Radiograph.from_array(radiograph.stored, row_mm=0.05, column_mm=0.05, meaning="detector"),
        reference=None,
    )
    assert scale_words(header) == "header pitch over a range of magnifications"


def test_a_pitch_that_a_person_stated_is_no_header(radiograph: Radiograph) -> None:
    stated = measured(radiograph.with_stated_pitch(0.05, 0.05), reference=None)
    assert (stated.method, stated.as_dict()["method"]) == ("detector", "detector")
    assert scale_words(stated) == "stated pitch over a range of magnifications"
    told = " ".join(line.basis for line in stated.budget.lines)
    assert "stated pixel spacing at the detector" in told
    assert "header" not in told
    assert not measured(radiograph.with_stated_pitch(0.05, 0.05)).pitch_stated


def test_largest_parts_come_first(estimate: Estimate) -> None:
    shares = [float(part.rsplit(" ", 2)[1]) for part in largest_parts(estimate, 4).split(", ")]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] == pytest.approx(max(estimate.budget.shares_percent), abs=0.5)
