"""Readers with a bug of each kind; three lie behind four bytes that only a search guided by lines soon finds."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from unittest import mock

from helpers.fuzz_targets import read_record


def reached(data: bytes) -> bool:
    """Tell whether the four bytes are there; one line for each, so that coming nearer is seen."""
    if len(data) < 4:
        return False
    if data[0] != 0x52:
        return False
    if data[1] != 0x4C:
        return False
    if data[2] != 0x00:
        return False
    return data[3] == 0x7F


def raising(data: bytes, _folder: Path) -> object:
    """Let an error out that is no refusal."""
    if reached(data):
        return {}["not there"]
    return None


def endless(data: bytes, _folder: Path) -> object:
    """Never return."""
    while reached(data):
        pass
    return None


def hungry(data: bytes, _folder: Path) -> object:
    """Take more memory than a picture needs."""
    return bytearray(600_000_000) if reached(data) else None


def lying(data: bytes, folder: Path) -> object:
    """Read a record whose first known length comes out a tenth of a millimetre longer."""
    from radlength import record as room

    honest = room.parse_record

    def parse(given: bytes) -> object:
        record = honest(given)
        first, *others = record.references
        longer = replace(first, length_mm=first.length_mm + 0.1)
        return record.model_copy(update={"references": (longer, *others)})

    with mock.patch.object(room, "parse_record", parse):
        return read_record(data, folder)


READERS = {f"planted-{reader.__name__}": reader for reader in (raising, endless, hungry, lying)}
