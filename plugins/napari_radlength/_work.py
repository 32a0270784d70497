"""Long work on a thread: said step by step, given up when asked; a result that comes too late changes nothing."""

from __future__ import annotations

import logging
from collections.abc import Callable, Iterator
from typing import Any

from qtpy.QtCore import QObject, QTimer
from qtpy.QtWidgets import QProgressBar, QSizePolicy, QVBoxLayout, QWidget

from napari_radlength._message import show_whole
from napari_radlength._viewer import worker_of
from napari_radlength._widgets import button, label, row
from radlength.errors import RadlengthError

Steps = Iterator[str]
"""Yields what comes next, in words; between two of them the work can be given up."""
SHOWN_AFTER_MS = 400


class Work(QObject):
    """One piece of long work at a time.

    Parameters
    ----------
    line
        Where it is said and given up.
    given_up
        Called when a person gives it up.
    failed
        Called when it ended in an error, which is said.
    """

    def __init__(
        self,
        line: WorkLine,
        given_up: Callable[[], None] | None = None,
        failed: Callable[[], None] | None = None,
    ) -> None:
        super().__init__(line)
        self._line = line
        self._given_up = given_up
        self.failed = failed
        self._run: _Run | None = None
        self.words = ""

    @property
    def is_busy(self) -> bool:
        """Whether something is under way."""
        return self._run is not None

    def start(self, words: str, steps: Callable[[], Any], done: Callable[[Any], None]) -> None:
        """Do something on a thread; what was under way before is given up.

        Parameters
        ----------
        words
            What is done.
        steps
            A generator function: yields words, returns a result. It must change nothing outside.
        done
            Takes the result, in the window's own thread: what is changed is changed here.
        """
        self.stop()
        self.words = words
        self._run = _Run(self, steps, done)
        self._line.add(self)
        self._run.worker.start()

    def stop(self) -> None:
        """Give up what is under way: it ends before its next step."""
        if self._run is not None:
            self._run.worker.quit()
            self.leave()

    def give_up(self) -> None:
        """Stop, as a person asked."""
        self.stop()
        if self._given_up is not None:
            self._given_up()

    def is_run(self, run: _Run) -> bool:
        """Return whether a run is the one that counts."""
        return run is self._run

    def leave(self) -> None:
        """Let go of a run that has ended."""
        self._run = None
        self._line.remove(self)

    def say(self, words: str) -> None:
        """Say what comes next."""
        self._line.show_words(self, f"{self.words}: {words}")


class _Run(QObject):
    """One run of a work; it stays in the window's own thread."""

    def __init__(self, work: Work, steps: Callable[[], Any], done: Callable[[Any], None]) -> None:
        super().__init__(work)
        self._work = work
        self._done = done

        def run() -> Any:
            return (yield from steps())

        self.worker = worker_of(run)
        self.worker.yielded.connect(self.on_step)
        self.worker.returned.connect(self.on_returned)
        self.worker.errored.connect(self.on_failed)

    def on_step(self, words: str) -> None:
        """Say a step."""
        if self._work.is_run(self):
            self._work.say(words)

    def on_returned(self, result: Any) -> None:
        """Hand the result over, unless nobody waits for it any longer."""
        if self._work.is_run(self):
            self._work.leave()
            self._told(lambda: self._done(result))

    def on_failed(self, error: Exception) -> None:
        """Say what went wrong."""
        if self._work.is_run(self):
            self._work.leave()
            _say(error, self._work.words)
            if self._work.failed is not None:
                self._work.failed()

    def _told(self, do: Callable[[], None]) -> None:
        try:
            do()
        except RadlengthError as exc:
            _say(exc, self._work.words)


def _say(error: Exception, words: str) -> None:
    from napari.utils.notifications import show_error

    if isinstance(error, RadlengthError):
        show_error(str(error))
    else:
        logging.getLogger(__name__).error("%s", words, exc_info=error)
        show_error(f"{words}: it could not be finished ({error}); nothing was changed")
    show_whole()


class WorkLine(QWidget):
    """Says what is under way, with a button to give it up; there only while something takes long."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("radlength_work")
        self._works: list[Work] = []
        self.words = label("radlength_work_words")
        self.words.setAccessibleName("what is under way")
        self.bar = QProgressBar()
        self.bar.setObjectName("radlength_work_bar")
        self.bar.setAccessibleName("under way")
        self.bar.setRange(0, 0)
        self.bar.setTextVisible(False)
        self.bar.setMaximumHeight(10)
        self.cancel = button(
            "Cancel", "radlength_cancel", self._cancel, tip="give up what is under way; nothing is changed"
        )
        self.cancel.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self._late = QTimer(self)
        self._late.setSingleShot(True)
        self._late.setInterval(SHOWN_AFTER_MS)
        self._late.timeout.connect(self._show)
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 2, 8, 2)
        column.addWidget(self.words)
        column.addLayout(row(self.bar, self.cancel))
        self.hide()

    def add(self, work: Work) -> None:
        """Take a work that has begun; it is shown when it takes long."""
        self._works = [*(one for one in self._works if one is not work), work]
        self.words.setText(work.words)
        self._late.start()

    def remove(self, work: Work) -> None:
        """Forget a work that has ended; another one that is under way is shown again."""
        self._works = [one for one in self._works if one is not work]
        if self._works:
            self.words.setText(self._works[-1].words)
        else:
            self._late.stop()
            self.hide()

    def show_words(self, work: Work, words: str) -> None:
        """Say a step of the work that is shown."""
        if self._works and self._works[-1] is work:
            self.words.setText(words)

    def _show(self) -> None:
        self.setVisible(bool(self._works))

    def _cancel(self) -> None:
        if self._works:
            self._works[-1].give_up()
