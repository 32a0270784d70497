"""The newest message of napari, shown whole, above those that are there, and never taking the keys from a field."""

from __future__ import annotations

from typing import Any

from qtpy.QtCore import QAbstractAnimation, QRect, Qt, QTimer
from qtpy.QtWidgets import QAbstractSpinBox, QApplication, QDialog, QLineEdit

EDGE = 8
"""Pixels between a message and the edge of the image, or the next message."""
AROUND = 28
"""Pixels above and below the words of a message."""
READ_MS = 20000
"""How long a message stays: longer than napari's own, which are one line."""


def show_whole() -> None:
    """Open the newest message and place it: folded, it hides what to do behind an arrow, and it would lie on others."""
    shown = [one for one in _messages() if one.isVisible()]
    if not shown:
        return
    newest, others = shown[-1], shown[:-1]
    if not newest.property("expanded"):
        newest.toggle_expansion()
    _place(newest, [one for one in others if one.parentWidget() is newest.parentWidget()])
    _stay(newest)


def _messages() -> list[Any]:
    return [
        one
        for window in QApplication.topLevelWidgets()
        for one in window.findChildren(QDialog)
        if hasattr(one, "toggle_expansion")
    ]


def _place(message: Any, others: list[Any]) -> None:
    """Give a message the height of its words, above the others where there is room."""
    for name in ("geom_anim", "opacity_anim"):
        motion = getattr(message, name, None)
        if motion is not None and motion.state() == QAbstractAnimation.State.Running:
            motion.setCurrentTime(motion.duration())
            motion.stop()
    over = message.parentWidget()
    if over is None:
        return
    words = message.message
    message.layout().activate()
    room = QRect(0, 0, words.contentsRect().width(), 10000)
    wrapped = int(Qt.AlignmentFlag.AlignLeft | Qt.TextFlag.TextWordWrap)
    high = words.fontMetrics().boundingRect(room, wrapped, words.text()).height() + AROUND
    lowest = over.height() - EDGE
    for _ in range(2):  # a label may wrap its words earlier than they would fit
        top = min([one.y() - EDGE for one in others], default=lowest) - high
        if top < 0:
            top = lowest - high
        message.setGeometry(over.width() - EDGE - message.width(), max(top, 0), message.width(), high)
        message.layout().activate()
        high += max(words.heightForWidth(words.width()) - words.height(), 0)
    message.raise_()


def _stay(message: Any) -> None:
    """Let a message go after a while, but not while somebody types: its going would take the keys from the field."""
    message.timer.stop()
    timer = message.timer = QTimer()  # not the message's: napari asks it when the message may be gone

    def go() -> None:
        if isinstance(QApplication.focusWidget(), (QLineEdit, QAbstractSpinBox)):
            timer.start()
        else:
            message.close_with_fade()

    timer.setSingleShot(True)
    timer.setInterval(READ_MS)
    timer.timeout.connect(go)
    message.destroyed.connect(timer.stop)
    timer.start()
