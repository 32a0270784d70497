"""A decision verifies a report only with the marks that the person had."""

from datetime import date

import pytest
from helpers.archive_images import NOON, mark, write_image
from helpers.made_case import with_canal, with_decision, with_length

from radlength.dicom import DicomError, decided_in, read_any, unverified, write_documents
from radlength.imaging import read_radiograph
from radlength.length import Canal, Terminus
from radlength.record import (
    add_image,
    add_length_of_image,
    load_record,
    measure_record,
    save_record,
    withdraw_length,
)


@pytest.fixture
def path(tmp_path):
    """Return an image of one canal with a kept estimate."""
    path = write_image(tmp_path / "a.dcm")
    mark(path, two=False)
    record = load_record(path)
    entry, found = measure_record(record, read_radiograph(path))[0]
    save_record(record.with_estimate(entry.id, found, when=NOON))
    return path


def case_of(path, *, of_image=True):
    """Return a case with the image, a length of it or another one, and a decision."""
    case = add_image(
        with_canal(), path.parent, path.name, stage="working length", taken=date(2026, 1, 2), when=NOON
    )
    if of_image:
        number = case.images[0].number
        case = add_length_of_image(case, "46 MB", load_record(path), number, flaring="not known", when=NOON)
    else:
        case = with_length(case)
    return with_decision(case)


def verified(path, case):
    decisions = decided_in(case, path)
    (written,) = write_documents(path, ["sr"], decisions=decisions)
    return read_any(written.path).VerificationFlag, unverified(decisions, ["46 MB"])


def marked_again(path, row=0.0, **more):
    """Move the apex of the canal, or change something else."""
    record = load_record(path)
    entry = record.canals[0]
    last = entry.canal.path_px[-1]
    moved = Canal("46", "MB", (*entry.canal.path_px[:-1], (last[0] + row, last[1])))
    changed = record.with_canal(
        moved, reference=entry.reference, terminus=more.get("terminus", entry.terminus)
    )
    save_record(changed)


@pytest.mark.parametrize("of_image", [True, False], ids=["on a length of the image", "on another length"])
def test_on_the_marks_of_the_decision_the_report_is_verified(path, of_image):
    assert verified(path, case_of(path, of_image=of_image)) == ("VERIFIED", ())


@pytest.mark.parametrize("of_image", [True, False], ids=["on a length of the image", "on another length"])
def test_marks_changed_after_the_decision_are_verified_by_nobody(path, of_image):
    case = case_of(path, of_image=of_image)
    marked_again(path, row=6.0)
    assert verified(path, case) == ("UNVERIFIED", ("46 MB was decided on other marks",))


def test_another_terminus_is_another_length(path):
    case = case_of(path)
    marked_again(path, terminus=Terminus(offset_mm=0.5))
    assert verified(path, case)[0] == "UNVERIFIED"


@pytest.mark.parametrize("how", ["replaced", "withdrawn"])
def test_marks_of_a_length_that_was_gone_before_the_decision_are_other_marks(path, how):
    """The person decided with the second marks; going back to the first verifies nothing."""
    case = with_length(case_of(path))
    first = next(one.number for one in case.lengths("46 MB") if one.found is not None)
    marked_again(path, row=6.0)
    record = load_record(path)
    entry, found = measure_record(record, read_radiograph(path))[0]
    save_record(record.with_estimate(entry.id, found))
    more = {"replaces": first, "why": "marked again"} if how == "replaced" else {}
    if how == "withdrawn":
        case = withdraw_length(case, first, why="marked again", when=NOON)
    number = case.images[0].number
    case = add_length_of_image(case, "46 MB", load_record(path), number, flaring="not known", **more)
    case = with_decision(case, why="another length")
    assert verified(path, case) == ("VERIFIED", ())
    marked_again(path, row=-6.0)
    assert verified(path, case) == ("UNVERIFIED", ("46 MB was decided on other marks",))


def test_an_estimate_kept_once_more_changes_nothing(path):
    case = case_of(path)
    record = load_record(path)
    entry, found = measure_record(record, read_radiograph(path))[0]
    save_record(record.with_estimate(entry.id, found))
    assert verified(path, case) == ("VERIFIED", ())


def test_what_was_decided_of_a_canal_on_no_mark_of_the_image_is_left_out(path):
    case = with_decision(with_length(with_canal(case_of(path), name="ML"), canal="46 ML"), canal="46 ML")
    assert [one.canal for one in decided_in(case, path)] == ["46 MB"]
    assert verified(path, case) == ("VERIFIED", ())


def test_where_the_decided_length_ends_is_said_beside_it(path):
    """The record of the image may end elsewhere: 1 mm short of the apex here, the decision at the apex."""
    report, state = write_documents(path, ["sr", "pr"], decisions=decided_in(case_of(path), path))
    assert b"the decided length ends at the radiographic apex" in report.path.read_bytes()
    assert b"decided 21 mm (at the radiographic apex)" in state.path.read_bytes()


def test_an_image_of_no_case_is_refused(path, tmp_path):
    other = write_image(tmp_path / "b.dcm", seed=2)
    with pytest.raises(DicomError, match="the image is not in the case"):
        decided_in(case_of(path), other)
