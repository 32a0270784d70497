"""The job itself: canal length, working length, length confirmation, and the doubts about them."""

from radlength.length.canal import Canal
from radlength.length.confirmation import Confirmation, confirm_length
from radlength.length.estimate import ALGORITHM, Estimate, estimate_length
from radlength.length.narrow import Narrower, narrower
from radlength.length.terminus import Terminus

__all__ = [
    "ALGORITHM",
    "Canal",
    "Confirmation",
    "Estimate",
    "Narrower",
    "Terminus",
    "confirm_length",
    "estimate_length",
    "narrower",
]
