"""A correction corrects something, and what was taken out of a case is no doubt any more."""

from datetime import timedelta

import pytest
from helpers.made_case import NOON, with_canal, with_length

from radlength.errors import RecordError
from radlength.record import correct_length, withdraw_length
from radlength.record.case_findings import case_findings


def test_a_correction_that_corrects_nothing_is_refused():
    case = with_length(with_canal())
    with pytest.raises(RecordError, match="nothing of length 3 is put right; another value, limit or canal"):
        correct_length(case, 3, why="no reason", when=NOON)
    assert correct_length(case, 3, value_mm=20.0, why="misread", when=NOON).lengths("46 MB")[0].number == 4


def test_a_wrong_date_that_was_withdrawn_is_no_doubt_any_more():
    case = with_length(with_canal(), measured=NOON + timedelta(days=400))
    assert "case-time-ahead" in [finding.code for finding in case_findings(case)]
    gone = withdraw_length(case, 3, why="wrong year", when=NOON)
    assert "case-time-ahead" not in [finding.code for finding in case_findings(gone)]
