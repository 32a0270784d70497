"""A case: everything is added, nothing is changed, and what contradicts itself is a sentence."""

from datetime import date, timedelta

import pytest
from helpers.made_case import (
    APEX,
    NOON,
    full_case,
    with_canal,
    with_decision,
    with_length,
    with_locator,
    write_marked_image,
)

from radlength.errors import RadlengthError, RecordError
from radlength.record import (
    Case,
    add_canal,
    add_image,
    add_length_of_image,
    add_views,
    correct_length,
    load_record,
    new_reference_point,
    note_canal,
    stated_length,
    withdraw_length,
)
from radlength.record.case_lengths import locator_reading
from radlength.record.case_models import ImageAdded, LengthAdded
from radlength.trade import NOT_CONFIRMED


def test_events_are_numbered_and_only_added():
    case = with_length(with_canal())
    assert [event.number for event in case.events] == [1, 2, 3]
    more = with_length(case, 21.5)
    assert more.events[:3] == case.events
    assert len(case.events) == 3


def test_a_length_begins_at_the_present_reference_point():
    case = new_reference_point(with_length(with_canal()), "MB", "reduced cusp", why="cusp reduced", when=NOON)
    case = with_length(case, 19.0)
    assert [length.series for length in case.lengths("46 MB")] == [2, 4]
    assert [length.length.value_mm for length in case.present_lengths("46 MB")] == [19.0]


@pytest.mark.parametrize(
    ("tooth", "name", "supernumerary", "label"),
    [
        ("46", "MB", False, "46 MB"),
        ("85", "ML", False, "85 ML"),
        ("11", "single", True, "11 supernumerary single"),
        ("16", "MB2", False, "16 MB2"),
    ],
    ids=["permanent", "deciduous", "supernumerary", "second-mesiobuccal"],
)
def test_canals_have_a_label(tooth, name, supernumerary, label):
    case = add_canal(Case.new(), tooth, name, reference_point="edge", supernumerary=supernumerary, when=NOON)
    assert case.canals[0].label == label
    assert case.canal(label) is case.canals[0]
    assert case.teeth == (label.removesuffix(f" {name}"),)


def test_a_name_alone_is_enough_where_one_tooth_has_it():
    case = with_canal(with_canal(), tooth="47")
    with pytest.raises(RecordError, match="more than one canal 'MB' in the case"):
        case.canal("MB")
    assert case.canal("47 MB").tooth == "47"


@pytest.mark.parametrize("state", ["joins", "splits", "C-shape", "open apex", "ledge", "retreatment"])
def test_notes_of_a_canal(state):
    case = with_canal(with_canal(), name="ML")
    case = note_canal(case, "MB", state, other="ML", words="invented", when=NOON)
    assert [note.state for note in case.notes("46 MB")] == [state]
    assert case.notes("46 ML") == case.notes("46 MB")


def test_a_correction_says_what_it_replaces_and_why():
    case = correct_length(with_length(with_canal(), 12.0), 3, value_mm=21.0, why="typed wrong", when=NOON)
    assert [length.number for length in case.lengths("46 MB")] == [4]
    assert [length.number for length in case.lengths("46 MB", corrected=True)] == [3, 4]
    new = case.event(4, LengthAdded)
    assert (new.replaces, new.why, new.length.value_mm, new.length.high_mm) == (
        3,
        "typed wrong",
        21.0,
        21.475,
    )


def test_a_correction_moves_a_length_to_its_canal():
    case = with_length(with_canal(with_canal(), name="ML"))
    case = correct_length(case, 5, canal="ML", why="wrong canal", when=NOON)
    assert case.lengths("46 MB") == ()
    moved = case.lengths("46 ML")[0]
    assert (moved.series, moved.length) == (4, case.event(5, LengthAdded).length)


def test_a_corrected_locator_length_keeps_its_deduction():
    case = correct_length(with_locator(with_canal()), 3, value_mm=20.0, why="misread", when=NOON)
    new = case.event(4, LengthAdded)
    assert (new.locator.read_mm, new.locator.deduction_mm, new.length.value_mm) == (20.5, 0.5, 20.0)


def test_a_withdrawn_length_stays_and_counts_no_more():
    case = withdraw_length(with_length(with_length(with_canal()), 21.2), 3, why="entered twice", when=NOON)
    assert [length.number for length in case.lengths("46 MB")] == [4]
    assert [length.number for length in case.lengths("46 MB", corrected=True)] == [3, 4]
    with pytest.raises(RecordError, match="event 3 was replaced or withdrawn already"):
        correct_length(case, 3, value_mm=20.0, why="x")
    with pytest.raises(RecordError, match="event 3 was replaced or withdrawn already"):
        withdraw_length(case, 3, why="x")
    with pytest.raises(RecordError, match="why: "):
        withdraw_length(case, 4, why=" ")


