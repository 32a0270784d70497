"""What a person would click on the image of a scene: true image points, and the same with a trembling hand.

Gives an estimator its input. It hands over pixels and stated lengths, never a scene's parameters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from radlength.clean import counted
from radlength.errors import PhantomError
from radlength.phantom.projection import Camera, View
from radlength.phantom.scene import Ball, Scene

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Marks:
    """Marks on one image. Every array is (row, column) pixels, shape (N, 2).

    Parameters
    ----------
    canals
        By canal: from the reference point to the radiographic apex.
    instruments
        By canal: from the stop to the tip. The first point is the canal's own first point.
    wire_px, rod_px
        The marks of the wire and of the rod.
    ball_px
        Points on the outline of the ball's shadow.
    marker_px
        The points of the marker, in the order of its shape.
    """

    canals: dict[str, FloatArray]
    instruments: dict[str, FloatArray]
    wire_px: FloatArray
    rod_px: FloatArray
    ball_px: FloatArray
    marker_px: FloatArray


def simulate_marks(
    scene: Scene,
    view: View | None = None,
    rng: np.random.Generator | None = None,
    *,
    click_mm: float = 0.0,
    end_mm: float = 0.0,
    reference_mm: float = 0.0,
    apex_mm: float | None = None,
    tip_mm: float | None = None,
    clicks: int = 8,
) -> Marks:
    """Return the marks a person would make on the image of a scene.

    Parameters
    ----------
    scene
        What is on the image.
    view
        The exposure; ``None`` for the scene's own.
    rng
        Where the tremor comes from; may be ``None`` if every SD is 0.
    click_mm
        SD of the clicks between the ends, a coordinate, millimetres on the detector.
    end_mm
        SD of the ends: reference point or stop, apex, tip.
    reference_mm
        SD of the marks of wire, rod, ball and marker.
    apex_mm, tip_mm
        SD of the apex and of the tip; ``None`` for `end_mm`.
    clicks
        Clicks along a canal, ends included, at equal steps of true arc length. As many on the instrument.

    Raises
    ------
    PhantomError
        Fewer than two clicks, a negative SD, or tremor asked for without `rng`.

    Examples
    --------
    >>> from radlength.phantom import random_scene
    >>> marks = simulate_marks(random_scene(1))
    >>> marks.canals["single"].shape, marks.marker_px.shape
    ((8, 2), (9, 2))
    """
    apex_mm = end_mm if apex_mm is None else apex_mm
    tip_mm = end_mm if tip_mm is None else tip_mm
    _check(clicks, (click_mm, end_mm, reference_mm, apex_mm, tip_mm), rng)
    view = view or scene.view
    camera = Camera.of(view)
    groups = _true_groups(scene, clicks, camera.source_mm)
    points = camera.project(np.vstack(groups))
    sizes = [len(group) for group in groups]
    if rng is not None:
        path = [end_mm, *[click_mm] * (clicks - 2)]
        paths = [*[*path, apex_mm] * len(scene.canals), *[*path, tip_mm] * len(scene.instruments)]
        sd = np.array(paths + [reference_mm] * (len(points) - len(paths)))
        points = points + rng.standard_normal(points.shape) * (sd / view.pitch_mm)[:, None]
    parts = np.split(points, np.cumsum(sizes)[:-1])
    return _grouped(scene, parts)


def draw_marks(
    scene: Scene,
    rng: np.random.Generator,
    *,
    click_mm: float,
    end_mm: float,
    reference_mm: float,
    clicks: int = 8,
) -> Marks:
    """Return trembling marks on the scene's own view; see :func:`simulate_marks`."""
    return simulate_marks(
        scene, None, rng, click_mm=click_mm, end_mm=end_mm, reference_mm=reference_mm, clicks=clicks
    )


def outline_mm(ball: Ball, source_mm: FloatArray, count: int = 16) -> FloatArray:
    """Return points of a ball that rays from the source touch, shape (count, 3).

    Parameters
    ----------
    ball
        The ball.
    source_mm
        (x, y, z) of the focal spot.
    count
        Number of points.

    Notes
    -----
    Tangent rays touch a sphere of radius r, whose centre is d away, on a circle of radius
    r sqrt(1 - r^2 / d^2) that lies r^2 / d in front of the centre (plane geometry).
    """
    ray = ball.centre_mm - source_mm
    distance = float(np.linalg.norm(ray))
    ray = ray / distance
    across = np.cross(ray, (0.0, 1.0, 0.0))
    across /= np.linalg.norm(across)
    up = np.cross(across, ray)
    radius = ball.diameter_mm / 2
    turn = np.arange(count) * (2 * math.pi / count)
    circle = np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * up
    size = radius * math.sqrt(1 - (radius / distance) ** 2)
    return np.asarray(ball.centre_mm - ray * radius**2 / distance + circle * size)


def _check(clicks: int, sds_mm: tuple[float, ...], rng: np.random.Generator | None) -> None:
    if clicks < 2:
        raise PhantomError(f"{counted(clicks, 'click')} on a canal", "at least 2", code="phantom-clicks")
    if not all(math.isfinite(sd) and sd >= 0 for sd in sds_mm):
        raise PhantomError(f"marks with SD {sds_mm} mm", "0 mm or more", code="phantom-marks")
    if rng is None and any(sds_mm):
        raise PhantomError("trembling marks without a random generator", "an rng", code="phantom-marks")


def _true_groups(scene: Scene, clicks: int, source_mm: FloatArray) -> list[FloatArray]:
    canals = [canal.at(np.linspace(0, canal.length_mm, clicks)) for canal in scene.canals]
    tools = [
        scene.canal(tool.canal).at(np.linspace(0, tool.stop_to_tip_mm, clicks)) for tool in scene.instruments
    ]
    beside = [scene.wire.marks_mm, scene.rod.marks_mm, outline_mm(scene.ball, source_mm)]
    return [*canals, *tools, *beside, scene.marker.points_mm]


def _grouped(scene: Scene, parts: list[FloatArray]) -> Marks:
    count = len(scene.canals)
    canals = {canal.name: part for canal, part in zip(scene.canals, parts, strict=False)}
    tools = {tool.canal: part for tool, part in zip(scene.instruments, parts[count:], strict=False)}
    for name, path in tools.items():
        path[0] = canals[name][0]
    wire, rod, ball, marker = parts[-4:]
    return Marks(canals, tools, wire, rod, ball, marker)
