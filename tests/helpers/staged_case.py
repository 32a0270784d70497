"""A folder of small images with a case of three of them, by stage and day, and a fourth that it does not know."""

from __future__ import annotations

import os
from datetime import date
from pathlib import Path

import cv2
import numpy as np
from helpers.made_case import NOON, with_canal

from radlength.record import Case, add_image, save_case

STAGES = {"b.png": ("pre-operative", 1), "a.png": ("working length", 1), "c.png": ("filling", 9)}
UNKNOWN = "d.png"


def write_grey(path: Path, seed: int = 0) -> Path:
    """Write a small image of noise, the file dated 2026-03-01."""
    cv2.imwrite(str(path), np.random.default_rng(seed).integers(0, 90, (60, 40)).astype(np.uint8))
    os.utime(path, (1_772_323_200, 1_772_323_200))
    return path


def write_images(folder: Path) -> Path:
    """Write the four images."""
    home = folder / "tooth46"
    home.mkdir()
    for seed, name in enumerate((*STAGES, UNKNOWN)):
        write_grey(home / name, seed)
    return home


def write_case(home: Path) -> Path:
    """Make the case of three of them."""
    case = with_canal(Case.new(invented=True))
    for name, (stage, day) in STAGES.items():
        case = add_image(case, home, name, stage=stage, taken=date(2026, 1, day), when=NOON)
    save_case(case, home)
    return home


def lines(dock):
    """Return the time line of a dock."""
    return [dock.image.images.item(n).text() for n in range(dock.image.images.count())]
