"""Invented records for reports: a full one, and one whose every text tries to break the page."""

from __future__ import annotations

from dataclasses import replace

from helpers.records import NOON, canal, full_record, radiograph, reference

from radlength.imaging import Radiograph
from radlength.length import Terminus
from radlength.record import Record
from radlength.report import Page, pages

SCRIPT = "<script>alert(1)</script>"
EVIL = f'=HYPERLINK("x")\u202e{SCRIPT}'


def full_pages() -> tuple[Page, ...]:
    """Return the pages of the full invented record."""
    image = radiograph()
    return pages(full_record(image), image)


def evil() -> tuple[Record, Radiograph]:
    """Return a record whose names are attacks, and its image."""
    image = radiograph(name=f"x{SCRIPT.replace('/', '')}.tif")
    marked = replace(canal(name=EVIL), reference_point=f"</svg>{SCRIPT}\x1b[31m")
    known = replace(reference(name=EVIL), canal=EVIL)
    record = Record.new(
        image, canals=[marked], references=[known], terminus=Terminus(offset_mm=1.0), who=SCRIPT, when=NOON
    )
    return record, image
