"""Marked intra-oral DICOM images, invented: headers as a detector writes them, pixels of noise, marks beside them."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pydicom

from radlength.dicom import Decision
from radlength.imaging import read_radiograph
from radlength.length import Canal, Terminus
from radlength.phantom import random_scene
from radlength.phantom.detector import Detector
from radlength.phantom.dicom import write_dicom
from radlength.phantom.render import Rendering
from radlength.record import Record, save_record
from radlength.scale import Reference

NOON = datetime(2026, 1, 2, 12, 0, tzinfo=UTC)
INSTRUMENT = ((20.0, 60.0), (120.0, 61.0), (230.0, 63.5))
MB = ((20.0, 60.0), (70.25, 60.4), (120.0, 61.0), (180.1, 62.003), (230.0, 63.5), (241.0, 64.25))
DISTAL = ((22.0, 90.0), (80.0, 92.5), (140.0, 93.0), (200.0, 90.5), (236.0, 86.75))
SHAPE = (260, 150)


@dataclass(frozen=True)
class Marked:
    """A marked image on disk."""

    path: Path
    record: Record

    def dataset(self) -> Any:
        """Return the image as pydicom reads it."""
        return pydicom.dcmread(self.path)


def write_image(path: Path, *, seed: int = 1, inverted: bool = False, bits: int = 12, **changes: Any) -> Path:
    """Write an intra-oral image; a change of ``None`` takes an attribute away."""
    top = (1 << bits) - 1
    rng = np.random.default_rng(seed)
    ramp = np.add.outer(np.arange(SHAPE[0]) * 9, np.arange(SHAPE[1]) * 5) + rng.integers(0, 30, SHAPE)
    pixels = (ramp % (top + 1)).astype(np.uint8 if bits == 8 else np.uint16)
    scene = random_scene(seed, kind="lower_molar", pitch_mm=0.1)
    detector = Detector(bits=bits, inverted=inverted)
    exposure = np.zeros(SHAPE, np.float32)
    write_dicom(path, Rendering(pixels, scene, scene.view, detector, exposure))
    if changes:
        change(path, **changes)
    return path


def change(path: Path, **changes: Any) -> None:
    """Change attributes of a file; ``None`` takes one away."""
    ds = pydicom.dcmread(path)
    for keyword, value in changes.items():
        if value is None:
            del ds[keyword]
        else:
            setattr(ds, keyword, value)
    ds.save_as(path)


def mark(
    path: Path, *, references: bool = True, two: bool = True, who: str | None = "Invented^Reader"
) -> Record:
    """Write the record of an image: one canal with an instrument in it, another that borrows it."""
    bone = Terminus(table="apex offset by resorption", observation="bone")
    record = Record.new(
        read_radiograph(path),
        canals=[Canal("46", "MB", MB)],
        references=[Reference(INSTRUMENT, 21.0, 0.25, "in_canal", "file in MB", "MB")] if references else (),
        terminus=Terminus(offset_mm=1.0),
        who=who,
        when=NOON,
    )
    if two:
        reference = "file in MB" if references else None
        record = record.with_canal(Canal("46", "D", DISTAL), reference=reference, terminus=bone, who=who)
    save_record(record, path)
    return record


def marked_image(folder: Path, name: str = "tooth.dcm", *, seed: int = 1, **changes: Any) -> Marked:
    """Write a marked image: two canals, one reference."""
    path = write_image(folder / name, seed=seed, **changes)
    return Marked(path, mark(path))


def decisions(*labels: str, person: str = "Decider^Invented") -> list[Decision]:
    """Return a decision for each canal."""
    return [Decision(label, 20.5, person, NOON, "Invented practice") for label in labels]


def quiet_read(path: Path) -> Any:
    """Return a data set, its warnings unheard."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return pydicom.dcmread(path)
