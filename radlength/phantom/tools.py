"""Steel and rubber before the film: instruments with their stop, wire, rod, ball and beads."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.phantom.chords import Tube, add_ball, add_tube, straight_tube
from radlength.phantom.curve import CanalCurve
from radlength.phantom.projection import Camera
from radlength.phantom.scene import Ball, Instrument, Scene

Image = NDArray[np.float32]
FloatArray = NDArray[np.float64]

POINT_MM = 0.15
"""Length of the cone at the very tip."""
SHAFT_MM = 3.0
"""How far the shaft shows above the stop before the handle."""
STOP_RADIUS_MM = 1.25
STOP_THICKNESS_MM = 1.3


def instrument_tube(tool: Instrument, canal: CanalCurve, pieces: int = 60) -> Tube:
    """Return an instrument as a tube along its canal: shaft, taper, and a short point at the tip.

    Parameters
    ----------
    tool
        The instrument.
    canal
        The canal it lies in.
    pieces
        Number of cone pieces.
    """
    tip = tool.stop_to_tip_mm
    s = np.append(np.linspace(-SHAFT_MM, tip - POINT_MM, pieces), tip)
    radius = np.minimum(tool.tip_mm / 2 + tool.taper / 2 * (tip - s), tool.tip_mm / 2 + tool.taper * 8)
    radius[-1] = 0.01
    return Tube(canal.at(s), tangents_at(canal, s), radius)


def tangents_at(canal: CanalCurve, s_mm: FloatArray) -> FloatArray:
    """Return unit tangents at arc lengths, shape (N, 3)."""
    way = canal.at(s_mm + 0.01) - canal.at(s_mm - 0.01)
    return np.asarray(way / np.linalg.norm(way, axis=1)[:, None])


def steel_mm(scene: Scene, camera: Camera, shape_px: tuple[int, int]) -> Image:
    """Return the millimetres of steel in every ray, Float32 of the image's shape."""
    image = np.zeros(shape_px, np.float32)
    for tool in scene.instruments:
        add_tube(image, instrument_tube(tool, scene.canal(tool.canal)), camera)
    if "wire" in scene.shown or "marker" in scene.shown:
        _beaded(image, scene.wire.marks_mm, scene.wire.diameter_mm, scene.wire.mark_diameter_mm, camera)
    if "rod" in scene.shown:
        _collared(image, scene, camera)
    if "ball" in scene.shown or "marker" in scene.shown:
        add_ball(image, scene.ball, camera)
    if "marker" in scene.shown:
        for point in scene.marker.points_mm[scene.marker.coplanar :]:
            add_ball(image, Ball(point, scene.wire.mark_diameter_mm), camera)
    return image


def rubber_mm(scene: Scene, camera: Camera, shape_px: tuple[int, int]) -> Image:
    """Return the millimetres of stop and handle in every ray, Float32 of the image's shape."""
    image = np.zeros(shape_px, np.float32)
    for tool in scene.instruments:
        canal = scene.canal(tool.canal)
        ends = canal.at([0.0, -STOP_THICKNESS_MM])
        add_tube(image, straight_tube(ends[0], ends[1], STOP_RADIUS_MM, STOP_RADIUS_MM), camera)
        handle = canal.at([-SHAFT_MM, -SHAFT_MM - 9.0])
        add_tube(image, straight_tube(handle[0], handle[1], 1.5, 1.8), camera)
    return image


def _beaded(image: Image, marks_mm: FloatArray, wire_mm: float, bead_mm: float, camera: Camera) -> None:
    way = (marks_mm[-1] - marks_mm[0]) / np.linalg.norm(marks_mm[-1] - marks_mm[0])
    add_tube(image, straight_tube(marks_mm[0] - way, marks_mm[-1] + way, wire_mm / 2, wire_mm / 2), camera)
    for point in marks_mm:
        add_ball(image, Ball(point, bead_mm), camera)


def _collared(image: Image, scene: Scene, camera: Camera) -> None:
    marks, radius = scene.rod.marks_mm, scene.rod.diameter_mm / 2
    way = (marks[-1] - marks[0]) / np.linalg.norm(marks[-1] - marks[0])
    add_tube(image, straight_tube(marks[0] - way, marks[-1] + way, radius, radius), camera)
    wide = scene.rod.mark_diameter_mm / 2
    for point in marks:
        add_tube(image, straight_tube(point - 0.15 * way, point + 0.15 * way, wide, wide), camera)
