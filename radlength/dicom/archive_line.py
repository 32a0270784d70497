"""The line to an archive spoken to by DIMSE: nothing on it is waited for without end, and it can be cut at once."""

from __future__ import annotations

import contextlib
import queue
import socket
import threading
import time
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pynetdicom import AE
    from pynetdicom.association import Association
    from pynetdicom.dul import DULServiceProvider

GOODBYE_S = 1.0
"""How long an abort may take to be sent, in seconds: a moment, but where the archive takes nothing more."""
OVER = ("Sta1", "Sta13")
"""States of a line on which an abort was sent (PS3.8 9.2.1)."""
PIECE = 1 << 18
"""Bytes of one piece of a message, at most, both ways: whether the line is alive is seen when a piece is over."""


class Answers(queue.Queue[Any]):
    """What an archive says. Who waits for it is patient as long as pieces of messages come and go.

    pynetdicom counts from when a file is put in line to be sent: a large one over a slow line was given up under way.
    """

    def __init__(self) -> None:
        super().__init__()
        self._moved_at = time.monotonic()

    def moved(self, _event: Any) -> None:
        """Note that a piece came or went."""
        self._moved_at = time.monotonic()

    def get(self, block: bool = True, timeout: float | None = None) -> Any:
        """Return the next message; the time-out, in seconds, begins anew with every piece.

        Raises
        ------
        queue.Empty
            Nothing came, and nothing moved for so long.
        """
        if not block or timeout is None:
            return super().get(block, timeout)
        asked_at = time.monotonic()
        while True:
            left = max(asked_at, self._moved_at) + timeout - time.monotonic()
            try:
                return super().get(timeout=max(left, 0.0))
            except queue.Empty:
                if max(asked_at, self._moved_at) + timeout <= time.monotonic():
                    raise


def connected(event: Any, answer_s: float) -> None:
    """Let small pieces go at once, and let nothing take longer than an answer may.

    By Nagle's algorithm each of the small last pieces of a message would wait 40 ms. And pynetdicom waits without end
    for an archive that takes no more, or sends half a message.
    """
    from pynetdicom import evt

    answers = event.assoc.dimse.msg_queue = Answers()
    event.assoc.bind(evt.EVT_PDU_SENT, answers.moved)
    event.assoc.bind(evt.EVT_PDU_RECV, answers.moved)
    line = event.assoc.dul.socket.socket
    line.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    line.settimeout(answer_s)


def in_pieces(open_one: Association) -> None:
    """Send no larger pieces than we ask for: an archive may allow a file in one (PS3.8 D.1.1)."""
    from pynetdicom.pdu_primitives import MaximumLengthNotification

    for item in open_one.acceptor.user_information:
        if isinstance(item, MaximumLengthNotification):
            item.maximum_length_received = min(item.maximum_length_received or PIECE, PIECE)


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
