"""What all objects found from one click share: which way grey runs, the click, the first look. Knows no object."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import MarkError
from radlength.finding import Finding
from radlength.geometry import Assist
from radlength.imaging import Radiograph
from radlength.tracing.evidence import Polarity
from radlength.tracing.grey import bright_grey
from radlength.tracing.instrument_clicks import check_click

FloatArray = NDArray[np.float64]
VERSION = "5"

INVERTED = Finding(
    "object-dark",
    "The object that was found is darker than what lies around it.",
    "Say whether the image is stored inverted.",
)


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FoundObject:
    """What every object says that was found from one click.

    Parameters
    ----------
    confidence
        From 0 to 1: how clearly the object is seen.
    trusted
        Whether nothing speaks against it.
    findings
        What does.
    method, version
        How it was made.
    """

    confidence: float
    trusted: bool
    findings: tuple[Finding, ...]
    method: str
    version: str = VERSION


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FoundPoints(FoundObject, ABC):
    """An object whose points are the path of a reference."""

    @abstractmethod
    def points_px(self) -> FloatArray:
        """Return its (row, column) points, shape (N, 2), as the path of a reference beside the tooth takes them."""

    def assist(self) -> Assist:
        """Return what a record says of :meth:`points_px`: all were placed by this program."""
        return Assist(0, len(self.points_px()) - 1, self.method, self.version, self.confidence)


Found = TypeVar("Found", bound=FoundObject)


def looked_for(
    radiograph: Radiograph,
    click_px: ArrayLike,
    polarity: Polarity,
    look: Callable[[NDArray[np.generic], FloatArray], Found],
) -> Found:
    """Return what a search finds at a click, bright metal first; dark metal only where that fails, and then said.

    Parameters
    ----------
    radiograph
        The image.
    click_px
        One (row, column) point.
    polarity
        ``"bright"``, ``"dark"``, or ``"auto"`` for both in turn.
    look
        Finds an object in grey values, metal bright, at a click in pixels; raises MarkError where there is none.

    Raises
    ------
    MarkError
        No point of the image, or nothing found there.
    """
    click = check_click(radiograph, click_px)
    usual = radiograph.facts.photometric == "MONOCHROME1"
    if polarity != "auto":
        return look(bright_grey(radiograph, dark=polarity == "dark"), click)
    try:
        return look(bright_grey(radiograph, dark=usual), click)
    except MarkError:
        try:
            other = look(bright_grey(radiograph, dark=not usual), click)
        except MarkError:
            other = None
        if other is None:
            raise
    return replace(other, trusted=False, findings=(*other.findings, INVERTED))


def nothing(radiograph: Radiograph, what: str, allowed: str) -> MarkError:
    """Return the refusal where a click lies on no such object."""
    return MarkError(
        f"no {what} at the click",
        allowed,
        f"click on the {what}, or mark it by hand",
        code="no-such-object",
        subject=radiograph.name,
    )
