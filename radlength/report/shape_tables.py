"""Tables of previews, bends and comparisons as CSV, the caution in every file."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from radlength.clean import cell, clean
from radlength.trade import CAUTION

if TYPE_CHECKING:
    from radlength.shape.compare import Comparison
    from radlength.shape.curvature import Curvature
    from radlength.shape.preview import Preview


def preview_csv(made: Preview) -> str:
    """Return diameters and projected thickness, one line an option and level."""
    names = list(dict.fromkeys(wall.name for option in made.options for wall in option.laid.walls))
    header = ["canal", "option", "mm_from_end", "diameter_mm"]
    header += [column for name in names for column in (f"{name}_projected_mm", f"{name}_u_mm")]
    rows = []
    for option in made.options:
        for number, at in enumerate(option.laid.at_mm):
            row: list[object] = [
                made.canal_label,
                option.text,
                f"{at:g}",
                f"{option.laid.diameter_mm[number]:.4f}",
            ]
            for wall in option.laid.walls:
                value = float(wall.thickness_mm[number])
                row += ["", ""] if math.isnan(value) else [f"{value:.3f}", f"{wall.u_mm[number]:.3f}"]
            rows.append(row)
    return _csv(header, rows)


def curvature_csv(found: Curvature) -> str:
    """Return every figure and the profile, one line each."""
    header = ["canal", "figure", "method", "mm_from_apical_end", "value", "u", "low", "high", "unit"]
    rows: list[list[object]] = [
        [found.label, one.name, one.method, "", one.value, one.u, one.low, one.high, one.unit]
        for one in found.readings
    ]
    at = found.profile
    rows += [
        [found.label, "curvature", "profile", f"{mm:g}", bent, "", low, high, "1/mm"]
        for mm, bent, low, high in zip(at.at_mm, at.per_mm, at.low, at.high, strict=True)
    ]
    return _csv(header, rows)


def compare_csv(found: Comparison) -> str:
    """Return transportation and centring of every level, and what changed, one line each."""
    header = ["canal", "figure", "method", "mm_from_apical_end", "value", "u", "low", "high", "unit"]
    rows: list[list[object]] = []
    for level, left in zip(found.levels, found.left_on_image, strict=True):
        at = f"{level.at_mm:g}"
        arm = 1.96 * level.u_mm
        carried = level.transportation_mm
        figures = [carried, level.u_mm, carried - arm, carried + arm]
        method = f"Gambill, plus: to the {left} side of the image"
        rows.append([found.label, "projected transportation", method, at, *figures, "mm"])
        if level.centring is not None:
            rows.append(
                [found.label, "projected centring ratio", "Gambill", at, level.centring, "", "", "", "1"]
            )
    rows += [
        [found.label, one.name, one.method, "", one.value, one.u, one.low, one.high, one.unit]
        for one in found.readings
    ]
    return _csv(header, rows)


def _csv(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([*header, "caution"])
    for row in rows:
        writer.writerow([*(cell(_short(value)) for value in row), CAUTION])
    return out.getvalue()


def _short(value: object) -> object:
    return f"{value:.5g}" if isinstance(value, float) else clean(str(value), 120)
