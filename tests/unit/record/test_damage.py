"""A hundred thousand damaged files: refused, or read as they were; never another number."""

import random

import pytest
from helpers.records import full_record

from radlength.errors import RecordError
from radlength.record import dump_record, parse_record

RECORD = full_record()
WHOLE = dump_record(RECORD)
ROUNDS = 100_000


def flipped(choose):
    data = bytearray(WHOLE)
    for _ in range(choose.randint(1, 3)):
        data[choose.randrange(len(data))] ^= 1 << choose.randrange(8)
    return bytes(data)


def cut(choose):
    return WHOLE[: choose.randrange(len(WHOLE))]


def swapped(choose):
    first, second = sorted(choose.sample(range(len(WHOLE)), 2))
    return WHOLE[:first] + WHOLE[second:] + WHOLE[first:second]


def zeroed(choose):
    first = choose.randrange(len(WHOLE))
    return WHOLE[:first] + bytes(min(512, len(WHOLE) - first)) + WHOLE[first + 512 :]


@pytest.mark.parametrize("damage", [flipped, cut, swapped, zeroed], ids=lambda damage: damage.__name__)
def test_a_damaged_record_is_never_read_as_another(damage):
    choose = random.Random(damage.__name__)
    refused = 0
    for _ in range(ROUNDS // 4):
        data = damage(choose)
        try:
            found = parse_record(data)
        except RecordError:
            refused += 1
        else:
            assert found == RECORD
    assert refused >= ROUNDS // 4 - 10
