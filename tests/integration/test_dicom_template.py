"""A report against the templates of DICOM PS3.16 (TID 1500, 1501, 300), as another program knows them."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pydicom
import pytest
from helpers.archive_images import mark, write_image
from pydicom.dataset import Dataset

from radlength.dicom import write_documents

JAR = Path("/usr/share/java/pixelmed.jar")
XPATH = [f"-Djdk.xml.xpath{limit}=0" for limit in ("ExprGrpLimit", "ExprOpLimit", "TotalOpLimit")]
"""The rules of the templates are longer than newer Java allows an expression to be."""

UNCERTAINTY = {"371884006", "371886008", "371885007", "STD-U"}
"""Uncertainties of a measurement (TID 310)."""


@pytest.fixture(scope="module")
def said(tmp_path_factory) -> dict[str, list[str]]:
    """What the validator says of a report, of one without uncertainties, and of one with a wrong relation."""
    if shutil.which("java") is None or not JAR.is_file():
        pytest.skip("java and pixelmed-apps are not installed")
    folder = tmp_path_factory.mktemp("template")
    image = write_image(folder / "tooth.dcm")
    mark(image)
    whole = next(one.path for one in write_documents(image) if one.document.kind == "sr")
    files = {
        "whole": whole,
        "bare": _changed(whole, folder / "bare.dcm", _without_uncertainties),
        "planted": _changed(whole, folder / "planted.dcm", _with_a_wrong_relation),
    }
    running = {name: _validator(path) for name, path in files.items()}
    return {name: one.communicate(timeout=300)[0].splitlines() for name, one in running.items()}


def _validator(path: Path) -> subprocess.Popen[str]:
    java = ["java", "-XX:TieredStopAtLevel=1", "-XX:+UseSerialGC", *XPATH, "-cp", str(JAR)]
    return subprocess.Popen(
        [*java, "com.pixelmed.validate.DicomSRValidator", str(path)],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )


def _changed(source: Path, target: Path, change) -> Path:
    report = pydicom.dcmread(source)
    change(report)
    report.save_as(target)
    return target


def _code(item: Dataset) -> str:
    return item.ConceptNameCodeSequence[0].CodeValue if "ConceptNameCodeSequence" in item else ""


def _without_uncertainties(item: Dataset) -> None:
    children = item.get("ContentSequence", [])
    kept = [child for child in children if _code(child) not in UNCERTAINTY]
    if kept:
        item.ContentSequence = kept
    elif children:
        del item.ContentSequence
    for child in kept:
        _without_uncertainties(child)


def _with_a_wrong_relation(report: Dataset) -> None:
    _without_uncertainties(report)
    language = next(child for child in report.ContentSequence if _code(child) == "121049")
    language.RelationshipType = "CONTAINS"


def _errors(lines: list[str]) -> list[str]:
    assert "Found Root Template TID_1500 (MeasurementReport)" in lines
    assert "IOD validation complete" in lines
    return [line for line in lines if line.startswith("Error")]


def test_a_report_follows_the_template_of_measurement_reports(said):
    """The validator takes any number below a number for one it was inferred from, an uncertainty too; nothing else."""
    for line in _errors(said["whole"]):
        assert "expected INFERRED FROM - found HAS PROPERTIES" in line
        assert any(f"({code}," in line.rsplit("/NUM", 1)[1] for code in UNCERTAINTY)
    assert _errors(said["bare"]) == []


def test_what_is_not_in_the_template_is_only_what_it_leaves_open(said):
    """TID 1501 is extensible: our own codes may stand beside its rows, nothing else."""
    more = [line for line in said["whole"] if line.startswith("Warning")]
    assert all("99RADLENGTH" in line and "Content Item not in template" in line for line in more)


def test_a_wrong_relation_is_found(said):
    assert any("Language" in line and "Incorrect relationship" in line for line in _errors(said["planted"]))
