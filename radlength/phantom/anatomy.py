"""The tooth round the canals of a scene, its pulp and openings, and its neighbours. Invented proportions."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from radlength.phantom.chords import Tube
from radlength.phantom.curve import Bends, CanalCurve, canal_curve
from radlength.phantom.scene import Kind, Scene
from radlength.phantom.sizes import LOWER_MOLAR, PREMOLAR, UPPER_MOLAR, Sizes
from radlength.phantom.slices import Cavity
from radlength.phantom.tooth import Tooth, tooth_of

FloatArray = NDArray[np.float64]

SIZES: dict[Kind, Sizes] = {
    "single": PREMOLAR,
    "s_bend": PREMOLAR,
    "wide_apex": PREMOLAR,
    "lower_molar": LOWER_MOLAR,
    "upper_molar": UPPER_MOLAR,
}


@dataclass(frozen=True, slots=True, eq=False)
class Anatomy:
    """Everything hard round the canals.

    Parameters
    ----------
    teeth
        The tooth itself, then its neighbours.
    cavities
        Pulp chambers and the opening the instrument goes through.
    pulps
        Canals as tubes, of the tooth and its neighbours.
    fillings
        Fillings in the neighbours, of metal; may be empty.
    """

    teeth: tuple[Tooth, ...]
    cavities: tuple[Cavity, ...]
    pulps: tuple[Tube, ...]
    fillings: tuple[Tube, ...]


def anatomy_of(scene: Scene, y_mm: FloatArray, rng: np.random.Generator) -> Anatomy:
    """Return the teeth of a scene.

    Parameters
    ----------
    scene
        The scene.
    y_mm
        Heights of the grid teeth are told on.
    rng
        Source of what a seed leaves open.
    """
    sizes = scene.form.own if scene.form is not None else SIZES[scene.kind]
    wide = scene.kind == "wide_apex"
    own = tooth_of(scene.canals, sizes, y_mm, rng, open_apex=wide)
    teeth, cavities = [own], [*_chamber(scene, own)]
    pulps = [_pulp(canal, sizes, rng, wide=wide) for canal in scene.canals]
    for side in (-1, 1):
        canals, other = _neighbour(scene, own, side, rng)
        teeth.append(tooth_of(canals, other, y_mm, rng))
        pulps += [_pulp(canal, other, rng) for canal in canals]
        cavities += _closed_chamber(teeth[-1])
    fillings = [_filling(tooth, rng) for tooth in teeth[1:] if tooth.sizes.trunk and rng.random() < 0.5]
    return Anatomy(tuple(teeth), tuple(cavities), tuple(pulps), tuple(fillings))


def _filling(tooth: Tooth, rng: np.random.Generator) -> Tube:
    """Return a filling of the chewing surface: a lump along the middle groove."""
    at = int(np.searchsorted(tooth.y_mm[:, 0], tooth.top_mm + 3.0))
    x, z = float(tooth.crown_x[at, 0]), float(tooth.crown_z[at, 0])
    half = tooth.sizes.widest[0] * rng.uniform(0.35, 0.5)
    along = np.linspace(-half, half, 25)
    knots = np.linspace(-half, half, 7)
    depth = np.interp(along, knots, [0.3, *rng.uniform(0.7, 1.2, 5), 0.3])
    depth = np.convolve(np.pad(depth, 3, mode="edge"), np.full(7, 1 / 7), mode="valid")
    depth *= np.sqrt(np.clip(1 - (along / half) ** 8, 0.001, 1))
    height = tooth.top_mm + 2.6 + np.interp(along, knots, rng.uniform(-0.15, 0.15, 7))
    centres = np.column_stack([x + along, height, np.full(25, z)])
    return Tube(centres, np.tile([1.0, 0.0, 0.0], (25, 1)), depth, stretch=2.0)


def _pulp(canal: CanalCurve, sizes: Sizes, rng: np.random.Generator, *, wide: bool = False) -> Tube:
    """Return a canal as a tube: from its horn in the crown, or a molar's orifice, to the foramen."""
    molar = sizes.trunk > 0
    start = sizes.crown + 0.1 if molar else sizes.crown - 3.6
    neck = sizes.crown + (1.0 if molar else 0.3)
    s = np.linspace(start, canal.length_mm, 36)
    wave = 1 + 0.06 * np.sin(s * rng.uniform(0.8, 1.6) + rng.uniform(0, 6))
    if molar:
        radius = np.interp(s, [start, start + 0.9, start + 3.0, canal.length_mm], [0.05, 0.5, 0.33, 0.13])
    else:
        middle = (neck + canal.length_mm) / 2
        places = [start, start + 1.2, neck, middle, canal.length_mm - 1.2, canal.length_mm]
        radius = np.interp(s, places, [0.10, 0.42, 0.62, 0.36, 0.17, 0.15])
    if wide:
        radius = np.interp(s, [start, start + 1.2, neck, canal.length_mm], [0.15, 0.6, 1.0, 1.05])
    points = canal.at(s)
    tangents = np.gradient(points, axis=0)
    tangents /= np.linalg.norm(tangents, axis=1)[:, None]
    return Tube(points, tangents, radius * wave, stretch=1.2 if molar else 1.7)


