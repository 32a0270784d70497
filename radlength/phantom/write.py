"""Image, truth and marks of a simulated radiograph, written side by side."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import numpy as np

from radlength.clean import counted, refused
from radlength.errors import PhantomError
from radlength.phantom.detector import Detector
from radlength.phantom.export import SUFFIXES, check_format, write_image
from radlength.phantom.marks import simulate_marks
from radlength.phantom.population import random_scene
from radlength.phantom.projection import View, shifted_view
from radlength.phantom.render import render
from radlength.phantom.scene import Scene
from radlength.phantom.truth import DEFAULT_MARKING, marks_of, truth_of
from radlength.trade import CAUTION

LEAST_SHIFT_DEG, MOST_SHIFT_DEG = 1.0, 45.0
MARKER_SD_MM = 0.03
"""Spread of marks on the beads of a marker, millimetres: common practice, no source."""


def write_phantom(
    out_dir: str | Path,
    seed: int,
    *,
    kind: str = "single",
    file_format: str = "png",
    detector: Detector | None = None,
    shift_deg: float | None = None,
    marking: dict[str, float] | None = None,
    clicks: int = 8,
    **scene_parameters: Any,
) -> list[Path]:
    """Write a simulated radiograph with its truth and with marks a person would make.

    Parameters
    ----------
    out_dir
        Folder; made if missing.
    seed
        Same seed and parameters, same files.
    kind
        Kind of tooth.
    file_format
        Format of the image.
    detector
        What the detector does; ``None`` for the usual one.
    shift_deg
        If given, a second image of the same scene with the tube swung by as much is written too, positive toward
        larger x. The marks then say the pixel pitch where the format does not, and a marker that is shown gets
        ``NAME.marker.json``: its shape, and its points on both images.
    marking
        SD of the marks, millimetres: ``apex_mm``, ``stop_mm``, ``tip_mm``, ``path_mm``; ``None`` for the usual.
    clicks
        Clicks along every canal.
    **scene_parameters
        As :func:`radlength.phantom.random_scene` takes them.

    Returns
    -------
    list of Path
        For every image: the image, ``NAME.truth.json`` and ``NAME.marks.json``; the marker last.

    Raises
    ------
    PhantomError
        A parameter is out of its range, or the folder cannot be written to.
    """
    detector = detector or Detector()
    form = check_format(file_format, detector.bits)
    scene = _scene(seed, kind, scene_parameters)
    views = [("", scene.view)]
    if shift_deg is not None:
        views.append((f"-shift{shift_deg:+g}", _shifted(scene.view, shift_deg)))
    folder = Path(out_dir)
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for at, (suffix, view) in enumerate(views):
            path = folder / f"phantom-{kind.replace('_', '-')}-{seed}{suffix}{SUFFIXES[form]}"
            write_image(path, render(scene, view, detector), form)
            rng = np.random.default_rng((seed, 3, at))
            pitch = shift_deg is not None and form != "dicom"
            truth, marks = write_truth_and_marks(
                path, scene, view, rng, marking=marking, clicks=clicks, pitch=pitch
            )
            written += [path, truth, marks]
        if shift_deg is not None and "marker" in scene.shown:
            written.append(_write_marker(written[0], scene, [view for _, view in views]))
    except OSError as exc:
        raise PhantomError(
            f"the folder {folder} cannot be written to: {refused(exc)}",
            "a folder that is there, or can be made",
            "name another folder",
            code="phantom-folder",
        ) from exc
    return written


def _scene(seed: int, kind: str, parameters: dict[str, Any]) -> Scene:
    scene = random_scene(seed, kind=kind, **parameters)
    wanted = parameters.get("instruments", 0)
    if wanted > len(scene.canals):
        raise PhantomError(
            f"{counted(wanted, 'instrument')} in a tooth of {counted(len(scene.canals), 'canal')}",
            f"0 to {len(scene.canals)} for {kind!r}",
            code="phantom-instruments",
        )
    return scene


def _shifted(view: View, shift_deg: float) -> View:
    if not LEAST_SHIFT_DEG <= abs(shift_deg) <= MOST_SHIFT_DEG:
        raise PhantomError(
            f"a tube shift of {shift_deg:g}°",
            f"{LEAST_SHIFT_DEG:g} to {MOST_SHIFT_DEG:g}° to either side",
            code="phantom-shift",
        )
    return shifted_view(view, shift_deg)


def _write_marker(image: Path, scene: Scene, views: list[View]) -> Path:
    """Write the marker's shape and its trembling points on both images, and return the path."""
    rng = np.random.default_rng((scene.seed, 4))
    points = [simulate_marks(scene, view, rng, reference_mm=MARKER_SD_MM).marker_px for view in views]
    path = image.with_suffix(".marker.json")
    names = ("shape_mm", "straight_px", "shifted_px")
    parts = (scene.marker.shape_mm, *points)
    data = {name: part.round(3).tolist() for name, part in zip(names, parts, strict=True)}
    write_json(path, {"invented": True, "caution": CAUTION, **data})
    return path


def write_truth_and_marks(
    image: Path,
    scene: Scene,
    view: View,
    rng: np.random.Generator,
    *,
    marking: dict[str, float] | None = None,
    clicks: int = 8,
    pitch: bool = False,
) -> tuple[Path, Path]:
    """Write ``NAME.truth.json`` and ``NAME.marks.json`` beside an image, and return both paths."""
    truth_path = image.with_suffix(".truth.json")
    write_json(truth_path, truth_of(scene, view))
    return truth_path, write_marks(image, scene, view, rng, marking=marking, clicks=clicks, pitch=pitch)


def write_marks(
    image: Path,
    scene: Scene,
    view: View,
    rng: np.random.Generator,
    *,
    marking: dict[str, float] | None = None,
    clicks: int = 8,
    pitch: bool = False,
) -> Path:
    """Write ``NAME.marks.json`` beside an image, and return its path.

    Parameters
    ----------
    image
        The image.
    scene, view
        What is on it.
    rng
        Where the tremor of the hand comes from.
    marking
        SD of the marks, millimetres; ``None`` for the usual.
    clicks
        Clicks along every canal.
    pitch
        Whether the marks say the pixel pitch, for formats that do not.
    """
    sd = {**DEFAULT_MARKING, **(marking or {})}
    marks = simulate_marks(
        scene,
        view,
        rng,
        click_mm=sd["path_mm"],
        end_mm=sd["stop_mm"],
        reference_mm=sd["path_mm"],
        apex_mm=sd["apex_mm"],
        tip_mm=sd["tip_mm"],
        clicks=clicks,
    )
    path = image.with_suffix(".marks.json")
    data = marks_of(scene, marks, sd)
    if pitch:
        data["pitch_mm"] = [view.pitch_mm, view.pitch_mm]
    write_json(path, data)
    return path


def write_json(path: Path, data: dict[str, Any]) -> None:
    """Write plain data as JSON, a pair of numbers on one line."""
    text = json.dumps(data, indent=1)
    text = re.sub(r"\[\s+(-?[\d.e+-]+),\s+(-?[\d.e+-]+)\s+\]", r"[\1, \2]", text)
    text = re.sub(r"\[\s+(-?[\d.e+-]+),\s+(-?[\d.e+-]+),\s+(-?[\d.e+-]+)\s+\]", r"[\1, \2, \3]", text)
    path.write_text(text + "\n", encoding="utf-8")
