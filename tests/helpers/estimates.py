"""Estimates of the small invented case, without a file."""

from __future__ import annotations

from typing import Any

from helpers.cases import CANAL, REFERENCE

from radlength.imaging import Radiograph
from radlength.length import Canal, Estimate, Terminus, estimate_length
from radlength.scale import Reference

INSTRUMENT = Reference(path_px=REFERENCE, length_mm=21.0, limit_mm=0.25, name="file", canal="single")


def measured(radiograph: Radiograph, name: str = "single", shift: float = 0.0, **changes: Any) -> Estimate:
    """Return an estimate of the invented canal, moved sideways by `shift` pixels."""
    path = [(row, column + shift) for row, column in CANAL]
    given = {"terminus": Terminus(offset_mm=1.0), "reference": INSTRUMENT} | changes
    reference = given.pop("reference")
    return estimate_length(
        Canal(tooth="45", name=name, path_px=path), reference, radiograph=radiograph, **given
    )
