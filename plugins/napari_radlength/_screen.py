"""Whether there is a screen to open a window on: asked before Qt, which would end the process without a word."""

from __future__ import annotations

import re
import socket
from collections.abc import Callable, Mapping

from radlength.errors import RadlengthError

SCREENS = ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")
"""Variables of which a desktop on Linux sets one."""

WAIT_S = 3.0
"""A display that has not answered by then is taken for gone."""
HERE = ("localhost", "127.0.0.1", "[::1]")
"""Only this machine is asked, where a connection that brings windows along ends too."""

_DISPLAY = re.compile(r"(?:tcp/|unix/?)?(?P<host>[^:/]*|\[[^]]+\]):(?P<number>\d{1,4})(?:\.\d+)?")


def refuse_without_screen(
    environment: Mapping[str, str], platform: str, answers: Callable[[str], bool] | None = None
) -> None:
    """Refuse where no window can be opened.

    Parameters
    ----------
    environment
        Of the process.
    platform
        As ``sys.platform``; only on Linux anything is asked.
    answers
        Tells whether a DISPLAY can be reached; :func:`display_answers` by default.

    Raises
    ------
    RadlengthError
        No screen is named, or the one that is named does not answer.

    Examples
    --------
    >>> refuse_without_screen({"QT_QPA_PLATFORM": "offscreen"}, "linux")
    >>> refuse_without_screen({}, "darwin")
    """
    if not platform.startswith("linux"):
        return
    if not any(environment.get(name) for name in SCREENS):
        raise _no_screen("there is no screen to open a window on")
    wanted = environment.get("QT_QPA_PLATFORM", "").partition(":")[0]
    display = environment.get("DISPLAY", "")
    if wanted not in ("", "xcb") or (not wanted and environment.get("WAYLAND_DISPLAY")):
        return
    if not (answers or display_answers)(display):
        raise _no_screen(
            f"the screen that DISPLAY names ({display}) does not answer"
            if display
            else "there is no screen to open a window on: DISPLAY names none"
        )


def display_answers(display: str) -> bool:
    """Tell whether somebody listens where an X11 display on this machine is said to be.

    One on another machine, and what cannot be understood, is left to Qt.

    Examples
    --------
    >>> display_answers(""), display_answers("/run/display:0"), display_answers("elsewhere.example:0")
    (False, True, True)
    """
    if not display:
        return False
    known = _DISPLAY.fullmatch(display)
    if known is None or known["host"] not in ("", "unix", *HERE):
        return True
    number = int(known["number"])
    if known["host"] in ("", "unix"):
        path = f"/tmp/.X11-unix/X{number}"  # noqa: S108 - where X11 has it
        return _local(path) or _local(f"\0{path}")
    try:
        socket.create_connection((known["host"].strip("[]"), 6000 + number), WAIT_S).close()
    except OSError:
        return False
    return True


def _local(path: str) -> bool:
    with socket.socket(socket.AF_UNIX) as asked:
        asked.settimeout(WAIT_S)
        try:
            asked.connect(path)
        except OSError:
            return False
    return True


def _no_screen(wrong: str) -> RadlengthError:
    return RadlengthError(
        wrong,
        "a desktop, or a connection that brings its windows along (ssh -X)",
        "without one, measure on the command line: radlength estimate --help",
        code="window-no-screen",
    )
