"""Lengths of a case that come from the record of an image: of the marks, the canal and the picture that they say."""

from datetime import date

import cv2
import numpy as np
import pytest
from helpers.records import GAP, NOON, PATH, canal, reference

from radlength.errors import RecordError
from radlength.imaging import read_radiograph
from radlength.length import Terminus, confirm_length
from radlength.record import (
    Case,
    Record,
    add_canal,
    add_image,
    add_length_of_image,
    load_record,
    measure_entry,
    save_record,
)
from radlength.record.case_files import case_file_findings
from radlength.record.case_findings import case_findings
from radlength.record.case_lengths import correct_length, withdraw_length

TERMINUS = Terminus(offset_mm=1.0)
LONGER = (*PATH[:-1], (991.5, 462.25))


def picture(path, *, seed=1, packed=3):
    grey = np.random.default_rng(seed).integers(40, 200, (1300, 900), dtype=np.uint8)
    path.write_bytes(cv2.imencode(".png", grey, [cv2.IMWRITE_PNG_COMPRESSION, packed])[1].tobytes())
    return path


def recorded(path, tooth="46", name="MB"):
    image = read_radiograph(path)
    record = Record.new(
        image, canals=[canal(tooth, name)], references=[reference()], terminus=TERMINUS, when=NOON
    )
    record = record.with_estimate(
        record.canals[0].id, measure_entry(record, record.canals[0], image), when=NOON
    )
    save_record(record, path)
    return path


def with_image(case, folder, path, taken=date(2026, 1, 2)):
    return add_image(case, folder, path, stage="working length", taken=taken)


def case_of(folder, path, **day):
    image = with_image(Case.new(), folder, path, **day)
    return add_canal(image, "46", "MB", reference_point="mesiobuccal cusp")


def taken(case, path, **more):
    return add_length_of_image(
        case, "46 MB", load_record(path), case.images[-1].number, flaring="before flaring", **more
    )


def codes(case, folder):
    return [(finding.code, finding.severity) for finding in case_file_findings(case, folder)]


@pytest.fixture
def path(tmp_path):
    return recorded(picture(tmp_path / "a.png"))


def marked_longer(path):
    record = load_record(path)
    save_record(record.with_canal(canal(path=LONGER), reference="file in MB", terminus=TERMINUS))


def test_a_result_of_older_marks_is_not_taken(tmp_path, path):
    marked_longer(path)
    with pytest.raises(RecordError, match=r"46 MB were changed after its estimate of 2026-01-02") as refusal:
        taken(case_of(tmp_path, path), path)
    assert refusal.value.code == "case-result-outdated"
    record, image = load_record(path), read_radiograph(path)
    record = record.with_estimate(record.canals[0].id, measure_entry(record, record.canals[0], image))
    save_record(record)
    case = taken(case_of(tmp_path, path), path)
    assert case.lengths("46 MB")[0].length.value_mm == record.estimates[-1].working_length.value_mm


def test_a_confirmation_of_older_marks_is_not_taken(tmp_path, path):
    record = load_record(path)
    done = confirm_length(21.0, GAP, mm_per_px=0.025, rule="tip within 1 mm", terminus=TERMINUS)
    save_record(record.with_confirmation(record.canals[0].id, done, GAP, when=NOON))
    assert taken(case_of(tmp_path, path), path).lengths("46 MB")[0].found.result == "confirmation"
    marked_longer(path)
    with pytest.raises(RecordError, match="changed after its confirmation"):
        taken(case_of(tmp_path, path), path, result="confirmation")


def test_marks_changed_after_a_result_was_taken_are_serious_though_the_image_is_added_again(tmp_path, path):
    case = taken(case_of(tmp_path, path), path)
    assert codes(case, tmp_path) == []
    marked_longer(path)
    case = with_image(case, tmp_path, path)
    assert codes(case, tmp_path) == [("case-result-outdated", "serious")]
    assert codes(withdraw_length(case, 4, why="measured again"), tmp_path) == []


@pytest.mark.parametrize(("tooth", "severity"), [("36", "serious"), ("46", "question")])
def test_a_length_of_a_canal_that_its_record_names_otherwise_is_said(tmp_path, tooth, severity):
    path = recorded(picture(tmp_path / "a.png"), tooth, "MB" if tooth == "36" else "ML")
    label = f"{tooth} {'MB' if tooth == '36' else 'ML'}"
    case = taken(case_of(tmp_path, path), path, record_canal=label)
    assert codes(case, tmp_path) == [("case-canal-differs", severity)]
    found = case_file_findings(case, tmp_path)[0]
    assert found.sentence == (
        f"Length 4 counts for 46 MB; its record calls the canal it was measured on {label}."
    )
    other = add_canal(case, "36", "MB", reference_point="mesiobuccal cusp")
    if tooth == "36":
        right = correct_length(other, 4, why="wrong tooth", canal="36 MB")
        assert codes(right, tmp_path) == []


def test_a_supernumerary_tooth_is_named_after_its_neighbour(tmp_path, path):
    case = add_canal(
        with_image(Case.new(), tmp_path, path), "46", "MB", reference_point="cusp", supernumerary=True
    )
    case = add_length_of_image(
        case, "46 supernumerary MB", load_record(path), 1, flaring="before flaring", record_canal="46 MB"
    )
    assert codes(case, tmp_path) == []


def test_two_files_of_one_picture_are_said_and_two_pictures_are_not(tmp_path, path):
    case = taken(case_of(tmp_path, path), path)
    other = recorded(picture(tmp_path / "b.png", seed=2))
    assert codes(taken(with_image(case, tmp_path, other), other), tmp_path) == []
    export = recorded(picture(tmp_path / "c.png", packed=9))
    assert export.read_bytes() != path.read_bytes()
    case = taken(with_image(case, tmp_path, export), export)
    assert codes(case, tmp_path) == [("case-images-one-picture", "serious")]
    assert "a.png, c.png hold the same picture" in case_file_findings(case, tmp_path)[0].sentence
    last = case.lengths("46 MB")[-1].number
    assert codes(withdraw_length(case, last, why="an export of a.png"), tmp_path) == []


@pytest.mark.parametrize(("day", "said"), [(1, False), (3, False), (4, True)], ids=str)
def test_a_result_from_before_its_image_was_taken_is_said_but_for_another_time_zone(
    tmp_path, path, day, said
):
    """Measured at noon on 2 January, as UTC has it: a day and a little later it may be the third there."""
    case = taken(case_of(tmp_path, path, taken=date(2026, 1, day)), path)
    told = [finding for finding in case_findings(case) if finding.code == "case-measured-before-image"]
    assert [(one.severity, one.subject) for one in told] == [("question", "46 MB")] * said
