import os
import sys
from pathlib import Path

import pytest

from radlength.whole_file import HELD, is_empty, put_whole


def names(folder):
    return sorted(one.name for one in folder.iterdir())


def test_a_file_is_replaced_and_nothing_is_left_beside_it(tmp_path):
    place = tmp_path / "page.html"
    for content in (b"old", b"new"):
        put_whole(place, content)
        assert place.read_bytes() == content
    assert names(tmp_path) == ["page.html"]


@pytest.mark.skipif(sys.platform == "win32", reason="sizes of files are limited otherwise there")
def test_a_full_disk_leaves_the_old_file_as_it_was(tmp_path):
    import resource
    import signal

    place = tmp_path / "page.html"
    put_whole(place, b"old")
    old_limit, old_action = resource.getrlimit(resource.RLIMIT_FSIZE), signal.getsignal(signal.SIGXFSZ)
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (4096, old_limit[1]))
    try:
        with pytest.raises(OSError, match="too large"):
            put_whole(place, b"n" * 10_000)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, old_limit)
        signal.signal(signal.SIGXFSZ, old_action)
    assert place.read_bytes() == b"old"
    assert names(tmp_path) == ["page.html"]


def test_what_a_killed_writer_left_is_no_hindrance(tmp_path, monkeypatch):
    monkeypatch.setattr(os, "getpid", lambda: 7)
    place = tmp_path / "page.html"
    with monkeypatch.context() as killed:
        killed.setattr(type(place), "replace", lambda *_: (_ for _ in ()).throw(KeyboardInterrupt))
        killed.setattr(type(place), "unlink", lambda *_, **__: None)
        with pytest.raises(KeyboardInterrupt):
            put_whole(place, b"half")
    assert len(names(tmp_path)) == 1
    put_whole(place, b"whole")
    assert names(tmp_path) == ["page.html"]


@pytest.mark.skipif(sys.platform == "win32", reason="no such rights there")
def test_a_private_file_is_its_owners(tmp_path):
    place = tmp_path / "answers.json"
    put_whole(place, b"{}", private=True)
    assert place.stat().st_mode & 0o077 == 0


def test_a_name_as_long_as_may_be(tmp_path):
    place = tmp_path / ("n" * 251 + ".csv")
    put_whole(place, b"a,b", flush=True)
    assert place.read_bytes() == b"a,b"


def test_only_a_file_with_nothing_in_it_counts_as_none(tmp_path):
    (tmp_path / "empty").touch()
    (tmp_path / "page.html").write_bytes(b"x")
    told = {name: is_empty(tmp_path / name) for name in ("empty", "page.html", "gone", ".")}
    assert told == {"empty": True, "page.html": False, "gone": False, ".": False}
    assert not is_empty(Path(os.devnull))


def test_what_is_no_file_is_written_to(tmp_path):
    device = type(tmp_path)(os.devnull)
    put_whole(device, b"gone")
    assert not device.is_file()
    with pytest.raises(OSError, match=r"."):
        put_whole(tmp_path, b"a folder")


@pytest.mark.parametrize("code", HELD)
def test_a_file_that_windows_holds_open_for_a_moment_is_waited_for(tmp_path, monkeypatch, code):
    """As a virus scanner or a viewer holds it; simulated, nobody has run it on Windows."""
    place, looks = tmp_path / "page.html", held(monkeypatch, times=3, code=code)
    put_whole(place, b"new")
    assert place.read_bytes() == b"new"
    assert looks == [1, 2, 3, 4]
    assert names(tmp_path) == ["page.html"]


def test_one_that_stays_open_is_refused_and_the_old_file_stays(tmp_path, monkeypatch):
    monkeypatch.setattr("radlength.whole_file.PATIENCE_S", 0.05)
    place = tmp_path / "page.html"
    place.write_bytes(b"old")
    looks = held(monkeypatch, times=10**6, code=32)
    with pytest.raises(PermissionError):
        put_whole(place, b"new")
    assert len(looks) > 1
    assert place.read_bytes() == b"old"
    assert names(tmp_path) == ["page.html"]


def test_a_right_that_is_not_there_is_not_waited_for(tmp_path, monkeypatch):
    looks = held(monkeypatch, times=10**6, code=None)
    with pytest.raises(PermissionError):
        put_whole(tmp_path / "page.html", b"new")
    assert looks == [1]


def held(monkeypatch, *, times, code):
    """Let so many renames fail as where the name is in use; return the list that counts them."""
    looks, replace = [], Path.replace

    def busy(part, place):
        looks.append(len(looks) + 1)
        if len(looks) <= times:
            refusal = PermissionError(13, "Permission denied", str(part))
            if code is not None:
                refusal.winerror = code
            raise refusal
        return replace(part, place)

    monkeypatch.setattr(Path, "replace", busy)
    return looks
