"""Why a record with a confirmation is not confirmed: one reason a canal, none where it is."""

from dataclasses import replace

import pytest
from helpers.records import GAP, NOON, PATH, canal, radiograph, small_record

from radlength.length import Terminus, confirm_length
from radlength.record.compare import compare_record
from radlength.record.confirmed import why_not_confirmed
from radlength.record.models import CONFIRMED

IMAGE = radiograph()
TERMINUS = Terminus(offset_mm=1.0)


def confirmed(verdict="accept"):
    record = small_record(IMAGE)
    done = confirm_length(21.0, GAP, mm_per_px=0.025, rule="tip within 1 mm")
    return record.with_confirmation(record.canals[0].id, replace(done, verdict=verdict), GAP, when=NOON)


def test_no_confirmation_and_one_that_holds_need_no_reason():
    assert why_not_confirmed(vars(small_record(IMAGE))) == {}
    assert confirmed().status == CONFIRMED
    assert why_not_confirmed(vars(confirmed())) == {}


@pytest.mark.parametrize(
    ("record", "label", "words"),
    [
        (confirmed("repeat"), "46 MB", "of 2026-01-02 was not accepted: repeat."),
        (
            confirmed().with_canal(canal(name="D"), reference="file in MB"),
            "46 D",
            "was not confirmed on an image",
        ),
        (
            confirmed().with_canal(
                canal(path=PATH[:-1]), reference="file in MB", terminus=Terminus(offset_mm=1.0)
            ),
            "46 MB",
            "on older marks",
        ),
    ],
    ids=["repeat", "another canal", "other marks"],
)
def test_each_reason_is_said_in_check_too(record, label, words):
    why = why_not_confirmed(vars(record))
    assert list(why) == [label]
    assert words in why[label]
    rows = {row["canal"]: row for row in compare_record(record, IMAGE)}
    assert rows[label]["not_confirmed"] == why[label]
