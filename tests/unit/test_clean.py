from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from radlength.clean import cell, clean


@given(st.text(max_size=400))
def test_nothing_that_steers_survives(text: str) -> None:
    shown = clean(text)
    assert len(shown) <= 300
    kinds = {unicodedata.category(c) for c in shown if c not in "\u200c\u200d"}
    assert not kinds & {"Cc", "Cf", "Cs", "Zl", "Zp"}


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "\r=", " =", "＝", "\n@"])
def test_no_text_starts_a_formula(start: str) -> None:
    """Starts that a spreadsheet runs: OWASP, "CSV Injection" (common practice list, from memory)."""
    shown = cell(f"{start}cmd|' /C calc'!A0")
    assert isinstance(shown, str)
    assert shown.startswith("'")


@pytest.mark.parametrize("name", ["Ζωή Παπά", "Jörg Müßig", "王小明", "MB2"])
def test_names_stay_as_they_are(name: str) -> None:
    assert clean(name) == name
    assert cell(name) == name


def test_numbers_stay_numbers() -> None:
    assert cell(-1.5) == -1.5
    assert cell(None) == ""


@pytest.mark.parametrize("text", ["-1.5", "+2", "-1e-05", "0"])
def test_a_number_as_text_stays_one(text: str) -> None:
    assert cell(text) == text


@pytest.mark.parametrize("text", ["-1+1", "-inf", "+1_0", "-1.", "-A1", "-１"])
def test_what_is_not_quite_a_number_starts_no_formula(text: str) -> None:
    assert cell(text) == f"'{text}"
