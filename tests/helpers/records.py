"""An invented record with everything in it, and the image it belongs to."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from typing import Any

import numpy as np

from radlength.imaging import Radiograph
from radlength.length import Canal, Terminus, confirm_length
from radlength.record import Record, dump_record, measure_entry
from radlength.scale import Reference
from radlength.uncertainty import Marking

ROWS, COLUMNS = 1300, 900
NOON = datetime(2026, 1, 2, 12, 0, tzinfo=UTC)
PATH = ((80.0, 410.0), (350.0, 418.0), (640.0, 437.0), (905.0, 452.0), (931.5, 455.25))
GAP = ((905.0, 452.0), (931.5, 455.25))


def radiograph(
    seed: int = 0, *, rows: int = ROWS, columns: int = COLUMNS, name: str = "tooth.tif"
) -> Radiograph:
    """Return an image of a plain ramp; another seed gives other pixels."""
    ramp = (np.arange(rows)[:, None] * 7 + np.arange(columns) * 3 + seed) % 4096
    return Radiograph.from_array(ramp.astype(np.uint16), name=name)


def canal(tooth: str = "46", name: str = "MB", path: Any = PATH) -> Canal:
    """Return a canal, 46 MB by default."""
    return Canal(tooth=tooth, name=name, path_px=path)


def reference(name: str = "file in MB", length_mm: float = 21.0) -> Reference:
    """Return an instrument in the canal."""
    return Reference(PATH[:-1], length_mm, 0.25, "in_canal", name, "MB")


def small_record(image: Radiograph | None = None) -> Record:
    """Return a record with one reference and one canal."""
    return Record.new(
        image or radiograph(),
        canals=[canal()],
        references=[reference()],
        terminus=Terminus(offset_mm=1.0),
        who="invented person",
        when=NOON,
    )


def full_record(image: Radiograph | None = None) -> Record:
    """Return a record with two canals, a stated pitch, an estimate and a confirmation."""
    image = image or radiograph()
    bone = Terminus(table="apex offset by resorption", observation="bone")
    record = small_record(image).with_marking(Marking(apex_mm=0.2)).with_stated_pitch(0.02, 0.02)
    record = record.with_canal(canal(name="D"), reference="file in MB", terminus=bone)
    entry = record.entry("46 MB")
    record = record.with_estimate(entry.id, measure_entry(record, entry, image), when=NOON)
    done = confirm_length(
        21.0, GAP, mm_per_px=0.025, rule="tip within 1 mm", terminus=Terminus(offset_mm=1.0)
    )
    return record.with_confirmation(entry.id, done, GAP, who="invented person", when=NOON)


def raw(record: Record) -> dict[str, Any]:
    """Return a record as the plain data of its file, without the hash that would tell of a change."""
    data: dict[str, Any] = json.loads(dump_record(record))
    del data["sha256"]
    return data


def as_bytes(data: object) -> bytes:
    """Return plain data as the bytes of a file."""
    return json.dumps(data).encode()
