"""The line to an archive spoken to by DIMSE: nothing on it is waited for without end, and it can be cut at once."""

from __future__ import annotations

import contextlib
import socket
import threading
import time
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pynetdicom import AE
    from pynetdicom.dul import DULServiceProvider

GOODBYE_S = 1.0
"""How long an abort may take to be sent, in seconds: a moment, but where the archive takes nothing more."""
OVER = ("Sta1", "Sta13")
"""States of a line on which an abort was sent (PS3.8 9.2.1)."""


def connected(event: Any, answer_s: float) -> None:
    """Let small pieces go at once, and let nothing take longer than an answer may.

    By Nagle's algorithm each of the small last pieces of a message would wait 40 ms. And pynetdicom waits without end
    for an archive that takes no more, or sends half a message.
    """
    line = event.assoc.dul.socket.socket
    line.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    line.settimeout(answer_s)


def hang_up(ae: AE) -> None:
    """Abort, and end the threads that wait for the archive: the interpreter would wait for them, without end."""
    from pynetdicom.dul import DULServiceProvider

    for one in threading.enumerate():
        if isinstance(one, DULServiceProvider) and one.assoc.ae is ae:
            one.assoc.is_established = False
            one.assoc.abort(block=False)
            until = time.monotonic() + GOODBYE_S
            while one.is_alive() and one.state_machine.current_state not in OVER and time.monotonic() < until:
                time.sleep(0.005)
            one.kill_dul()
            _cut(one)


def _cut(one: DULServiceProvider) -> None:
    """Close the line of a thread that is told to end; where it still sends, that wakes it up."""
    line = one.socket.socket if one.socket else None
    if line is not None:
        with contextlib.suppress(OSError):
            line.shutdown(socket.SHUT_RDWR)
        one.join(GOODBYE_S)
        line.close()
