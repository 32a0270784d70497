"""The quality of an image, looked for on a thread of its own."""

from __future__ import annotations

from collections.abc import Callable, Generator

from napari_radlength._work import Work, WorkLine
from radlength.finding import Finding
from radlength.imaging import Radiograph

WORDS = "quality of the image"
GIVEN_UP = Finding(
    "quality-given-up", "The quality of the image was not looked at.", "Open the image again.", "note"
)


class QualityWorker:
    """Looks at one image at a time.

    Parameters
    ----------
    show
        Takes the doubts, and ``None`` while they are looked for.
    line
        Where the work is said and given up.
    """

    def __init__(self, show: Callable[[tuple[Finding, ...] | None], None], line: WorkLine) -> None:
        self._show = show
        self._work = Work(line, self._show_given_up, self._show_given_up)
        self._of: Radiograph | None = None

    def _show_given_up(self) -> None:
        self._of = None
        self._show((GIVEN_UP,))

    def start(self, radiograph: Radiograph) -> None:
        """Look at an image; what is still under way for another one is not shown."""
        self._of = radiograph
        self._show(None)
        self._work.start(WORDS, lambda: quality_steps(radiograph), self._found)

    def go_on(self, radiograph: Radiograph) -> None:
        """Look again at an image whose quality was still looked for when it stopped."""
        if self._of is radiograph and not self._work.is_busy:
            self.start(radiograph)

    def _found(self, findings: tuple[Finding, ...]) -> None:
        self._of = None
        self._show(findings)

    def stop(self) -> None:
        """Forget what is under way."""
        self._work.stop()


def quality_steps(radiograph: Radiograph) -> Generator[str, None, tuple[Finding, ...]]:
    """Look at an image, one measure at a time."""
    from radlength.imaging.quality import each_pixel_measure

    found = []
    for measure in each_pixel_measure(radiograph):
        if measure.finding is not None:
            found.append(measure.finding)
        yield measure.name.replace("_", " ")
    return tuple(found)
