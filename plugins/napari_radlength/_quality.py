"""The quality of an image, looked for on a thread of its own."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from radlength.finding import Finding
from radlength.imaging import Radiograph


class QualityWorker:
    """Looks at one image at a time.

    Parameters
    ----------
    show
        Takes the doubts, and ``None`` while they are looked for.
    """

    def __init__(self, show: Callable[[tuple[Finding, ...] | None], None]) -> None:
        self._show = show
        self._worker: Any = None

    def start(self, radiograph: Radiograph) -> None:
        """Look at an image; what is still under way for another one is not shown."""
        from napari.qt.threading import create_worker

        self.stop()
        self._show(None)
        self._worker = create_worker(_findings, radiograph, _start_thread=False)
        self._worker.returned.connect(self._done)
        self._worker.start()

    def stop(self) -> None:
        """Forget what is under way."""
        if self._worker is not None:
            self._worker.returned.disconnect(self._done)
            self._worker = None

    def _done(self, findings: tuple[Finding, ...]) -> None:
        if self._worker is not None:  # a result that was on its way when it was stopped
            self._worker = None
            self._show(findings)


def _findings(radiograph: Radiograph) -> tuple[Finding, ...]:
    from radlength.record.quality import image_quality

    return image_quality(radiograph).findings