def _chamber(scene: Scene, tooth: Tooth) -> list[Cavity]:
    cavities = _closed_chamber(tooth)
    if not scene.instruments:
        return cavities
    xs = [float(canal.points_mm[0, 0]) for canal in scene.canals]
    zs = [float(canal.points_mm[0, 2]) for canal in scene.canals]
    depth = 2.2 if tooth.sizes.trunk else -0.5
    half_x, half_z = (max(xs) - min(xs)) / 2 + 0.75, (max(zs) - min(zs)) / 2 + 0.9
    middle = (max(xs) + min(xs)) / 2, (max(zs) + min(zs)) / 2
    top, bottom = tooth.top_mm - 3.0, tooth.neck_mm + depth - 0.5
    return [*cavities, Cavity(*middle, half_x, half_z, top, bottom, flare=0.22, boxy=8.0)]


def _closed_chamber(tooth: Tooth) -> list[Cavity]:
    """Return the pulp chamber of a molar; of one-rooted teeth it is part of the canal."""
    if not tooth.sizes.trunk:
        return []
    at = int(np.searchsorted(tooth.y_mm[:, 0], tooth.neck_mm))
    x, z = float(tooth.crown_x[at, 0]), float(tooth.crown_z[at, 0])
    half = 0.52 * tooth.sizes.neck[0], 0.45 * tooth.sizes.neck[1]
    body = Cavity(x, z, *half, tooth.neck_mm - 1.2, tooth.neck_mm + 1.7)
    horns = [
        Cavity(
            x + dx * half[0] * 0.7,
            z + dz * half[1] * 0.6,
            0.4,
            0.5,
            tooth.neck_mm - 2.6,
            tooth.neck_mm + 0.6,
            -0.7,
        )
        for dx in (-1, 1)
        for dz in (-1, 1)
    ]
    return [body, *horns]


def _neighbour(
    scene: Scene, own: Tooth, side: int, rng: np.random.Generator
) -> tuple[tuple[CanalCurve, ...], Sizes]:
    molar, length_mm = side < 0, None
    sizes = (UPPER_MOLAR if scene.kind == "upper_molar" else LOWER_MOLAR) if molar else PREMOLAR
    if scene.form is not None:
        sizes, length_mm = scene.form.beside[side > 0]
        molar = sizes.trunk > 0
    sizes = replace(sizes, crown=sizes.crown * rng.uniform(0.93, 1.03))
    centre = float(own.crown_x[int(np.searchsorted(own.y_mm[:, 0], own.top_mm + 3)), 0])
    x = centre + side * (own.sizes.widest[0] + sizes.widest[0] + 0.05)
    top = own.top_mm + rng.uniform(-0.3, 0.7) + (0.4 if molar else 0.0)
    lean = rng.normal(0, 2) + 2.0 * side
    if not molar:
        bends = Bends(rng.uniform(4, 18), rng.choice((0.0, 180.0)), 7.0, lean_x_deg=lean, lean_z_deg=1)
        return (canal_curve("", (x, top, 0.0), _long(length_mm, rng), bends),), sizes
    length = rng.uniform(19, 21)
    mesial = Bends(rng.uniform(15, 25), 180, 8.0, lean_x_deg=9 + lean, lean_z_deg=4)
    distal = Bends(rng.uniform(5, 15), 180, 6.0, lean_x_deg=lean - 9, return_deg=4)
    return (
        canal_curve("", (x + 1.0, top, 1.0), length, mesial),
        canal_curve("", (x + 1.0, top, -1.2), length - 0.4, replace(mesial, lean_z_deg=-3)),
        canal_curve("", (x - 1.0, top, 0.0), length - 0.8, distal),
    ), sizes


def _long(length_mm: float | None, rng: np.random.Generator) -> float:
    """Return the length of a one-rooted neighbour: about an average, or that of a premolar."""
    return float(rng.uniform(20, 22.5) if length_mm is None else length_mm * rng.uniform(0.95, 1.05))
