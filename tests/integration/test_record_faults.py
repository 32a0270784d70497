"""A save that is killed at, or fails at, any system call, or loses the power after any, keeps the old or new record.

``RADLENGTH_FAULTS=all`` tries every call; without it every so many.
"""

import os
import signal

import pytest
from helpers.power_loss import disks_after_loss, steps
from helpers.records import small_record
from helpers.system_calls import can_trace, fault_writer

from radlength.errors import RecordError
from radlength.record import load_record, parse_record, record_path, save_record

pytestmark = pytest.mark.skipif(not can_trace(), reason="needs strace and the right to trace")
ROUNDS = 40
EVERY = 1 if os.environ.get("RADLENGTH_FAULTS") == "all" else 29
CAN_FAIL = {
    "openat",
    "read",
    "write",
    "fsync",
    "rename",
    "unlink",
    "close",
    "flock",
    "lseek",
    "chmod",
    "newfstatat",
}
ERRORS = ("ENOSPC", "EIO", "EACCES", "EDQUOT", "EINTR")


@pytest.fixture(scope="module")
def writer(tmp_path_factory):
    image = tmp_path_factory.mktemp("faults") / "tooth.tif"
    with fault_writer(image) as running:
        yield running


def whos(image):
    return [entry.who for entry in load_record(image).history]


def test_killed_at_a_system_call_the_record_is_the_old_or_the_new_one(writer):
    calls = writer.calls(ROUNDS)
    first = whos(writer.image)[:-ROUNDS]
    assert whos(writer.image) == [*first, *(f"round {number}" for number in range(ROUNDS))]
    tried = calls[os.getpid() % EVERY : -1 : EVERY]
    in_the_middle = 0
    for call in tried:
        ended = writer.killed_at(ROUNDS, call)
        assert ended.status == -signal.SIGKILL
        reported = len(ended.told)
        assert ended.told == "s" * reported
        found = whos(writer.image)
        assert found in [[*first, *(f"round {n}" for n in range(reported + more))] for more in (0, 1)]
        in_the_middle += any(path.suffix == ".part" for path in writer.image.parent.iterdir())
    print(
        f"{len(calls)} system calls in {ROUNDS} saves, killed at {len(tried)}, {in_the_middle} in the middle"
    )
    assert len(calls) > 500
    assert in_the_middle >= len(tried) / 10


@pytest.mark.parametrize("error", ERRORS)
def test_a_system_call_that_fails_is_a_refusal_and_nothing_is_lost(writer, error):
    rounds = 2
    calls = [call for call in writer.calls(rounds) if call[0] in CAN_FAIL]
    first = whos(writer.image)[:-rounds]
    refused = 0
    for call in calls if EVERY == 1 else calls[os.getpid() % 3 :: 3]:
        ended = writer.failing_at(rounds, call, error)
        found = whos(writer.image)
        kept = [f"round {number}" for number, letter in enumerate(ended.told) if letter == "s"]
        if ended.status == 0:
            assert len(ended.told) == rounds
        assert found[: len(first)] == first
        assert [who for who in found[len(first) :] if who in kept] == kept
        refused += "r" in ended.told
    assert refused > 0


def losses(log, folder, before):
    """Return every distinct content that a power loss may leave of the record, by number of steps done."""
    made = steps(log, folder)
    path = str(record_path(folder / "tooth.tif"))
    return made, [
        {disk.get(path) for disk in disks_after_loss(made[:n], before)} for n in range(len(made) + 1)
    ]


def test_after_a_power_loss_the_record_is_the_old_or_the_new_one(writer):
    rounds, folder = 5, writer.image.parent
    path = record_path(writer.image)
    log = writer.run(rounds).log.read_text()
    last = parse_record(path.read_bytes())
    first = {str(path): _first(writer)}
    made, left = losses(log, folder, first)
    assert {step[0] for step in made} >= {"create", "write", "flush", "rename"}
    versions = [len(parse_record(data).history) for contents in left for data in contents]
    assert len(left[-1]) == 1
    assert len(parse_record(next(iter(left[-1]))).history) == len(last.history)
    assert set(versions) == set(range(len(last.history) - rounds, len(last.history) + 1))
    print(f"{len(made)} steps, {sum(len(contents) for contents in left)} contents of the record, all whole")


def _first(writer):
    """Return the record the writer begins with."""
    writer.run(0)
    return record_path(writer.image).read_bytes()


def test_the_replay_catches_a_save_that_does_not_flush(writer):
    """The planted fault: the same log without its flushes leaves halves and nothing."""
    log = "\n".join(line for line in writer.run(2).log.read_text().splitlines() if "fsync(" not in line)
    _, left = losses(log, writer.image.parent, {str(record_path(writer.image)): _first(writer)})
    broken = 0
    for data in set().union(*left):
        try:
            parse_record(data or b"")
        except RecordError:
            broken += 1
    assert broken >= 2


def test_a_folder_that_may_not_be_written_is_a_sentence(tmp_path):
    image = tmp_path / "gone" / "tooth.tif"
    with pytest.raises(RecordError, match="cannot be written"):
        save_record(small_record(), image)


def test_a_clock_that_jumps_back_loses_nothing(tmp_path, monkeypatch):
    from datetime import UTC, datetime

    from radlength.uncertainty import Marking

    image = tmp_path / "tooth.tif"
    save_record(small_record(), image)
    for year in (2030, 1999, 2026):
        monkeypatch.setattr(
            "radlength.record.record.now", lambda year=year: datetime(year, 1, 1, tzinfo=UTC), raising=False
        )
        save_record(load_record(image).with_marking(Marking(apex_mm=(year - 1990) / 100), who=str(year)))
    assert whos(image)[-3:] == ["2030", "1999", "2026"]
