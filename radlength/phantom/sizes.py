"""Measures of each kind of tooth. Invented proportions, within what textbooks show, from memory."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Sizes:
    """Measures of one kind of tooth, millimetres.

    Parameters
    ----------
    crown
        Height of the crown, cusp tip to its neck.
    neck, widest
        Half-widths (x, z) at the neck and at the widest place.
    root, tip
        Half-widths (x, z) of a root where it begins and above its rounded tip.
    trunk
        Height from the neck to where roots part; 0 for one root.
    cusps
        (x, z, drop) of every cusp tip, the drop from the highest one.
    squareness
        Exponent of the crown's section: 2 is an ellipse.
    """

    crown: float
    neck: tuple[float, float]
    widest: tuple[float, float]
    root: tuple[float, float]
    tip: tuple[float, float]
    trunk: float
    cusps: tuple[tuple[float, float, float], ...]
    squareness: float = 2.4


PREMOLAR = Sizes(
    crown=8.2,
    neck=(2.5, 3.3),
    widest=(3.5, 4.0),
    root=(2.45, 3.2),
    tip=(0.95, 1.1),
    trunk=0.0,
    cusps=((0.1, 1.2, 0.0), (0.5, -2.4, 1.5)),
)
LOWER_MOLAR = Sizes(
    crown=7.4,
    neck=(4.5, 4.2),
    widest=(5.4, 5.0),
    root=(2.15, 2.0),
    tip=(0.9, 0.85),
    trunk=3.2,
    cusps=((2.7, 2.5, 0.1), (-0.9, 2.6, 0.4), (2.5, -2.6, 0.0), (-2.4, -2.5, 0.3), (-3.9, 1.4, 0.9)),
    squareness=2.8,
)
UPPER_MOLAR = Sizes(
    crown=7.3,
    neck=(4.0, 5.0),
    widest=(5.1, 5.4),
    root=(1.9, 1.9),
    tip=(0.85, 0.85),
    trunk=3.6,
    cusps=((2.5, 2.8, 0.0), (-2.4, 2.7, 0.4), (2.0, -2.9, 0.2), (-2.9, -2.3, 0.9)),
    squareness=2.8,
)
UPPER_CENTRAL = Sizes(
    crown=10.5,
    neck=(3.3, 3.0),
    widest=(4.25, 3.1),
    root=(3.1, 2.9),
    tip=(0.95, 0.95),
    trunk=0.0,
    cusps=((-2.9, 0.0, 0.1), (-1.0, 0.0, 0.0), (1.0, 0.0, 0.0), (2.9, 0.0, 0.25)),
    squareness=3.0,
)
UPPER_LATERAL = replace(
    UPPER_CENTRAL, crown=9.0, neck=(2.5, 2.6), widest=(3.25, 2.8), root=(2.3, 2.5), tip=(0.8, 0.8),
    cusps=((-1.9, 0.0, 0.2), (0.0, 0.0, 0.0), (1.8, 0.0, 0.3)),
)  # fmt: skip
LOWER_CENTRAL = Sizes(
    crown=9.0,
    neck=(1.8, 2.6),
    widest=(2.5, 2.7),
    root=(1.7, 2.6),
    tip=(0.65, 0.85),
    trunk=0.0,
    cusps=((-1.6, 0.0, 0.0), (0.0, 0.0, 0.0), (1.6, 0.0, 0.0)),
    squareness=2.8,
)
LOWER_LATERAL = replace(LOWER_CENTRAL, crown=9.5, neck=(2.0, 2.7), widest=(2.75, 2.9), root=(1.9, 2.7))
LOWER_CANINE = Sizes(
    crown=11.0,
    neck=(2.75, 3.4),
    widest=(3.45, 3.6),
    root=(2.6, 3.3),
    tip=(0.9, 1.0),
    trunk=0.0,
    cusps=((0.3, 0.3, 0.0),),
    squareness=2.4,
)
FIRST_PREMOLAR = replace(
    PREMOLAR, crown=8.5, neck=(2.45, 3.1), widest=(3.45, 3.7), root=(2.35, 3.0), tip=(0.9, 1.0),
    cusps=((0.1, 0.9, 0.0), (0.2, -2.4, 2.6)),
)  # fmt: skip
