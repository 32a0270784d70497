"""How much larger a tooth is shown on a periapical image, where nothing in the image tells."""

from __future__ import annotations

from dataclasses import dataclass

from radlength.trade.status import Status


@dataclass(frozen=True, slots=True)
class MagnificationPrior:
    """A range of magnifications, all equally likely.

    Parameters
    ----------
    low, high
        Ends of the range.
    odd_low, odd_high
        Outside these a value is a finding: a shadow is smaller than its object only where that leans along the beam,
        and 1.3 is more than twice the largest excess measured (common practice, no source).
    source
        Who measured the range.
    status
        How well it is known.
    """

    low: float
    high: float
    odd_low: float
    odd_high: float
    source: str
    status: Status


def magnification_prior() -> MagnificationPrior:
    """Return the range: 3.40 % on film with a long cone to 9.47 % on a sensor, rounded outwards.

    Examples
    --------
    >>> magnification_prior().low, magnification_prior().high
    (1.03, 1.1)
    """
    return MagnificationPrior(1.03, 1.10, 1.0, 1.3, "Lazzerini 1996, Radiol Med", "read")
