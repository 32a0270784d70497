from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from radlength.dicom.errors import DicomError
from radlength.dicom.extra import extra_module
from radlength.dicom.words import long_string, person_name, short_text


@given(st.text())
def test_no_typed_text_separates_or_escapes(text):
    for made, most in ((long_string(text), 64), (person_name(text), 64), (short_text(text), 1024)):
        assert len(made) <= most
        assert made.isprintable() or "\u200c" in made or "\u200d" in made
    assert "\\" not in long_string(text) + person_name(text)
    assert "=" not in person_name(text)


@pytest.mark.parametrize(
    "name", ["Παπά^Ζωή", "Müller^Jörg", "Ćwik-Łoś^Żaneta"], ids=["greek", "german", "polish"]
)
def test_names_stay_as_they_are(name):
    assert person_name(name) == name


@pytest.mark.parametrize("extra", ["dicom", "archive"])
def test_a_missing_library_is_named_with_what_installs_it(extra):
    with pytest.raises(
        DicomError, match=rf'needs not_there, which is not installed; pip install "radlength\[{extra}\]"'
    ):
        extra_module("not_there.module", extra)
