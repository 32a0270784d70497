from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from helpers.archive_images import NOON

from radlength.dicom import Decision, DicomError
from radlength.dicom.decision import verifying

ONE = Decision("46 MB", 20.5, "A^Invented", NOON)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"person": ""}, "a decision without a person"),
        ({"person": " ^ "}, "a decision without a person"),
        ({"time": datetime(2026, 1, 2, 12)}, "time has no zone"),  # noqa: DTZ001
        ({"value_mm": 0.0}, "a decided length of 0.0 mm"),
        ({"value_mm": float("nan")}, "a decided length of nan mm"),
        ({"value_mm": 60.0}, "a decided length of 60.0 mm"),
    ],
    ids=["nobody", "separators", "no-zone", "zero", "nan", "too-long"],
)
def test_half_a_decision_is_none(change, words):
    with pytest.raises(DicomError, match=words):
        replace(ONE, **change)


def test_a_document_is_verified_only_where_every_canal_is_decided():
    other = replace(ONE, canal="46 D", person="B^Invented")
    assert verifying([], ["46 MB"]) == ()
    assert verifying([ONE], ["46 MB", "46 D"]) == ()
    assert verifying([other, ONE], ["46 MB", "46 D"]) == (ONE, other)


def test_the_latest_decision_of_a_person_is_the_time_of_verification():
    later = replace(ONE, canal="46 D", time=NOON + timedelta(hours=1))
    assert verifying([later, ONE], ["46 MB", "46 D"]) == (later,)


@pytest.mark.parametrize(
    ("decisions", "words"),
    [([replace(ONE, canal="47 MB")], "no canal '47 MB'"), ([ONE, ONE], "more than one decision for '46 MB'")],
    ids=["elsewhere", "twice"],
)
def test_a_decision_that_fits_no_canal_is_refused(decisions, words):
    with pytest.raises(DicomError, match=words):
        verifying(decisions, ["46 MB"])
