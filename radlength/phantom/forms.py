"""One-rooted teeth other than the second premolar, each between its neighbours. Invented proportions.

Toward -x is distal. Lengths of neighbours are average ones of the tables; that of the tooth is its canal's.
"""

from __future__ import annotations

from radlength.phantom.scene import Form
from radlength.phantom.sizes import (
    FIRST_PREMOLAR,
    LOWER_CANINE,
    LOWER_CENTRAL,
    LOWER_LATERAL,
    PREMOLAR,
    UPPER_CENTRAL,
    UPPER_LATERAL,
    Sizes,
)
from radlength.trade import tooth_length


def _beside(tooth: str, sizes: Sizes) -> tuple[Sizes, float]:
    found = tooth_length(tooth)
    assert found is not None  # noqa: S101 - permanent teeth only
    return sizes, found.overall_mm


FORMS: dict[str, Form] = {
    form.tooth: form
    for form in (
        Form("44", FIRST_PREMOLAR, (_beside("45", PREMOLAR), _beside("43", LOWER_CANINE))),
        Form("43", LOWER_CANINE, (_beside("44", FIRST_PREMOLAR), _beside("42", LOWER_LATERAL))),
        Form("41", LOWER_CENTRAL, (_beside("42", LOWER_LATERAL), _beside("31", LOWER_CENTRAL))),
        Form("21", UPPER_CENTRAL, (_beside("22", UPPER_LATERAL), _beside("11", UPPER_CENTRAL)), upper=True),
    )
}
"""By the number of the tooth, ISO 3950."""