def test_a_value_of_an_image_is_not_corrected_by_hand(tmp_path):
    case = full_case(tmp_path)
    number = case.lengths("46 MB")[0].number
    with pytest.raises(RecordError, match="measure the image again"):
        correct_length(case, number, value_mm=20.0, why="no")
    moved = correct_length(case, number, canal="D", why="wrong canal", when=NOON)
    assert moved.lengths("46 D")[-1].found == case.event(number, LengthAdded).found


def test_lengths_of_an_image_are_what_its_record_keeps(tmp_path):
    case = full_case(tmp_path)
    record = load_record(tmp_path / "tooth.tif")
    estimate, confirmation = case.lengths("46 MB")[:2]
    assert estimate.length == record.estimates[0].working_length
    assert (estimate.method, estimate.short_mm) == ("estimate on a working-length image", 1.0)
    assert estimate.found.algorithm == record.estimates[0].algorithm
    assert confirmation.found.algorithm == record.confirmations[0].algorithm is not None
    assert confirmation.length == record.confirmations[0].working_length
    assert (confirmation.verdict, confirmation.rule.split(";")[0]) == ("accept", "tip within 1 mm")
    assert (confirmation.source, estimate.source) == ("Grossman's Endodontic Practice, 13th ed.", None)
    assert confirmation.measured == NOON + timedelta(hours=1)


def test_a_confirmation_of_an_older_program_says_that_no_version_was_kept(tmp_path):
    write_marked_image(tmp_path)
    case = add_image(Case.new(), tmp_path, "tooth.tif", stage="review", taken=date(2026, 1, 2), when=NOON)
    record = load_record(tmp_path / "tooth.tif")
    older = tuple(one.model_copy(update={"algorithm": None}) for one in record.confirmations)
    record = record.model_copy(update={"confirmations": older})
    case = add_length_of_image(with_canal(case), "46 MB", record, 1, flaring="not known", when=NOON)
    assert case.lengths("46 MB")[0].found.algorithm == "not kept with a confirmation"


def test_an_image_without_a_kept_result_gives_no_length(tmp_path):
    write_marked_image(tmp_path)
    case = add_image(Case.new(), tmp_path, "tooth.tif", stage="review", taken=date(2026, 1, 2), when=NOON)
    record = load_record(tmp_path / "tooth.tif").model_copy(update={"estimates": (), "confirmations": ()})
    with pytest.raises(RecordError, match="the record keeps no result of this canal"):
        add_length_of_image(with_canal(case), "46 MB", record, 1, flaring="not known")


def test_adding_an_image_again_replaces_its_entry(tmp_path):
    write_marked_image(tmp_path)
    case = Case.new()
    for stage in ("pre-operative", "working length"):
        case = add_image(case, tmp_path, "tooth.tif", stage=stage, taken=date(2026, 1, 2), when=NOON)
    assert [(image.number, image.stage, image.replaces) for image in case.images] == [
        (2, "working length", 1)
    ]
    assert len(list(case.of_kind(ImageAdded))) == 2


def test_a_length_of_two_views_names_its_pair(tmp_path):
    case = with_canal()
    for name in ("a.png", "b.png"):
        (tmp_path / name).write_bytes(b"invented")
        case = add_image(case, tmp_path, name, stage="pre-operative", taken=date(2026, 1, 2), when=NOON)
    case = add_views(case, 3, 4, shift="mesial", when=NOON)
    assert with_length(case, method="two views", views=5).lengths("46 MB")[0].views == 5
    for wrong in ({"method": "two views"}, {"views": 5}):
        with pytest.raises(RecordError, match="without its pair, or a pair with another method"):
            with_length(case, **wrong)
    with pytest.raises(RecordError, match="event 3 is no pair of views"):
        with_length(case, method="two views", views=3)


def test_two_views_are_linked(tmp_path):
    case = Case.new()
    for name in ("straight.tif", "shifted.tif"):
        write_marked_image(tmp_path, name)
        case = add_image(case, tmp_path, name, stage="pre-operative", taken=date(2026, 1, 2), when=NOON)
    case = add_views(case, 1, 2, shift="mesial", angle_deg=20.0, when=NOON)
    assert (case.views[0].straight, case.views[0].shifted, case.views[0].angle_deg) == (1, 2, 20.0)
    with pytest.raises(RecordError, match="one image as both views"):
        add_views(case, 1, 1, shift="mesial")


