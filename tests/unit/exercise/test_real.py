"""Real images: nothing but grey values goes out, a teacher's marks are no truth, and their doubt is stated."""

import numpy as np
import pytest
from helpers.image_files import dicom_dataset, dicom_file

from radlength.exercise import Answer, ExerciseError, score_answers
from radlength.exercise.classroom import keys_of
from radlength.exercise.disguise import windowed_pixels
from radlength.exercise.feedback import give_feedback
from radlength.exercise.models import Attempt, Greys, SealedTruth
from radlength.exercise.publish import publish
from radlength.exercise.real import find_images, real_set
from radlength.imaging import read_radiograph
from radlength.length import Canal, estimate_length
from radlength.record import Record, load_record, save_record
from radlength.scale import Reference
from radlength.uncertainty import Marking

CANAL = ((5.0, 20.0), (20.0, 22.0), (35.0, 25.0), (48.0, 30.0), (58.0, 36.0))
TOOL = ((5.0, 20.0), (20.0, 22.0), (35.0, 25.0), (50.0, 31.0))
NAMES = ("Secret^Person", "19621105", "Bad Hospital", "ID-4711")
VALUES = np.random.default_rng(3).integers(0, 4096, (64, 96)).astype(np.uint16)


def marked(folder, *, reference=True, pitch=0.35, name="Secret Person 4711.dcm"):
    """Write an invented image whose header names an invented person, with a teacher's record beside it."""
    patient, born, place, number = NAMES
    ds = dicom_dataset(
        VALUES, PatientName=patient, PatientBirthDate=born, InstitutionName=place, PatientID=number
    )
    ds.ImagerPixelSpacing = [pitch, pitch]
    path = folder / name
    path.write_bytes(dicom_file(ds))
    radiograph = read_radiograph(path)
    record = Record.new(radiograph, marking=Marking(apex_mm=0.2))
    if reference:
        tool = Reference(path_px=TOOL, length_mm=17.0, limit_mm=0.25, name="file", canal="single")
        record = record.with_reference(tool)
    canal = Canal("45", "single", CANAL)
    record = record.with_canal(canal, reference="file" if reference else None)
    save_record(record, path)
    return path


def made_from(folder, **more):
    return real_set(find_images(folder), title="Real", rule="tip within 1 mm", repeats=1, **more)


def attempt_with_teacher_marks(made, canal=CANAL):
    from radlength.exercise.files import edition_of

    truth, answers = SealedTruth.model_validate_json(made.truth), []
    for order, task in enumerate(made.exercises.tasks, 1):
        entry = truth.answer(task.id)

        def turned(path, mirrored=entry.mirrored):
            return tuple((row, 95 - column) if mirrored else (row, column) for row, column in path)

        tool = turned(TOOL) if task.instrument_mm is not None else None
        answers.append(Answer(task=task.id, order=order, canal_px=turned(canal), reference_px=tool))
    return Attempt(
        set=made.exercises.set,
        edition=edition_of(made.exercises),
        learner="A1",
        finished=True,
        answers=tuple(answers),
    )


def test_nothing_of_the_header_or_the_file_name_goes_out(tmp_path):
    (tmp_path / "in").mkdir()
    marked(tmp_path / "in")
    made = made_from(tmp_path / "in")
    publish(made, tmp_path / "set", tmp_path / "answers.json")
    data = b"".join(path.name.encode() + path.read_bytes() for path in (tmp_path / "set").iterdir())
    answers = (tmp_path / "answers.json").read_bytes()
    for name in (*NAMES, "Secret Person", str(tmp_path)):
        assert name.encode() not in data
        assert name == NAMES[1] or name.encode() not in answers
    assert not made.exercises.invented
    shown = [read_radiograph(tmp_path / "set" / task.image).stored for task in made.exercises.tasks]
    assert any(np.array_equal(image >> 4, VALUES) for image in shown)


def test_the_teachers_own_marks_differ_from_themselves_by_nothing(tmp_path):
    path = marked(tmp_path)
    made = made_from(tmp_path)
    keys = keys_of(made.exercises, SealedTruth.model_validate_json(made.truth))
    attempt = attempt_with_teacher_marks(made)
    radiograph = read_radiograph(path)
    tool = Reference(path_px=TOOL, length_mm=17.0, limit_mm=0.25, canal="single")
    estimate = estimate_length(Canal("45", "single", CANAL), tool, radiograph=radiograph)
    for result in score_answers([(keys[answer.task], answer) for answer in attempt.answers]):
        assert result.basis == "teacher"
        assert result.error_mm == pytest.approx(0.0, abs=0.02)
        assert "geometry" not in result.parts_mm
        assert sum(result.parts_mm.values()) == pytest.approx(result.error_mm, abs=1e-9)
        assert result.measured_mm == pytest.approx(estimate.canal_length.value_mm, abs=0.02)


