"""Where foramen and constriction usually lie: shown apart from the measured interval, never mixed into it."""

from __future__ import annotations

from dataclasses import dataclass

from radlength.trade.status import Status
from radlength.trade.teeth import arch, is_deciduous, is_posterior

CONSTRICTION_MM = (0.5, 1.0)
"""From foramen to constriction, in millimetres (Williams 2007, introduction)."""

_MARTOS_MM = {
    "anterior": 0.39,
    "maxillary premolar": 0.82,
    "mandibular premolar": 0.87,
    "maxillary molar": 0.95,
    "mandibular molar": 0.80,
}
"""Mean from root tip to foramen; 0.82 is the mean of all posterior teeth (Martos 2009, 926 teeth)."""

_BURCH_HULEN_MM = 0.59
_BURCH_HULEN_GROUPS_MM = {("mandibular", "12"): 0.46, ("mandibular", "678"): 0.78}
"""The same mean in another set, all teeth, and the two groups it prints, of lower molars that of their distal roots
(Burch & Hulen 1972, 877 teeth)."""

_MICRO_CT_MM = {
    ("maxillary", "6"): (0.81, 1.02),
    ("maxillary", "7"): (0.43, 0.63),
    ("mandibular", "6"): (0.95, 1.05),
    ("mandibular", "7"): (0.78, 0.81),
}
"""Lowest and highest mean of the roots, root tip to the narrowest point (Int J Oral Sci 2017, 1727 foramina)."""


@dataclass(frozen=True, slots=True)
class AnatomicalBand:
    """Usual distances back from the root tip, in millimetres.

    Parameters
    ----------
    foramen_mm
        Mean distance from the root tip to the major foramen.
    foramen_range_mm
        Lowest and highest published mean of that distance: how far studies differ, not how far roots do.
    constriction_mm
        Usual distances from the root tip to the constriction, low and high; many roots have none.
    source
        Who measured it.
    status
        How well the values are known.
    """

    foramen_mm: float
    foramen_range_mm: tuple[float, float]
    constriction_mm: tuple[float, float]
    source: str
    status: Status

    @property
    def words(self) -> str:
        """The band as one sentence."""
        low, high = self.constriction_mm
        return (
            f"On average the foramen opens {self.foramen_mm:g} mm short of the root tip and the constriction, "
            f"where there is one, lies {low:g} to {high:g} mm short ({self.source}); "
            "a single root may differ by more than a millimetre."
        )

    def as_dict(self) -> dict[str, object]:
        """Return the band as plain data."""
        return {
            "foramen_mm": self.foramen_mm,
            "foramen_range_mm": list(self.foramen_range_mm),
            "constriction_mm": list(self.constriction_mm),
            "source": self.source,
            "status": self.status,
            "words": self.words,
        }


def _group(iso: str) -> str:
    if not is_posterior(iso):
        return "anterior"
    return f"{arch(iso)} {'molar' if int(iso[1]) >= 6 else 'premolar'}"


def _second_mean_mm(iso: str) -> float:
    for (jaw, positions), mean in _BURCH_HULEN_GROUPS_MM.items():
        if arch(iso) == jaw and iso[1] in positions:
            return mean
    return _BURCH_HULEN_MM


def anatomical_band(iso: str) -> AnatomicalBand | None:
    """Return the band of a permanent tooth; ``None`` for a deciduous one, which no study here measured.

    Notes
    -----
    Foramen: Martos et al. 2009 by tooth group, beside Burch & Hulen 1972. Constriction: 0.5 to 1.0 mm further
    (Williams 2007), widened for first and second molars by the means a micro-CT study measured directly.

    Examples
    --------
    >>> anatomical_band("11").foramen_mm, anatomical_band("16").foramen_mm
    (0.39, 0.95)
    >>> anatomical_band("31").foramen_range_mm
    (0.39, 0.46)
    """
    if is_deciduous(iso):
        return None
    foramen = _MARTOS_MM[_group(iso)]
    means = sorted((foramen, _second_mean_mm(iso)))
    low, high = (round(mean + further, 2) for mean, further in zip(means, CONSTRICTION_MM, strict=True))
    source = "Martos et al. 2009, Int Endod J; Burch & Hulen 1972; Williams 2007"
    direct = _MICRO_CT_MM.get((arch(iso), iso[1]))
    if direct is not None:
        low, high = min(low, direct[0]), max(high, direct[1])
        source += "; Int J Oral Sci 2017"
    return AnatomicalBand(foramen, (means[0], means[1]), (low, high), source, "read")