REFUSED = {
    "no tooth": (lambda case: with_canal(case, tooth="49"), "tooth 49 does not exist"),
    "no canal": (
        lambda case: with_canal(case, name=" "),
        "^radlength-case.json: a canal of tooth 46 without a name; 1 to 60 characters, such as MB, .*; state it",
    ),
    "canal too long": (lambda case: with_canal(case, name="M" * 61), "61 characters where 60 are kept"),
    "reference point of nothing": (
        lambda case: new_reference_point(case, "MB", "", why="reduced"),
        "no reference point for 46 MB; where every length of the canal begins",
    ),
    "canal twice": (with_canal, "canal 46 MB is there twice"),
    "no reference point": (
        lambda case: add_canal(case, "46", "D", reference_point=" "),
        "no reference point for 46 D",
    ),
    "unknown canal": (lambda case: with_length(case, canal="47 D"), "no canal '47 D' in the case"),
    "reference point without reason": (
        lambda case: new_reference_point(case, "MB", "cusp", why=" "),
        "another reference point without a reason",
    ),
    "empty note": (lambda case: note_canal(case, "MB", "other"), "a note that says nothing"),
    "correction without reason": (
        lambda case: correct_length(case, 3, value_mm=20.0, why=""),
        "a correction without a reason",
    ),
    "correction of no length": (lambda case: correct_length(case, 1, why="x"), "event 1 is no length"),
    "no such event": (lambda case: correct_length(case, 99, why="x"), "there is no event 99"),
    "corrected twice": (
        lambda case: correct_length(
            correct_length(case, 3, value_mm=20.0, why="x"), 3, value_mm=20.5, why="x"
        ),
        "event 3 was replaced or withdrawn already",
    ),
    "impossible length": (lambda case: with_length(case, 70.0), "a length of 70 mm"),
    "no limit": (lambda case: with_length(case, limit_mm=0.0), "no length is exact"),
    "not a number": (lambda case: stated_length(float("nan"), 0.5), "a finite length"),
    "flaring unknown": (lambda case: with_length(case, flaring="maybe"), "flaring: "),
    "method unknown": (lambda case: with_length(case, method="guess"), "method: "),
    "locator without reading": (
        lambda case: with_length(case, method="apex locator"),
        "an apex locator length without its reading",
    ),
    "locator size": (lambda case: locator_reading(mark="0", read_mm=20.0, file_size=500), "file_size: "),
    "offset beyond": (lambda case: with_length(case, short_mm=-1.0), "short_mm: "),
    "image not there": (
        lambda case: add_canal(case, "46", "D", reference_point="cusp", image=1, point_px=(1.0, 1.0)),
        "event 1 is no image",
    ),
    "place without image": (
        lambda case: add_canal(case, "46", "D", reference_point="cusp", point_px=(1.0, 1.0)),
        "a place of the reference point without its image",
    ),
}


@pytest.mark.parametrize("wrong", REFUSED)
def test_what_is_wrong_is_a_sentence_and_changes_nothing(wrong):
    case = with_length(with_canal())
    before = case.events
    change, words = REFUSED[wrong]
    with pytest.raises(RadlengthError, match=words):
        change(case)
    assert case.events == before


@pytest.mark.parametrize(
    ("stage", "label", "words"),
    [
        ("", "", "the stage of the image is not stated"),
        ("pre-op", "", "the stage of the image is 'pre-op'"),
        ("other", " ", "an image of another stage without a label"),
    ],
    ids=["missing", "unknown", "no-label"],
)
def test_an_image_has_a_stage(tmp_path, stage, label, words):
    write_marked_image(tmp_path)
    with pytest.raises(RecordError, match=words):
        add_image(Case.new(), tmp_path, "tooth.tif", stage=stage, label=label, taken=date(2026, 1, 2))


def test_an_image_lies_in_the_folder_of_the_case(tmp_path):
    write_marked_image(tmp_path)
    home = tmp_path / "case"
    home.mkdir()
    with pytest.raises(RecordError, match="does not lie in the folder of the case"):
        add_image(Case.new(), home, "../tooth.tif", stage="review", taken=date(2026, 1, 2))
    with pytest.raises(RecordError, match="the file cannot be read: No such file"):
        add_image(Case.new(), home, "tooth.tif", stage="review", taken=date(2026, 1, 2))


def test_a_case_says_estimate_until_every_canal_is_decided():
    case = with_length(with_length(with_canal(with_canal(), name="D")), canal="46 D")
    assert case.status == NOT_CONFIRMED
    case = with_decision(case)
    assert (case.status_of("46 MB"), case.status_of("46 D")) == ("decided by a person", NOT_CONFIRMED)
    assert case.status == NOT_CONFIRMED
    assert with_decision(case, canal="46 D").status == "decided by a person"


def test_the_landmark_of_a_stated_length_is_kept():
    assert with_length(with_canal(), landmark=APEX).lengths("46 MB")[0].landmark == APEX
