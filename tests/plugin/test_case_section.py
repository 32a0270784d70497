"""A case in the window: a time line with stages, what the case says of its canals, and nothing decided here."""

from helpers.made_case import NOON, full_case, long_case, with_decision
from helpers.staged_case import lines

from napari_radlength._case_book import FILE_DAY, NOT_IN_CASE, NOT_STATED
from radlength.record import case_path, load_case, save_case


def test_a_case_opens_by_date_then_stage_whatever_its_files_are_called(dock, case_folder):
    dock.open_images([case_path(case_folder)])
    assert lines(dock) == [
        "2026-01-01  pre-operative  b",
        "2026-01-01  working length  a",
        "2026-01-09  filling  c",
        f"2026-03-01 (file)  {NOT_IN_CASE}  d",
    ]
    assert dock.session.radiograph.name == "b.png"
    assert "tooth46</b>, invented: estimate, not confirmed" in dock.case.words.text()
    assert dock.case.stage.currentText() == "pre-operative"
    dock.next_image()
    dock.next_image()
    assert dock.case.stage.currentText() == "filling"
    assert dock.case.taken.text() == "2026-01-09"
    assert not dock.case.keep.isEnabled()
    assert dock.case.keep.toolTip() == "The case says so already."


def test_the_section_says_lengths_where_they_end_and_what_is_missing(dock, tmp_path):
    save_case(full_case(tmp_path), tmp_path)
    dock.open_images([tmp_path])
    text = dock.case.canals.text()
    case = load_case(tmp_path)
    for event in case.lengths("46 MB"):
        assert f"{event.length.value_mm:.1f} mm" in text
        assert event.method in text
    assert "0.5 mm short of the apical foramen" in text
    assert "46 D" in text
    assert "decided" not in text
    assert "Every length is by one method (tactile)" in dock.case.findings.text()


def test_a_canal_without_a_length_and_one_the_case_does_not_know_are_missing(dock, case_folder):
    dock.open_images([case_folder])
    assert "no length from this reference point yet" in dock.case.canals.text()
    assert "No length of 46 MB is in the case" in dock.case.findings.text()
    session = dock.session
    session.apply(session.with_canal(tooth="36", name="D"))
    session.apply(session.with_canal_path([(5.0, 5.0), (50.0, 9.0)]))
    assert "Marked here and not in the case: 36 D." in dock.case.canals.text()


def test_a_long_case_is_told_in_short_and_not_compared(dock, folder):
    save_case(long_case(400), folder)
    dock.open_images([folder])
    assert "390 earlier" in dock.case.canals.text()
    assert dock.case.canals.text().count("●") == 8
    assert "398 lengths are too many to be compared" in dock.case.findings.text()


def test_a_decision_of_another_program_is_shown_and_a_withdrawn_one_is_not(dock, tmp_path):
    save_case(full_case(tmp_path), tmp_path)
    dock.open_images([tmp_path])
    case = load_case(tmp_path)
    save_case(with_decision(case, 20.5))
    dock.look_at_case()
    assert "20.5 mm</b> decided by invented person" in dock.case.canals.text()
    from radlength.record import new_reference_point

    save_case(new_reference_point(load_case(tmp_path), "46 MB", "reduced cusp", why="reduced", when=NOON))
    dock.look_at_case()
    assert "decided by" not in dock.case.canals.text()
    assert "was from another reference point" in dock.case.findings.text()


def test_the_stage_is_changed_through_the_case_and_nothing_else(dock, case_folder):
    dock.open_images([case_folder])
    dock.show_image(2)
    dock.case.stage.setCurrentText("review")
    dock.case.taken.setText("2026-02-03")
    dock.case.keep.click()
    image = next(one for one in load_case(case_folder).images if one.path == "c.png")
    assert (image.stage, image.taken.isoformat(), image.replaces) == ("review", "2026-02-03", 5)
    assert lines(dock)[2].startswith("2026-02-03  review")
    assert dock.case.keep.toolTip() == "The case says so already."


def test_what_is_not_stated_is_asked_for_and_never_guessed(dock, folder, said):
    dock.open_images([folder])
    assert "no case" in dock.case.words.text()
    dock.case.begin.click()
    case = load_case(folder)
    assert {(one.stage, one.label, one.view) for one in case.images} == {("other", FILE_DAY, NOT_STATED)}
    assert all(f"(file)  {NOT_STATED}" in line for line in lines(dock))
    assert dock.case.stage.currentText() == NOT_STATED
    assert dock.case.keep.toolTip() == "Choose what the image was taken for."
    dock.case.stage.setCurrentText("other")
    assert "Type a label" in dock.case.keep.toolTip()
    dock.case.stage.setCurrentText("pre-operative")
    assert "Type the day" in dock.case.keep.toolTip()
    dock.case.taken.setText("yesterday")
    dock.case.keep.click()
    assert len(said) == 1
    assert "2026-01-02" in said[0]
    assert load_case(folder).events == case.events


def test_unsaved_marks_are_saved_first_and_new_marks_are_taken_on_purpose(dock, case_folder):
    dock.open_images([case_folder])
    session = dock.session
    session.apply(session.with_canal(tooth="46", name="MB"))
    session.apply(session.with_canal_path([(5.0, 5.0), (50.0, 9.0)]))
    dock.case.stage.setCurrentText("review")
    assert "Save the record first" in dock.case.keep.toolTip()
    dock.case.stage.setCurrentText("pre-operative")
    dock.save()
    assert dock.case.keep.text() == "Keep with its marks"
    dock.case.keep.click()
    assert load_case(case_folder).images[-1].record_sha256
    session.take_back("canal")
    dock.save()
    assert "was changed since the image was added" in dock.case.findings.text()
    dock.case.keep.click()
    assert "was changed since" not in dock.case.findings.text()
