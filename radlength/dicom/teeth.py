"""Teeth as DICOM codes them: ISO 3950 numbers to SNOMED CT codes of CID 4018 (permanent) and 4019 (deciduous).

Source: PS3.16 CID 4018 and 4019; PS3.3 C.8.11.9.1.1 says that they correspond to ISO 3950. The table beside this
module is checked against the code dictionary of pydicom by a test.
"""

from __future__ import annotations

import json
from functools import cache
from importlib.resources import files

from radlength.trade import check_tooth

Coded = tuple[str, str]
"""Code value and meaning."""


@cache
def _table() -> dict[str, Coded]:
    raw = json.loads((files("radlength.dicom") / "teeth.json").read_text(encoding="utf-8"))
    return {iso: (value, meaning) for iso, (value, meaning) in raw.items()}


@cache
def _numbers() -> dict[str, str]:
    return {value: iso for iso, (value, _) in _table().items()}


def tooth_code(iso: str) -> Coded:
    """Return the SNOMED CT code and the meaning of a tooth.

    Raises
    ------
    TradeError
        No such tooth.

    Examples
    --------
    >>> tooth_code("46")
    ('866005003', 'Mandibular right first molar tooth')
    """
    return _table()[check_tooth(iso)]


def tooth_number(value: str) -> str | None:
    """Return the ISO 3950 number of a SNOMED CT code, or ``None`` where it codes no tooth.

    Examples
    --------
    >>> tooth_number("866005003"), tooth_number("1")
    ('46', None)
    """
    return _numbers().get(value)
