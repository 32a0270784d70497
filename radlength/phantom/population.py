"""Building a scene of the population from the numbers drawn for it."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import get_args

import numpy as np

from radlength.errors import PhantomError
from radlength.phantom.draw import NAMES, Draw, draw
from radlength.phantom.projection import View
from radlength.phantom.references import references
from radlength.phantom.scene import KINDS, Instrument, Kind, Scene, Shown
from radlength.phantom.teeth import canals_of

MOST_BEND_DEG = 90.0


def random_scene(
    seed: int,
    *,
    kind: Kind | str = "single",
    instruments: int = 1,
    shown: tuple[Shown, ...] = ("wire", "ball"),
    pitch_mm: float = 0.025,
    shape_px: tuple[int, int] = (1400, 1040),
    **given: float,
) -> Scene:
    """Return one scene of the population.

    Parameters
    ----------
    seed
        Same seed and same parameters, same scene.
    kind
        What kind of tooth.
    instruments
        In how many canals an instrument lies, counted from the first.
    shown
        References beside the tooth that a picture shows.
    pitch_mm, shape_px
        Pixel pitch; rows and columns of the image.
    **given
        Any field of :class:`Draw`, in place of the number drawn.

    Raises
    ------
    PhantomError
        A seed that is none, an unknown kind, reference or parameter, or numbers no scene can be built from.

    Examples
    --------
    >>> scene = random_scene(7, bend_deg=30.0, azimuth_deg=90.0, gap_mm=1.5)
    >>> print(f"{scene.gap_mm(scene.instruments[0]):.1f}")
    1.5
    """
    if isinstance(seed, bool) or not isinstance(seed, int) or seed < 0:
        raise PhantomError(f"a seed {seed!r}", "a whole number, 0 or more", code="phantom-seed")
    found = _check(kind, shown, given)
    if isinstance(instruments, bool) or not isinstance(instruments, int) or instruments < 0:
        raise PhantomError(
            f"{instruments!r} instruments", "a whole number, 0 or more", code="phantom-instruments"
        )
    rng = np.random.default_rng(seed)
    numbers = replace(draw(rng), **given)
    canals = canals_of(found, numbers, rng)
    wire, rod, ball, marker = references(numbers)
    tools = tuple(_instrument(canal.name, canal.length_mm, numbers.gap_mm) for canal in canals[:instruments])
    return Scene(
        kind=found,
        seed=seed,
        canals=canals,
        instruments=tools,
        wire=wire,
        rod=rod,
        ball=ball,
        marker=marker,
        view=_view(numbers, found, pitch_mm, shape_px),
        shown=frozenset(shown),
        bend_deg=canals[0].bends.angle_deg,
        azimuth_deg=canals[0].bends.azimuth_deg,
    )


def _check(kind: str, shown: tuple[str, ...], given: dict[str, float]) -> Kind:
    found = next((name for name in KINDS if name == kind), None)
    if found is None:
        raise _unknown(kind, KINDS, "phantom-kind")
    for name in shown:
        if name not in get_args(Shown):
            raise _unknown(name, get_args(Shown), "phantom-reference")
    for name, value in given.items():
        if name not in NAMES:
            raise _unknown(name, NAMES, "phantom-parameter")
        if name not in ("length_mm", "gap_mm") and not (value is not None and math.isfinite(value)):
            raise PhantomError(f"{name} of {value}", "a number", code="phantom-parameter")
    bend_deg = given.get("bend_deg", 0.0)
    if not -MOST_BEND_DEG <= bend_deg <= MOST_BEND_DEG:
        raise PhantomError(
            f"an apical bend of {bend_deg:g}°", f"up to {MOST_BEND_DEG:g}° either way", code="phantom-bend"
        )
    return found


def _unknown(value: str, allowed: tuple[str, ...], code: str) -> PhantomError:
    return PhantomError(f"{value!r} in a simulated scene", ", ".join(allowed), code=code)


def _instrument(canal: str, length_mm: float, gap_mm: float) -> Instrument:
    if not (math.isfinite(gap_mm) and 0 <= gap_mm < length_mm - 1):
        raise PhantomError(
            f"a tip {gap_mm} mm short in a canal of {length_mm:.1f} mm",
            "0 mm up to the length of the canal less 1 mm",
            code="phantom-gap",
            subject=canal,
        )
    return Instrument(canal, length_mm - gap_mm)


def _view(numbers: Draw, kind: Kind, pitch_mm: float, shape_px: tuple[int, int]) -> View:
    phi = numbers.theta_deg / 2 + numbers.phi_error_deg if numbers.phi_deg is None else numbers.phi_deg
    return View(
        theta_deg=numbers.theta_deg,
        phi_deg=phi,
        horizontal_deg=numbers.horizontal_deg,
        yaw_deg=numbers.yaw_deg,
        roll_deg=numbers.roll_deg,
        depth_mm=max(numbers.depth_mm, 3 + 11 * math.sin(math.radians(numbers.theta_deg))),
        sdd_mm=numbers.sdd_mm,
        pitch_mm=pitch_mm,
        shape_px=shape_px,
        roots_up=kind == "upper_molar",
    )
