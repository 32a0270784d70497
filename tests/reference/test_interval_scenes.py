"""How often the 95 % interval holds the true length, for every way to a scale.

Canals in space, a point source and a flat detector (similar triangles: the image lies d / (d - z) times as far from the
foot of the source), clicks that scatter by the stated spread, references wrong by up to their limit. Written apart from
the project's own phantom and projection. Geometry: detector tilt 0-25 degrees, tube by the bisecting rule within 5
degrees, source 250-350 mm (White & Pharoah's short and long cones, from memory); apical bend 0-40 degrees over 7 mm at
any azimuth (Schäfer et al. 2002: 84 % of canals curved). Wire, beads and ball lie up to 4 mm nearer or farther than the
tooth and are not quite parallel to it (SD 5 and 4 degrees; common practice, no source). Simulation: no real hand.
"""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from radlength.imaging import Radiograph
from radlength.length import Canal, estimate_length
from radlength.scale import Reference
from radlength.uncertainty import Marking

SCENES = 100
FEWEST = 89
"""A 95 % interval holds fewer in 1 of 230 such runs (binomial)."""

PITCH = np.array([0.02, 0.03])
"""Pixels that are not square: (row, column), millimetres."""


def canal_in_space(rng):
    """Return a canal's length, distances along it and points, its middle at the origin, y along the tooth."""
    length, bend, azimuth = rng.uniform(18, 25), np.radians(rng.uniform(0, 40)), rng.uniform(0, 2 * np.pi)
    along = np.linspace(0, length, 401)
    turn = np.clip((along - length + 7) / 7, 0, 1) * bend
    steps = np.column_stack([np.sin(turn) * np.cos(azimuth), np.cos(turn), np.sin(turn) * np.sin(azimuth)])
    points = np.cumsum((steps + np.roll(steps, 1, axis=0)) / 2, axis=0) * length / 400
    return length, along, points - points[200]


def turned(rng, *degrees):
    return Rotation.from_euler("xz", rng.normal(0, degrees), degrees=True).as_matrix()


def shadow(points, source):
    size = source[2] / (source[2] - points[:, 2])
    return source[:2] + (points[:, :2] - source[:2]) * size[:, None]


def placed(rng, bent):
    """Return the tooth's turn, its middle over the detector, and the source."""
    while True:
        tilt = rng.uniform(0, 25)
        tooth = Rotation.from_euler("x", tilt, degrees=True).as_matrix() @ turned(rng, 5, 3)
        middle = np.array([0, 0, max(3 + 11 * np.sin(np.radians(tilt)), rng.uniform(4, 12))])
        if (bent @ tooth.T + middle)[:, 2].min() > 0.5:
            break
    tube = np.tan(np.radians([rng.normal(0, 5), -tilt / 2 + rng.normal(0, 5)]))
    beam = np.append(tube, 1.0)
    return tooth, middle, middle + beam / np.linalg.norm(beam) * (rng.uniform(250, 350) - middle[2])


def known_thing(kind, rng, canal, tooth, middle, source):
    """Return the true ends or course of the thing of known length in space, its length, and how it is placed."""
    length, along, points = canal
    if kind in ("in canal", "borrowed"):
        reach = length - rng.uniform(0.2, 3)
        course = np.column_stack([np.interp(np.linspace(0, reach, 6), along, points[:, k]) for k in range(3)])
        turn, aside = tooth, np.zeros(3)
        if kind == "borrowed":
            turn, aside = tooth @ turned(rng, 5, 5), np.array([4, 0, rng.uniform(-3, 3)])
        return course @ turn.T + middle + aside, reach, "in_canal"
    size = {"wire": 15.0, "beads": 10.0, "ball": 5.0, "calibrated header": 15.0}[kind]
    depth = rng.uniform(-4, 4)
    if kind == "ball":  # the ends of a diameter across the beam
        centre = middle + np.array([6, 0, max(depth, 3 - middle[2])])
        across = np.cross(source - centre, (0, 1, 0))
        across *= size / 2 / np.linalg.norm(across)
        return np.array([centre - across, centre + across]), size, "beside"
    ends = np.array([[0, -size / 2, 0], [0, size / 2, 0]]) @ (tooth @ turned(rng, 5, 4)).T + middle
    ends += np.array([6, 0, max(depth, 0.3 - ends[:, 2].min())])
    return ends, size, "beside"


def pixels(rng, points, source, spread, size):
    """Return the clicks on points in space, (row, column) pixels."""
    clicked = shadow(points, source) + rng.normal(0, 1, (len(points), 2)) * np.array(spread)[:, None] * size
    return clicked[:, ::-1] / PITCH + 900


def holds(kind, rng, marking, limit):
    canal = canal_in_space(rng)
    length, along, points = canal
    tooth, middle, source = placed(rng, points)
    size = source[2] / (source[2] - middle[2])
    course = np.column_stack([np.interp(np.linspace(0, length, 8), along, points[:, k]) for k in range(3)])
    spread = [marking.stop_mm, *[marking.path_mm] * 6, marking.apex_mm]
    path = pixels(rng, course @ tooth.T + middle, source, spread, size)
    pitch, meaning, tool = PITCH, "detector", None
    if kind == "assumed header":
        pitch, meaning = PITCH / 1.05, "geometry"
    elif kind == "unclear header":
        pitch, meaning = PITCH / rng.choice([1, 1.05]), "undetermined"
    elif kind != "detector header":
        thing, known_mm, placement = known_thing(kind, rng, canal, tooth, middle, source)
        if kind == "calibrated header":
            pitch = PITCH * known_mm / np.linalg.norm(np.diff(shadow(thing, source), axis=0))
            meaning = "fiducial"
        else:
            first = marking.stop_mm if placement == "in_canal" else marking.tip_mm
            spread = [first, *[marking.path_mm] * (len(thing) - 2), marking.tip_mm]
            clicks = pixels(rng, thing, source, spread, size)
            other = "DB" if kind == "borrowed" else None
            told_mm = known_mm + rng.uniform(-limit, limit)
            tool = Reference(clicks, told_mm, limit, placement, canal=other)
    image = Radiograph.from_array(
        np.zeros((4, 4), np.uint8), row_mm=pitch[0], column_mm=pitch[1], meaning=meaning
    )
    found = estimate_length(Canal("11", "MB", path), tool, radiograph=image, marking=marking).canal_length
    return found.low_mm <= length <= found.high_mm


@pytest.mark.parametrize("marking", [Marking(), Marking(0.05, 0.05, 0.05, 0.05)], ids=["default", "careful"])
@pytest.mark.parametrize(
    "kind",
    [
        "in canal",
        "borrowed",
        "wire",
        "beads",
        "ball",
        "calibrated header",
        "assumed header",
        "detector header",
        "unclear header",
    ],
)
def test_the_interval_holds_the_true_length(kind, marking):
    rng = np.random.default_rng(20_260)
    assert sum(holds(kind, rng, marking, 0.1) for _ in range(SCENES)) >= FEWEST
