"""A record's lengths for other programs: CSV, JSON and GeoJSON, each with the caution and the status."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from radlength._version import __version__
from radlength.clean import cell, clean
from radlength.length import Estimate
from radlength.trade import CAUTION

if TYPE_CHECKING:
    from radlength.report.content import Page

COLUMNS = (
    "image", "tooth", "canal", "status", "method", "reference_length_mm", "reference_limit_mm",
    "canal_length_mm", "canal_length_u_mm", "canal_length_low_mm", "canal_length_high_mm",
    "working_length_mm", "working_length_low_mm", "working_length_high_mm", "terminus",
    "reference_point", "findings", "algorithm", "software", "caution",
)  # fmt: skip


def table_csv(pages: Sequence[Page]) -> str:
    """Return one line a canal; no text starts a formula in a spreadsheet."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for page in pages:
        for found in page.estimates:
            row = length_row(page.image, page.status, found)
            writer.writerow([cell(row[name]) for name in COLUMNS])
    return out.getvalue()


def length_row(image: str, status: str, found: Estimate) -> dict[str, str | float | None]:
    """Return the lengths of one canal as a line of a table, millimetres to 0.0001."""
    working = found.working_length
    return {
        "image": image,
        "tooth": found.canal.tooth,
        "canal": found.canal.name,
        "status": status,
        "method": found.method,
        "reference_length_mm": found.reference.length_mm if found.reference else None,
        "reference_limit_mm": found.reference.limit_mm if found.reference else None,
        "canal_length_mm": round(found.canal_length.value_mm, 4),
        "canal_length_u_mm": round(found.canal_length.u_mm, 4),
        "canal_length_low_mm": round(found.canal_length.low_mm, 4),
        "canal_length_high_mm": round(found.canal_length.high_mm, 4),
        "working_length_mm": round(working.value_mm, 4) if working else None,
        "working_length_low_mm": round(working.low_mm, 4) if working else None,
        "working_length_high_mm": round(working.high_mm, 4) if working else None,
        "terminus": found.terminus.words if found.terminus else None,
        "reference_point": found.canal.reference_point,
        "findings": " ".join(finding.code for finding in found.findings),
        "algorithm": found.algorithm,
        "software": f"radlength {__version__}",
        "caution": CAUTION,
    }


def table_json(pages: Sequence[Page]) -> str:
    """Return every estimate whole, with budget and findings, as JSON."""
    estimates = [found.as_dict() | {"status": page.status} for page in pages for found in page.estimates]
    return _json(
        {
            "caution": CAUTION,
            "status": pages[0].status,
            "image": pages[0].image,
            "software": f"radlength {__version__}",
            "estimates": estimates,
        }
    )


def table_geojson(pages: Sequence[Page]) -> str:
    """Return canals and references as lines in pixels, (x, y) = (column, row), y down.

    RFC 7946 means the Earth; the member ``frame`` says that these are pixels of an image.
    """
    canals = [_canal_feature(page, found) for page in pages for found in page.estimates]
    references = dict.fromkeys(
        e.reference for page in pages for e in page.estimates if e.reference is not None
    )
    lines = [
        _feature(
            reference.path_px,
            {
                "role": "reference",
                "name": clean(reference.name),
                "length_mm": reference.length_mm,
                "limit_mm": reference.limit_mm,
                "placement": reference.placement,
            },
        )
        for reference in references
    ]
    return _json(
        {
            "type": "FeatureCollection",
            "frame": {
                "unit": "pixel",
                "axes": "x = column, y = row, y down",
                "origin": "centre of the top-left pixel",
                "image": pages[0].image,
            },
            "caution": CAUTION,
            "status": pages[0].status,
            "features": [*canals, *lines],
        }
    )


def _canal_feature(page: Page, found: Estimate) -> dict[str, Any]:
    row = length_row(page.image, page.status, found)
    kept = ("tooth", "status", "method", "canal_length_mm", "working_length_mm", "terminus", "algorithm")
    told = {"role": "canal", "canal": clean(found.canal.name)} | {name: row[name] for name in kept}
    return _feature(found.canal.path_px, told)


def _feature(path_px: Sequence[Sequence[float]], properties: dict[str, Any]) -> dict[str, Any]:
    places = [[column, row] for row, column in path_px]
    return {
        "type": "Feature",
        "geometry": {"type": "LineString", "coordinates": places},
        "properties": properties,
    }


def _json(data: dict[str, Any]) -> str:
    return json.dumps(data, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
