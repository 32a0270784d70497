"""Writers take turns; a lock ends with its process and never waits for ever."""

import errno
import os
import subprocess
import sys
import textwrap
import threading
from types import SimpleNamespace

import pytest
from helpers.records import full_record

from radlength.errors import RecordError
from radlength.record import load_record, save_record
from radlength.record import lock as lock_module
from radlength.record.lock import locked

HOLD = textwrap.dedent("""
    import sys, time
    from pathlib import Path
    from radlength.record.lock import locked
    with locked(Path(sys.argv[1])):
        print("held", flush=True)
        time.sleep(60)
""")


@pytest.fixture
def holder(tmp_path):
    process = subprocess.Popen([sys.executable, "-c", HOLD, tmp_path], stdout=subprocess.PIPE, text=True)
    assert process.stdout.readline() == "held\n"
    yield process
    process.kill()
    process.wait()
    process.stdout.close()


def test_a_writer_that_waits_too_long_is_told(tmp_path, holder, monkeypatch):
    monkeypatch.setattr(lock_module, "PATIENCE_S", 0.1)
    with pytest.raises(
        RecordError, match=r"another program has been writing in this folder for 0\.1 s; try again"
    ):
        save_record(full_record(), tmp_path / "tooth.tif")
    assert [path.name for path in tmp_path.iterdir() if path.name != lock_module.LOCK_FILE] == []


def test_the_lock_of_a_killed_process_is_free_at_once(tmp_path, holder, monkeypatch):
    monkeypatch.setattr(lock_module, "PATIENCE_S", 5.0)
    holder.kill()
    holder.wait()
    save_record(full_record(), tmp_path / "tooth.tif")
    assert load_record(tmp_path / "tooth.tif").canals


def test_two_threads_take_turns(tmp_path):
    order = []

    def other():
        with locked(tmp_path):
            order.append("second")

    with locked(tmp_path) as alone:
        assert alone
        thread = threading.Thread(target=other)
        thread.start()
        thread.join(0.1)
        order.append("first")
    thread.join()
    assert order == ["first", "second"]


@pytest.mark.parametrize("code", [errno.ENOLCK, errno.EBADF], ids=errno.errorcode.get)
def test_where_there_are_no_locks_the_comparison_still_protects(tmp_path, monkeypatch, code):
    def none(_descriptor):
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(lock_module, "_try", none)
    with locked(tmp_path) as alone:
        assert not alone
    image, record = tmp_path / "tooth.tif", full_record()
    save_record(record, image)
    assert load_record(image) == record
    with pytest.raises(RecordError, match="a record on disk that was not read"):
        save_record(full_record(), image)
    assert len(list(tmp_path.iterdir())) == 1


def test_another_failure_of_the_lock_is_a_sentence(tmp_path, monkeypatch):
    def broken(_descriptor):
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    monkeypatch.setattr(lock_module, "_try", broken)
    with pytest.raises(RecordError, match=f"the record cannot be written: {os.strerror(errno.EIO)}"):
        save_record(full_record(), tmp_path / "tooth.tif")


@pytest.mark.skipif(sys.platform == "win32", reason="a stand-in for the call of Windows")
def test_the_way_of_windows_locks_a_file_in_the_folder_and_gives_it_back(tmp_path, monkeypatch):
    import fcntl

    calls = {"lock": fcntl.LOCK_EX | fcntl.LOCK_NB, "unlock": fcntl.LOCK_UN}
    stand_in = SimpleNamespace(
        LK_NBLCK="lock", LK_UNLCK="unlock", locking=lambda fd, how, _count: fcntl.flock(fd, calls[how])
    )
    monkeypatch.setitem(sys.modules, "msvcrt", stand_in)
    monkeypatch.setattr(lock_module, "sys", SimpleNamespace(platform="win32"))
    monkeypatch.setattr(lock_module, "PATIENCE_S", 0.05)
    with locked(tmp_path) as alone:
        assert alone
        with pytest.raises(RecordError, match="another program has been writing"), locked(tmp_path):
            pass
    with locked(tmp_path) as again:
        assert again
    assert [path.name for path in tmp_path.iterdir()] == [lock_module.LOCK_FILE]
