"""A screen that is named and not there is said in words: Qt would end the process."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from napari_radlength._screen import display_answers, refuse_without_screen
from radlength.errors import RadlengthError

linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="X11 is asked on Linux only")


def dead(display: str) -> bool:
    return False


def alive(display: str) -> bool:
    return True


def not_asked(display: str) -> bool:
    raise AssertionError(display)


def free_number() -> int:
    """Return the number of a display that nobody listens on."""
    return next(n for n in range(4000, 4900) if not display_answers(f":{n}"))


@pytest.mark.parametrize(
    ("environment", "answers", "words"),
    [
        pytest.param({}, not_asked, "there is no screen to open a window on; a desktop", id="nothing"),
        pytest.param({"DISPLAY": ":7"}, dead, r"DISPLAY names \(:7\) does not answer; a desktop", id="dead"),
        pytest.param({"DISPLAY": ":7", "QT_QPA_PLATFORM": "xcb"}, dead, "does not answer", id="xcb"),
        pytest.param({"QT_QPA_PLATFORM": "xcb"}, display_answers, "DISPLAY names none", id="xcb alone"),
        pytest.param(
            {"DISPLAY": ":7", "WAYLAND_DISPLAY": "wayland-0", "QT_QPA_PLATFORM": "xcb:x"},
            dead,
            "does not answer",
            id="xcb on wayland",
        ),
    ],
)
def test_where_no_window_can_open_it_is_refused(environment, answers, words) -> None:
    with pytest.raises(RadlengthError, match=words) as told:
        refuse_without_screen(environment, "linux", answers)
    assert told.value.code == "window-no-screen"
    assert "radlength estimate --help" in str(told.value)


@pytest.mark.parametrize(
    ("environment", "platform", "answers"),
    [
        pytest.param({"DISPLAY": ":7"}, "linux", alive, id="alive"),
        pytest.param({"WAYLAND_DISPLAY": "wayland-0", "DISPLAY": ":7"}, "linux", not_asked, id="wayland"),
        pytest.param({"QT_QPA_PLATFORM": "offscreen", "DISPLAY": ":7"}, "linux", not_asked, id="offscreen"),
        pytest.param({"QT_QPA_PLATFORM": "wayland;xcb", "DISPLAY": ":7"}, "linux", not_asked, id="a list"),
        pytest.param({"DISPLAY": "/private/tmp/x:0"}, "darwin", not_asked, id="macOS"),
        pytest.param({}, "win32", not_asked, id="Windows"),
    ],
)
def test_where_one_may_open_nothing_is_said(environment, platform, answers) -> None:
    refuse_without_screen(environment, platform, answers)


@linux
def test_a_display_answers_where_somebody_listens() -> None:
    number = free_number()
    with socket.socket(socket.AF_UNIX) as server:
        server.bind(f"\0/tmp/.X11-unix/X{number}")
        assert not display_answers(f":{number}")
        server.listen()
        for name in (f":{number}", f":{number}.0", f"unix:{number}", f"unix/:{number}"):
            assert display_answers(name)
    assert not display_answers(f":{number}")


@linux
def test_a_display_over_the_network_answers_where_somebody_listens() -> None:
    number = free_number()
    with socket.socket() as server:
        server.bind(("127.0.0.1", 6000 + number))
        server.listen()
        assert display_answers(f"127.0.0.1:{number}.0")
        assert display_answers(f"localhost:{number}")
    assert not display_answers(f"127.0.0.1:{number}.0")


@linux
def test_view_on_a_dead_display_ends_with_words(tmp_path: Path) -> None:
    without = {k: v for k, v in os.environ.items() if k not in ("WAYLAND_DISPLAY", "QT_QPA_PLATFORM")}
    done = subprocess.run(
        [sys.executable, "-c", "from radlength.cli import main; main()", "view"],
        env={**without, "DISPLAY": f":{free_number()}"},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert (done.returncode, done.stdout) == (1, "")
    assert "does not answer" in done.stderr
    assert done.stderr.count("\n") == 1


@pytest.mark.parametrize("display", ["elsewhere.example:0", "192.0.2.7:10.0", "tcp/[2001:db8::1]:0"])
def test_no_other_machine_is_asked(display: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def asked(*where: object) -> None:
        raise AssertionError(where)

    monkeypatch.setattr("socket.create_connection", asked)
    monkeypatch.setattr("socket.socket.connect", asked)
    assert display_answers(display)
