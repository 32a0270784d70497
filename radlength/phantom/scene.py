"""What stands before the film, in space: canals, instruments, references. Values only, no drawing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from radlength.errors import PhantomError
from radlength.phantom.curve import CanalCurve
from radlength.phantom.projection import View
from radlength.phantom.sizes import Sizes

FloatArray = NDArray[np.float64]

Kind = Literal["single", "lower_molar", "upper_molar", "s_bend", "wide_apex"]
"""One root; two roots; three roots; one root bent twice; one root with an open apex."""

KINDS: tuple[Kind, ...] = ("single", "lower_molar", "upper_molar", "s_bend", "wide_apex")

Shown = Literal["wire", "ball", "rod", "marker"]
"""The references beside a tooth that a picture may show."""


@dataclass(frozen=True, slots=True)
class Form:
    """Which one-rooted tooth a scene shows, in place of the one its kind stands for.

    Parameters
    ----------
    tooth
        Its number by ISO 3950.
    own
        Its measures.
    beside
        Measures and overall length, millimetres, of its neighbours toward -x and toward +x.
    upper
        Whether it stands in the upper jaw.
    """

    tooth: str
    own: Sizes
    beside: tuple[tuple[Sizes, float], tuple[Sizes, float]]
    upper: bool = False


@dataclass(frozen=True, slots=True)
class Instrument:
    """A hand instrument in a canal, its stop on the reference point.

    Parameters
    ----------
    canal
        Name of the canal it lies in.
    stop_to_tip_mm
        Length along it from the lower face of the stop to the tip.
    tip_mm
        Diameter at the tip.
    taper
        Growth of the diameter, millimetres a millimetre.
    """

    canal: str
    stop_to_tip_mm: float
    tip_mm: float = 0.15
    taper: float = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class Rod:
    """A straight reference beside the tooth, with marks at known places.

    Parameters
    ----------
    name
        What it is called.
    marks_mm
        World (x, y, z) of its marks, from the crown's side to the apical side, shape (N, 3).
    length_mm
        Distance of the first mark from the last.
    diameter_mm
        Diameter of the rod.
    mark_diameter_mm
        Diameter of a bead or a collar that marks a place.
    """

    name: str
    marks_mm: FloatArray
    length_mm: float
    diameter_mm: float
    mark_diameter_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Ball:
    """A steel ball.

    Parameters
    ----------
    centre_mm
        World (x, y, z).
    diameter_mm
        Its diameter.
    """

    centre_mm: FloatArray
    diameter_mm: float = 5.0


@dataclass(frozen=True, slots=True, eq=False)
class Marker:
    """A rigid set of points of known shape: the beads of the wire, the ball, and three beads more.

    Parameters
    ----------
    shape_mm
        The points in the marker's own frame, shape (N, 3): what a user of the marker knows.
    points_mm
        The same points in the world, shape (N, 3).
    coplanar
        How many of the first points lie in one plane.
    """

    shape_mm: FloatArray
    points_mm: FloatArray
    coplanar: int


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """A simulated tooth with everything whose length is known.

    Parameters
    ----------
    kind, seed
        What it was made from.
    canals
        Every canal, from reference point to foramen.
    instruments
        Instruments in canals; may be empty.
    wire
        Wire with five beads, 20 mm from first to last.
    rod
        Rod with a collar every 2 mm.
    ball
        Steel ball.
    marker
        Points of known shape, not all in one plane.
    view
        The exposure drawn with the scene.
    shown
        References beside the tooth that a picture shows.
    bend_deg, azimuth_deg
        Apical bend of the first canal and its direction, 90 along the beam.
    form
        Which one-rooted tooth it is, where that is not the one its kind stands for.
    """

    kind: Kind
    seed: int
    canals: tuple[CanalCurve, ...]
    instruments: tuple[Instrument, ...]
    wire: Rod
    rod: Rod
    ball: Ball
    marker: Marker
    view: View
    shown: frozenset[Shown]
    bend_deg: float
    azimuth_deg: float
    form: Form | None = None

    def canal(self, name: str | None = None) -> CanalCurve:
        """Return a canal by its name, or the first one.

        Raises
        ------
        PhantomError
            There is no canal of that name.
        """
        for canal in self.canals:
            if name is None or canal.name == name:
                return canal
        raise PhantomError(
            f"canal {name!r}", ", ".join(canal.name for canal in self.canals), code="phantom-canal"
        )

    def gap_mm(self, instrument: Instrument) -> float:
        """Return the length along the canal from an instrument's tip to the foramen, millimetres."""
        return self.canal(instrument.canal).length_mm - instrument.stop_to_tip_mm
