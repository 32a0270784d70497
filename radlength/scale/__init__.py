"""Known lengths to millimetres: references in a canal and beside it, the header, several together, two views."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from radlength.scale.frame import Frame
from radlength.scale.image_scale import image_scale
from radlength.scale.model import Method, Scale, header_scale, method_of, reference_scale, scale_for
from radlength.scale.reference import STAMPED_LIMIT_MM, Placement, Reference, without_tooth

if TYPE_CHECKING:
    from radlength.scale.ball import BallScale, Ellipse, ball_scale, ball_shadow, fit_ellipse
    from radlength.scale.combine import CombinedScale, ScaleEstimate, combine_scales, scale_estimates
    from radlength.scale.two_views import (
        CanalInSpace,
        KnownInstrument,
        ShiftDirection,
        TwoViewMarks,
        TwoViewResult,
        View,
        solve_two_views,
    )

__all__ = [
    "STAMPED_LIMIT_MM",
    "BallScale",
    "CanalInSpace",
    "CombinedScale",
    "Ellipse",
    "Frame",
    "KnownInstrument",
    "Method",
    "Placement",
    "Reference",
    "Scale",
    "ScaleEstimate",
    "ShiftDirection",
    "TwoViewMarks",
    "TwoViewResult",
    "View",
    "ball_scale",
    "ball_shadow",
    "combine_scales",
    "fit_ellipse",
    "header_scale",
    "image_scale",
    "method_of",
    "reference_scale",
    "scale_estimates",
    "scale_for",
    "solve_two_views",
    "without_tooth",
]

_WHERE = {
    "ball": ("BallScale", "Ellipse", "ball_scale", "ball_shadow", "fit_ellipse"),
    "combine": ("CombinedScale", "ScaleEstimate", "combine_scales", "scale_estimates"),
    "two_views": (
        "CanalInSpace",
        "KnownInstrument",
        "ShiftDirection",
        "TwoViewMarks",
        "TwoViewResult",
        "View",
        "solve_two_views",
    ),
}
_LATE = {name: f"radlength.scale.{module}" for module, names in _WHERE.items() for name in names}


def __getattr__(name: str) -> Any:
    if name in _LATE:
        return getattr(import_module(_LATE[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