def test_the_doubt_of_the_teachers_marks_is_theirs_and_the_words_say_difference(tmp_path):
    marked(tmp_path)
    made = made_from(tmp_path)
    truth = SealedTruth.model_validate_json(made.truth)
    far = (*CANAL[:-1], (61.5, 38.0))
    told = give_feedback(made.exercises, truth, attempt_with_teacher_marks(made, far))
    for one in told.exercises:
        assert one.result.u_true_mm == pytest.approx(0.23, abs=0.06)
        words = " ".join(one.lines)
        assert "Difference from the teacher's marks +1." in words
        assert "more than these leave open" in words
        assert "error" not in words
        assert "true" not in words
    assert told.lines[0].startswith("Mean difference from the teacher's marks")
    near = give_feedback(made.exercises, truth, attempt_with_teacher_marks(made))
    assert all("no more than these leave open" in " ".join(one.lines) for one in near.exercises)


def test_an_image_without_an_instrument_asks_for_the_canal_alone(tmp_path):
    marked(tmp_path, reference=False, pitch=0.1)
    made = made_from(tmp_path)
    task = made.exercises.tasks[0]
    assert task.instrument_mm is None
    assert "instrument" not in task.text.lower()
    keys = keys_of(made.exercises, SealedTruth.model_validate_json(made.truth))
    attempt = attempt_with_teacher_marks(made)
    for result in score_answers([(keys[answer.task], answer) for answer in attempt.answers]):
        assert result.error_mm == pytest.approx(0.0, abs=0.02)
        assert result.parts_mm["reference mark"] == 0.0
    with pytest.raises(ExerciseError, match="no instrument"):
        made_from(tmp_path, aim="reference")


def test_a_known_length_beside_the_tooth_is_the_teachers_scale(tmp_path):
    path = marked(tmp_path, reference=False)
    radiograph = read_radiograph(path)
    wire = Reference(
        path_px=((5.0, 60.0), (45.0, 60.0)), length_mm=13.0, limit_mm=0.05, placement="beside", name="wire"
    )
    record = Record.new(radiograph, marking=Marking()).with_reference(wire)
    path.with_name(f"{path.name}.radlength.json").unlink()
    save_record(record.with_canal(Canal("45", "single", CANAL), reference="wire"), path)
    made = made_from(tmp_path)
    answer = SealedTruth.model_validate_json(made.truth).answers[0]
    assert made.exercises.tasks[0].instrument_mm is None
    assert answer.reference_px is None
    assert answer.mm_per_unit * answer.pitch_mm[0] == pytest.approx(13.0 / 40.0)
    estimate = estimate_length(Canal("45", "single", CANAL), wire)
    assert answer.length_mm == pytest.approx(estimate.canal_length.value_mm)


def test_a_teachers_gap_decides_a_confirmation(tmp_path):
    marked(tmp_path)
    made = real_set(find_images(tmp_path), title="Real", rule="tip within 1 mm", repeats=0, aim="confirm")
    answer = SealedTruth.model_validate_json(made.truth).answers[0]
    assert answer.choice == "repeat"
    assert answer.why.startswith("The teacher's marks leave")


def test_a_folder_without_marks_and_a_record_without_canals_are_refused(tmp_path):
    (tmp_path / "a.dcm").write_bytes(dicom_file())
    with pytest.raises(ExerciseError, match="no marked image"):
        find_images(tmp_path)
    save_record(Record.new(read_radiograph(tmp_path / "a.dcm")), tmp_path / "a.dcm")
    with pytest.raises(ExerciseError, match="no canal is marked"):
        made_from(tmp_path)


def test_another_window_keeps_every_grey_apart_that_the_eye_can_tell():
    ramp = np.arange(256, dtype=np.uint8)[None]
    for greys in (Greys(low=-0.06, high=1.06, power=0.72), Greys(low=-0.06, high=1.0, power=1.4)):
        seen = windowed_pixels(ramp, greys)[0].astype(int)
        assert seen.dtype == int
        assert np.all(np.diff(seen) >= 0)
        assert len(np.unique(seen)) > 170
        assert np.abs(seen - ramp[0]).max() > 8


def test_a_canal_with_a_name_that_is_too_long_is_refused_in_words(tmp_path):
    path = marked(tmp_path)
    save_record(load_record(path).with_canal(Canal("45", "n" * 41, CANAL)), path)
    with pytest.raises(ExerciseError, match="a canal's name of 41 characters; 40 at most"):
        made_from(tmp_path)
