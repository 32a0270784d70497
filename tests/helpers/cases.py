"""A small invented case on disk: an image, its marks, and the command line to run on it."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np

REFERENCE = [(20.0, 60.0), (120.0, 60.0), (230.0, 60.0)]
CANAL = [(20.0, 60.0), (70.0, 60.0), (120.0, 60.0), (180.0, 60.0), (230.0, 60.0), (241.0, 60.0)]


def write_image(path: Path, *, rows: int = 260, columns: int = 120, seed: int = 1) -> Path:
    """Write a grey PNG of noise; the same seed gives the same pixels."""
    noise = np.random.default_rng(seed).integers(40, 90, (rows, columns), dtype=np.uint8)
    noise[:, columns // 3 : 2 * columns // 3] += 90
    path.write_bytes(cv2.imencode(".png", noise)[1].tobytes())
    return path


def points(path: list[tuple[float, float]]) -> str:
    """Return a path as the command line takes it."""
    return " ".join(f"{row},{column}" for row, column in path)


MARK = (
    *("--tooth", "45", "--canal", "single", "--path", points(CANAL)),
    *("--reference-path", points(REFERENCE), "--reference-length", "21", "--reference-limit", "0.25"),
    *("--offset-mm", "1"),
)
"""21 mm over 210 pixels: 0.1 mm per pixel, so the canal of 221 pixels is 22.1 mm."""


@dataclass(frozen=True)
class Done:
    """What a command said."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> dict[str, Any]:
        """The one JSON document on standard output."""
        document = json.loads(self.out)
        assert isinstance(document, dict)
        return document


def run(*words: str | Path, cwd: Path | None = None, **environment: str) -> Done:
    """Run ``radlength`` as its own process, in a pipe."""
    clean = {name: value for name, value in os.environ.items() if name not in _TERMINAL}
    done = subprocess.run(
        [sys.executable, "-c", "from radlength.cli import main; main()", *map(str, words)],
        capture_output=True,
        cwd=cwd,
        env=clean | environment,
        check=False,
        timeout=120,
    )
    return Done(done.returncode, done.stdout.decode(), done.stderr.decode())


_TERMINAL = {
    "COLUMNS",
    "NO_COLOR",
    "FORCE_COLOR",
    "CLICOLOR_FORCE",
    "GITHUB_ACTIONS",
    "TERMINAL_WIDTH",
    "PY_COLORS",
}
