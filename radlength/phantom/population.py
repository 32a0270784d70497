"""The population scenes are drawn from, and building a scene from the numbers drawn.

The spreads are an assumption, not a survey: they say what a study on these scenes is about. Every number is
drawn in a fixed order, so giving one of them by hand leaves all others as they were.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import get_args

import numpy as np

from radlength.errors import PhantomError
from radlength.phantom.projection import View
from radlength.phantom.references import references
from radlength.phantom.scene import KINDS, Instrument, Kind, Scene, Shown
from radlength.phantom.teeth import canals_of


@dataclass(frozen=True, slots=True)
class Draw:
    """The numbers one scene is built from. Degrees and millimetres.

    Parameters
    ----------
    theta_deg, phi_error_deg
        Detector tilt, and deviation of the vertical tube angle from half of it.
    phi_deg
        Vertical tube angle; ``None`` for ``theta / 2 + phi_error``.
    horizontal_deg, yaw_deg, roll_deg
        Horizontal tube angle, turns of the detector.
    depth_mm
        Middle of the tooth to detector; at least 3 mm + 11 mm x sin(theta), so the detector clears the tooth.
    sdd_mm
        Source to detector.
    length_mm
        Length of the (first) canal.
    bend_deg, azimuth_deg, bend_mm
        Apical bend, its direction (90 along the beam) and the length it takes.
    s_bend_deg
        Deflection half way.
    gap_mm
        Instrument tip to foramen along the canal.
    inclination_deg, lean_deg
        The tooth's turn about x and about z.
    reference_depth_mm, reference_tilt_deg, reference_lean_deg
        The references beside: offset toward the tube, turn about x and about z.
    """

    theta_deg: float
    phi_error_deg: float
    horizontal_deg: float
    yaw_deg: float
    roll_deg: float
    depth_mm: float
    sdd_mm: float
    length_mm: float
    bend_deg: float
    azimuth_deg: float
    s_bend_deg: float
    gap_mm: float
    reference_depth_mm: float
    reference_tilt_deg: float
    reference_lean_deg: float
    inclination_deg: float
    lean_deg: float
    bend_mm: float = 7.0
    phi_deg: float | None = None


MOST_BEND_DEG = 90.0
NAMES = tuple(field.name for field in fields(Draw))
"""What :func:`random_scene` lets you set by hand."""


def draw(rng: np.random.Generator) -> Draw:
    """Draw the numbers of one scene.

    Parameters
    ----------
    rng
        Where the numbers come from.

    Notes
    -----
    theta U(0, 25); phi = theta / 2 + N(0, 5); horizontal and yaw N(0, 5); roll N(0, 4); depth U(4, 12);
    source U(250, 350); length U(18, 25); bend U(0, 40) over 7 mm in direction U(0, 360); S-bend N(0, 5);
    gap U(0.5, 4);
    reference depth U(-4, 4), tilt N(0, 5), lean N(0, 4); tooth inclination N(0, 5), lean N(0, 3).
    """
    u, z = rng.random(8).tolist(), rng.standard_normal(9).tolist()
    return Draw(
        theta_deg=25 * u[0],
        phi_error_deg=5 * z[0],
        horizontal_deg=5 * z[1],
        yaw_deg=5 * z[2],
        roll_deg=4 * z[3],
        depth_mm=4 + 8 * u[1],
        sdd_mm=250 + 100 * u[2],
        length_mm=18 + 7 * u[3],
        bend_deg=40 * u[4],
        azimuth_deg=360 * u[5],
        s_bend_deg=5 * z[4],
        gap_mm=0.5 + 3.5 * u[6],
        reference_depth_mm=-4 + 8 * u[7],
        reference_tilt_deg=5 * z[5],
        reference_lean_deg=4 * z[6],
        inclination_deg=5 * z[7],
        lean_deg=3 * z[8],
    )


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
