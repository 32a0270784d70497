"""The cautions: one place, every output."""

from typing import Final

CAUTION = (
    "An estimate, not a cleared medical device. Apex locator and radiographic confirmation, and the decision, are "
    "the clinician's. Local codes and licensed practice come first."
)
CAUTION_SHORT = "Estimate only: apex locator, radiographic confirmation and the decision are the clinician's."
NOT_CONFIRMED: Final = "estimate, not confirmed"
