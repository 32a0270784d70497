"""The table of teeth is that of the standard: PS3.16 CID 4018 and 4019, as pydicom carries them."""

from __future__ import annotations

import pytest
from pydicom.sr.codedict import codes

from radlength.dicom.codes import SCHEME, SELECTED, own_codes
from radlength.dicom.teeth import _table, tooth_code, tooth_number
from radlength.errors import TradeError

NAMES = {
    "permanent": [
        "central incisor", "lateral", "canine", "first premolar", "second premolar", "first molar", "second molar",
        "third molar",
    ],
    "deciduous": ["central incisor", "lateral", "canine", "first molar", "second molar"],
}  # fmt: skip
QUADRANTS = ["maxillary right", "maxillary left", "mandibular left", "mandibular right"]


def _derived() -> dict[str, tuple[str, str]]:
    """Return the table from the words of the standard alone: dentition, quadrant, position."""
    found: dict[str, tuple[str, str]] = {}
    for group in (codes.cid4018, codes.cid4019):
        for keyword in group.dir():
            code = getattr(group, keyword)
            words = code.meaning.lower()
            kind = "deciduous" if "deciduous" in words else "permanent"
            quadrant = [all(part in words for part in name.split()) for name in QUADRANTS].index(True) + 1
            position = [name in words for name in NAMES[kind]].index(True) + 1
            iso = f"{quadrant + 4 * (kind == 'deciduous')}{position}"
            assert iso not in found
            found[iso] = (code.value, code.meaning)
    return found


def test_the_table_is_that_of_the_standard():
    derived = _derived()
    assert len(derived) == 52
    assert _table() == derived


def test_every_code_leads_back_to_its_tooth():
    assert all(tooth_number(tooth_code(iso)[0]) == iso for iso in _table())


def test_an_unknown_tooth_is_refused():
    with pytest.raises(TradeError, match="49"):
        tooth_code("49")


def test_private_codes_fit_their_attributes():
    """SH holds 16 characters, LO 64 (PS3.5 6.2): pydicom writes longer ones without a word."""
    own = own_codes()
    assert len(own) == len({value for value, _, _ in own}) > 30
    assert len(SCHEME) <= 16
    assert [one for one in own if len(one[0]) > 16 or len(one[2]) > 64] == []


def test_codes_of_the_standard_mean_what_it_says():
    from pydicom.sr._concepts_dict import concepts

    import radlength.dicom.codes as ours

    used = [code for name, code in vars(ours).items() if name.isupper() and isinstance(code, tuple)]
    checked = 0
    for value, scheme, meaning in used:
        known = {
            code: words
            for entries in concepts.get(scheme, {}).values()
            for code, (words, *_) in entries.items()
        }
        if value in known and value != SELECTED[0]:  # pydicom adds the SNOMED class to the word "Source"
            assert known[value] == meaning
            checked += 1
    assert checked >= 35
