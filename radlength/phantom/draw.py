"""The numbers one scene of the population is built from.

The spreads are an assumption, not a survey: they say what a study on these scenes is about. Every number is
drawn in a fixed order, so giving one of them by hand leaves all others as they were.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np


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
