"""Where foramen and constriction usually lie: shown apart from the measured interval, never mixed into it."""

from __future__ import annotations

from dataclasses import dataclass

from radlength.trade.teeth import arch, is_posterior

CONSTRICTION_MM = (0.5, 1.0)
"""From foramen to constriction, in millimetres (Williams 2007, introduction)."""


@dataclass(frozen=True, slots=True)
class AnatomicalBand:
    """Usual distances back from the root tip, in millimetres.

    Parameters
    ----------
    foramen_mm
        Mean distance from the root tip to the major foramen.
    constriction_mm
        Usual distances from the root tip to the constriction, low and high; many roots have none.
    source
        Who measured it.
    """

    foramen_mm: float
    constriction_mm: tuple[float, float]
    source: str

    @property
    def words(self) -> str:
        """The band as one sentence."""
        low, high = self.constriction_mm
        return (
            f"On average the foramen opens {self.foramen_mm:g} mm short of the root tip and the constriction, "
            f"where there is one, lies {low:.1f} to {high:.1f} mm short ({self.source}); "
            "a single root may differ by more than a millimetre."
        )

    def as_dict(self) -> dict[str, object]:
        """Return the band as plain data."""
        return {
            "foramen_mm": self.foramen_mm,
            "constriction_mm": list(self.constriction_mm),
            "source": self.source,
            "words": self.words,
        }


def anatomical_band(iso: str) -> AnatomicalBand:
    """Return the band of a tooth (Martos et al. 2009: 926 teeth; constriction by Williams 2007).

    Examples
    --------
    >>> anatomical_band("11").foramen_mm, anatomical_band("16").foramen_mm
    (0.39, 0.95)
    """
    if not is_posterior(iso):
        foramen = 0.39
    elif int(iso[1]) >= 6:
        foramen = 0.95 if arch(iso) == "maxillary" else 0.80
    else:
        foramen = 0.87 if arch(iso) == "mandibular" else 0.82
    low, high = CONSTRICTION_MM
    return AnatomicalBand(
        foramen, (foramen + low, foramen + high), "Martos et al. 2009, Int Endod J; Williams 2007"
    )
