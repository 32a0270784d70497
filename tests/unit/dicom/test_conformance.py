"""The conformance statement says what the code does."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import radlength.dicom
from radlength.dicom import archive_dimse as dimse
from radlength.dicom import archive_kinds as kinds
from radlength.dicom import archive_web as web
from radlength.dicom import codes as c
from radlength.dicom.allowed import ALLOWED
from radlength.dicom.archive_commit import PUSH_MODEL
from radlength.dicom.stamp import SOP_CLASSES

TEXT = (Path(radlength.dicom.__file__).parent / "CONFORMANCE.md").read_text(encoding="utf-8")


def _classes() -> set[str]:
    """Return the SOP classes of the table of objects, ends written after dots joined to the first of their line."""
    found = set()
    for line in TEXT.split("### Comprehensive SR")[0].splitlines():
        full = re.findall(r"1\.2\.840[0-9.]+", line)
        found |= set(full)
        for end in re.findall(r"(?<!\d)\.\.\.([0-9.]+)", line):
            stem = full[0].rsplit(".", len(end.split(".")) - (1 if end.startswith("1.3") else 0))[0]
            found.add(f"{stem}.{end}" if not end.startswith("1.3") else f"{full[0]}.1")
    return found


def test_every_class_that_is_fetched_or_written_is_stated():
    code = {*kinds.IMAGES, *kinds.DOCUMENTS, *SOP_CLASSES.values()}
    assert code == _classes()


@pytest.mark.parametrize("uid", [dimse.FIND, dimse.GET, PUSH_MODEL])
def test_every_service_is_stated(uid):
    assert f"({uid})" in TEXT


def test_codes_of_the_statement_are_those_of_the_code():
    known = {
        (code[0], code[1]) for name, code in vars(c).items() if name.isupper() and isinstance(code, tuple)
    }
    stated = set(re.findall(r"\(([A-Z0-9-]+), (DCM|SCT|99RADLENGTH)[,)]", TEXT))
    assert len(stated) >= 15
    assert stated - known == {("113100", "DCM")}


def test_figures_of_the_statement_are_those_of_the_code():
    assert f"{len(ALLOWED)} attributes" in TEXT
    assert f"{web.MOST_BYTES // 1_000_000} MB an answer" in TEXT
    assert f"at most {dimse.MOST_CONTEXTS} an association" in TEXT
    assert {10: "ten"}[len(kinds.COMPRESSED)] + " compressed syntaxes" in TEXT
