"""Size and taper along a length: what a choice means on this canal, and what changed between two images.

Nothing here recommends an instrument, a sequence or an end: it shows, flags and compares.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from radlength.shape.compare import Comparison, Side, compare_canal
    from radlength.shape.cone import ConeFit, fit_cone, matching_cone
    from radlength.shape.curvature import Curvature, measure_curvature
    from radlength.shape.needle import NeedleDepth, needle_depth
    from radlength.shape.options import parse_option, read_table
    from radlength.shape.preparation import Preparation, Wall, lay_out
    from radlength.shape.prepared import Pass, PreparedCanal, crossings_mm, difference_mm3
    from radlength.shape.preview import Option, Preview, Wanted, make_preview
    from radlength.shape.reading import Reading
    from radlength.shape.registration import Registration, register
    from radlength.shape.steps import Rule, Step, note_steps, read_rules, read_steps
    from radlength.shape.transportation import Transport, transport
    from radlength.shape.walls import Walls, find_walls, marked_walls

__all__ = [
    "Comparison",
    "ConeFit",
    "Curvature",
    "NeedleDepth",
    "Option",
    "Pass",
    "Preparation",
    "PreparedCanal",
    "Preview",
    "Reading",
    "Registration",
    "Rule",
    "Side",
    "Step",
    "Transport",
    "Wall",
    "Walls",
    "Wanted",
    "compare_canal",
    "crossings_mm",
    "difference_mm3",
    "find_walls",
    "fit_cone",
    "lay_out",
    "make_preview",
    "marked_walls",
    "matching_cone",
    "measure_curvature",
    "needle_depth",
    "note_steps",
    "parse_option",
    "read_rules",
    "read_steps",
    "read_table",
    "register",
    "transport",
]

_WHERE = {
    "compare": ("Comparison", "Side", "compare_canal"),
    "cone": ("ConeFit", "fit_cone", "matching_cone"),
    "curvature": ("Curvature", "measure_curvature"),
    "needle": ("NeedleDepth", "needle_depth"),
    "options": ("parse_option", "read_table"),
    "preparation": ("Preparation", "Wall", "lay_out"),
    "prepared": ("Pass", "PreparedCanal", "crossings_mm", "difference_mm3"),
    "preview": ("Option", "Preview", "Wanted", "make_preview"),
    "reading": ("Reading",),
    "registration": ("Registration", "register"),
    "steps": ("Rule", "Step", "note_steps", "read_rules", "read_steps"),
    "transportation": ("Transport", "transport"),
    "walls": ("Walls", "find_walls", "marked_walls"),
}
_LATE = {name: f"radlength.shape.{module}" for module, names in _WHERE.items() for name in names}


def __getattr__(name: str) -> Any:
    if name in _LATE:
        return getattr(import_module(_LATE[name]), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
