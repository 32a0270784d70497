"""What is true of a simulated image, and marks on it, as plain data to write beside it."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from radlength.phantom.marks import Marks
from radlength.phantom.projection import Camera, View
from radlength.phantom.scene import Rod, Scene
from radlength.trade import CAUTION

FloatArray = NDArray[np.float64]

TEETH = {"single": "45", "s_bend": "45", "wide_apex": "45", "lower_molar": "46", "upper_molar": "26"}
"""Tooth each kind stands for, ISO 3950: mesial is to the right on lower teeth, to the left on upper ones."""


def tooth_number(scene: Scene) -> str:
    """Return which tooth a scene shows, ISO 3950."""
    return scene.form.tooth if scene.form is not None else TEETH[scene.kind]


SIMULATED = "Simulated, no patient"

DEFAULT_MARKING = {"apex_mm": 0.3, "stop_mm": 0.1, "tip_mm": 0.1, "path_mm": 0.1}
"""SD of a person's marks stated in a marks file, millimetres."""


def truth_of(scene: Scene, view: View | None = None) -> dict[str, Any]:
    """Return the truth of an image: lengths, and every landmark in space and on the image.

    Parameters
    ----------
    scene
        What is on the image.
    view
        The exposure; ``None`` for the scene's own.

    Returns
    -------
    dict
        Plain data. Points in space are (x, y, z) millimetres, on the image (row, column) pixels.
    """
    view = view or scene.view
    camera = Camera.of(view)
    return {
        "format": "radlength-phantom-truth",
        "version": 1,
        "simulated": True,
        "caution": CAUTION,
        "kind": scene.kind,
        "seed": scene.seed,
        "bend_deg": _round(scene.bend_deg),
        "azimuth_deg": _round(scene.azimuth_deg),
        "view": _view(view),
        "magnification_at_middle": _round(float(camera.magnification(np.zeros(3))), 5),
        "canals": [_canal(canal.name, canal.length_mm, scene, camera) for canal in scene.canals],
        "instruments": [
            {
                "canal": tool.canal,
                "stop_to_tip_mm": _round(tool.stop_to_tip_mm),
                "gap_mm": _round(scene.gap_mm(tool)),
                "tip_diameter_mm": tool.tip_mm,
                "taper": tool.taper,
                **_points("ends", scene.canal(tool.canal).at([0.0, tool.stop_to_tip_mm]), camera),
            }
            for tool in scene.instruments
        ],
        "references": _beside(scene, camera),
        "shown": sorted(scene.shown),
    }


def marks_of(scene: Scene, marks: Marks, marking: dict[str, float] | None = None) -> dict[str, Any]:
    """Return marks as a marks file holds them: what a person marked and knows, nothing of the truth.

    Parameters
    ----------
    scene
        What is on the image; gives names and stated lengths only.
    marks
        The marks.
    marking
        SD stated for them, millimetres; ``None`` for the usual ones.
    """
    references: list[dict[str, Any]] = [
        {
            "name": f"instrument in canal {tool.canal}",
            "path_px": _round_all(marks.instruments[tool.canal]),
            "length_mm": round(tool.stop_to_tip_mm, 2),
            "limit_mm": 0.25,
            "placement": "in_canal",
            "canal": tool.canal,
        }
        for tool in scene.instruments
    ]
    for name, rod, path in (("wire", scene.wire, marks.wire_px), ("rod", scene.rod, marks.rod_px)):
        if name in scene.shown:
            references.append(_reference(rod, path))
    by_canal = {tool.canal: f"instrument in canal {tool.canal}" for tool in scene.instruments}
    first = references[0]["name"] if references else None
    return {
        "format": "radlength-marks",
        "version": 1,
        "invented": True,
        "caution": CAUTION,
        "marking": marking or DEFAULT_MARKING,
        "references": references,
        "canals": [
            {
                "tooth": tooth_number(scene),
                "name": canal.name,
                "path_px": _round_all(marks.canals[canal.name]),
                "reference": by_canal.get(canal.name, first),
                "terminus": {"offset_mm": 1.0},
                "reference_point": "cusp tip",
            }
            for canal in scene.canals
        ],
    }


def _reference(rod: Rod, path: FloatArray) -> dict[str, Any]:
    return {
        "name": rod.name,
        "path_px": _round_all(path[[0, -1]]),
        "length_mm": rod.length_mm,
        "limit_mm": 0.05,
        "placement": "beside",
    }


def _canal(name: str, length_mm: float, scene: Scene, camera: Camera) -> dict[str, Any]:
    canal = scene.canal(name)
    points = canal.at(np.linspace(0, length_mm, 43))
    return {"name": name, "length_mm": round(length_mm, 4), **_points("path", points, camera)}


def _beside(scene: Scene, camera: Camera) -> dict[str, Any]:
    ball, marker = scene.ball, scene.marker
    return {
        "wire": {"length_mm": scene.wire.length_mm, **_points("marks", scene.wire.marks_mm, camera)},
        "rod": {"length_mm": scene.rod.length_mm, **_points("marks", scene.rod.marks_mm, camera)},
        "ball": {"diameter_mm": ball.diameter_mm, **_points("centre", ball.centre_mm[None], camera)},
        "marker": {
            "shape_mm": _round_all(marker.shape_mm, 4),
            "coplanar": marker.coplanar,
            **_points("marks", marker.points_mm, camera),
        },
    }


def _points(name: str, points_mm: FloatArray, camera: Camera) -> dict[str, Any]:
    return {f"{name}_mm": _round_all(points_mm, 4), f"{name}_px": _round_all(camera.project(points_mm), 3)}


def _view(view: View) -> dict[str, Any]:
    values = {name: getattr(view, name) for name in view.__slots__}
    return {name: _round(value, 5) if isinstance(value, float) else value for name, value in values.items()}


def _round(value: float, digits: int = 4) -> float:
    return round(float(value), digits)


def _round_all(points: FloatArray, digits: int = 1) -> list[list[float]]:
    return [[round(float(v), digits) for v in point] for point in points]
