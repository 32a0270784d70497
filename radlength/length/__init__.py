"""The job itself: canal length, working length, length confirmation, and the doubts about them."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from radlength.length.canal import Canal
from radlength.length.confirmation import Confirmation, confirm_length
from radlength.length.estimate import ALGORITHM, Estimate, estimate_length
from radlength.length.narrow import Narrower, narrower
from radlength.length.terminus import Terminus

if TYPE_CHECKING:
    from radlength.length.two_views import CanalOfTwoViews, MarkedView, TwoViewEstimate, estimate_two_views

__all__ = [
    "ALGORITHM",
    "Canal",
    "CanalOfTwoViews",
    "Confirmation",
    "Estimate",
    "MarkedView",
    "Narrower",
    "Terminus",
    "TwoViewEstimate",
    "confirm_length",
    "estimate_length",
    "estimate_two_views",
    "narrower",
]


def __getattr__(name: str) -> Any:
    if name in __all__:  # the solver of two views loads when it is wanted
        return getattr(import_module("radlength.length.two_views"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
