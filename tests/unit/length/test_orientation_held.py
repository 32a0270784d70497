"""What a header says of tooth and side against the tooth that is typed (PS3.3 C.8.11.9 and C.7.6.1.1.1; ISO 3950)."""

import pytest

from radlength.imaging.radiograph import FileFacts
from radlength.length.orientation import orientation_doubts


def told(tooth, **facts):
    return {finding.code: finding.severity for finding in orientation_doubts(tooth, FileFacts(**facts))}


def test_another_tooth_than_the_header_names_is_serious():
    assert told("36", tooth_codes=("46",)) == {"tooth-not-in-header": "serious"}
    assert told("45", tooth_codes=("46", "47")) == {"tooth-not-in-header": "serious"}


def test_a_tooth_that_the_header_names_among_others_is_not_asked_about_nor_is_one_of_a_silent_header():
    assert told("46", tooth_codes=("45", "46", "47")) == {}
    assert told("46") == {}


@pytest.mark.parametrize(
    ("tooth", "letter", "wrong"),
    [
        ("46", "R", False),
        ("46", "L", True),
        ("26", "L", False),
        ("26", "R", True),
        ("55", "L", True),
        ("65", "L", False),
    ],
)
def test_the_first_figure_of_a_tooth_tells_its_side(tooth, letter, wrong):
    """Quadrants 1, 4, 5 and 8 are the patient's right (ISO 3950); "B", both sides, contradicts none."""
    assert told(tooth, image_laterality=letter) == ({"laterality": "serious"} if wrong else {})
    assert told(tooth, image_laterality="B") == {}


@pytest.mark.parametrize(
    ("tooth", "columns", "mirrored"),
    [
        *[("46", "A", False), ("46", "L", False), ("46", "P", True), ("46", "R", True)],
        *[("36", "P", False), ("36", "L", False), ("36", "A", True), ("36", "R", True)],
    ],
)
def test_across_the_image_a_right_tooth_runs_forward_and_a_left_one_backward(tooth, columns, mirrored):
    """The patient's right lies at the left of the image, so columns never run toward the right."""
    assert ("orientation-mirrored" in told(tooth, patient_orientation=(columns, "F"))) is mirrored


def test_a_header_that_runs_toward_the_head_is_upside_down():
    assert "orientation-upside-down" in told("46", patient_orientation=("A", "H"))
    assert "orientation-upside-down" not in told("46", patient_orientation=("A", "F"))
