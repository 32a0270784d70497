"""How strongly each material weakens the beam, at three energies that stand for a dental spectrum.

Values from memory, of the published element tables of Hubbell and Seltzer (NIST, 1995), mixed by mass: nobody
has read them again for this table. They give a picture its contrast; no length depends on them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float32]

ENERGIES_KEV = (30.0, 40.0, 50.0)
"""Three lines in place of the detected spectrum of a 65 kV tube."""

WEIGHTS = (0.50, 0.32, 0.18)
"""Share of each line in the detected energy: mean 36.8 keV."""


@dataclass(frozen=True, slots=True)
class Material:
    """A material, with its linear attenuation in 1/mm at each of the energies."""

    name: str
    per_mm: tuple[float, float, float]


SOFT = Material("soft tissue, water", (0.0379, 0.0272, 0.0229))
ENAMEL = Material("enamel: 95 % hydroxyapatite, 2.9 g/cm3", (0.583, 0.276, 0.165))
DENTINE = Material("dentine: 70 % hydroxyapatite, 2.14 g/cm3", (0.336, 0.164, 0.102))
BONE = Material("cortical bone, 1.92 g/cm3", (0.256, 0.128, 0.0815))
STEEL = Material("stainless steel, 7.9 g/cm3", (6.5, 2.9, 1.57))
RUBBER = Material("silicone rubber, 1.15 g/cm3", (0.085, 0.049, 0.036))
FILLING = Material("silver-tin filling alloy, 10 g/cm3", (38.0, 18.5, 10.2))


def transmission(paths_mm: dict[Material, FloatArray]) -> FloatArray:
    """Return the share of detected energy that passes, for path lengths through materials.

    Parameters
    ----------
    paths_mm
        Millimetres of ray in each material, arrays of one shape.

    Returns
    -------
    ndarray
        Float32, 0 to 1: the sum over energies of weight x exp(-sum of attenuation x path), the law of Beer
        and Lambert.

    Examples
    --------
    >>> float(transmission({STEEL: np.zeros(1, np.float32)})[0])
    1.0
    """
    total: FloatArray | None = None
    for line, weight in enumerate(WEIGHTS):
        thickness: FloatArray | None = None
        for material, path in paths_mm.items():
            part = path * np.float32(-material.per_mm[line])
            thickness = part if thickness is None else np.add(thickness, part, out=thickness)
        if thickness is None:
            break
        np.exp(thickness, out=thickness)
        thickness *= np.float32(weight)
        total = thickness if total is None else np.add(total, thickness, out=total)
    return np.ones(1, np.float32) if total is None else total
