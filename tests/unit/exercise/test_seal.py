"""A learner's copy carries no answer and no seed: its bytes, its images' metadata, its fields, its order."""

import json
import re
import struct
import sys
from functools import cache

import numpy as np
import pytest
from helpers.exercise_markers import attempt_of, course, speckled, truth_of
from scipy.stats import fisher_exact

from radlength.exercise import ExerciseError, assessment_items, build_set, load_set, load_truth, new_secret
from radlength.exercise.chance import check_secret, number_of
from radlength.exercise.course import FIRST_SEED, course_items
from radlength.exercise.feedback import give_feedback
from radlength.exercise.levels import LEVELS
from radlength.exercise.publish import check_places, publish


def assessment(secret, count=20):
    return build_set(
        assessment_items(secret, count), title="Test", kind="assessment", secret=secret, render=speckled
    )


@cache
def many():
    """Return an assessment with many repeats, from a secret that was written down once."""
    items = assessment_items("0123456789abcdef" * 4, 80, aims=("reference", "apex", "trace"))
    return build_set(
        items, title="Many", kind="assessment", secret="0123456789abcdef" * 4, repeats=30, render=speckled
    )


@pytest.fixture(scope="module")
def published(tmp_path_factory):
    folder = tmp_path_factory.mktemp("assessment")
    secret = new_secret()
    made = assessment(secret)
    publish(made, folder / "set", folder / "set.answers.json")
    return folder, made, secret


def every_byte(folder):
    return b"\n".join(path.name.encode() + b"\n" + path.read_bytes() for path in sorted(folder.iterdir()))


def spellings(number):
    """Return how a number could stand in a file: decimal, hexadecimal, and as bytes either way round."""
    raw = number.to_bytes(16, "big")
    return [str(number).encode(), f"{number:x}".encode(), f"{number:X}".encode(), raw, raw[::-1]]


def test_no_seed_and_no_secret_is_in_the_bytes(published):
    folder, made, secret = published
    data = every_byte(folder / "set")
    seeds = [int(answer.seed) for answer in truth_of(made).answers]
    assert min(seed.bit_length() for seed in seeds) > 100
    for seed in seeds:
        assert not any(spelling in data for spelling in spellings(seed))
    for part in (secret, secret[:16], secret[-16:]):
        assert part.encode() not in data.lower()
        assert bytes.fromhex(part) not in data


def test_no_true_length_gap_or_mark_is_in_the_bytes(published):
    folder, made, _ = published
    data = every_byte(folder / "set")
    text = (folder / "set" / "set.json").read_text(encoding="utf-8")
    for answer in truth_of(made).answers:
        numbers = [answer.length_mm, *[value for point in answer.canal_px for value in point]]
        numbers += [answer.gap_mm] if answer.gap_mm is not None else []
        for value in numbers:
            assert struct.pack("<d", value) not in data
            assert struct.pack(">d", value) not in data
        assert f"{answer.length_mm:.3f}" not in text
        assert str(answer.canal_px[-1][0]) not in text


def test_the_fields_of_a_learners_file_are_on_a_list():
    data = course().exercises.model_dump(mode="json")
    assert set(data) == {
        "format", "version", "set", "title", "kind", "invented", "rule", "how", "coordinates", "tasks",
        "seal_sha256", "software", "caution",
    }  # fmt: skip
    for task in data["tasks"]:
        assert set(task) == {
            "id", "aim", "difficulty", "text", "image", "rows", "columns", "pixel_sha256", "pitch_mm", "tooth", "canal",
            "instrument_mm", "instrument_limit_mm", "choices",
        }  # fmt: skip


def test_nothing_a_learner_reads_tells_a_choice(published):
    folder, made, _ = published
    text = (folder / "set" / "set.json").read_text(encoding="utf-8").lower()
    telling = [name for name in LEVELS if name not in ("straight",)]
    assert [name for name in telling if f'"{name}"' in text] == []
    for tasks in (made.exercises.tasks, course().exercises.tasks):
        for aim in ("confirm", "view"):
            same = {(t.difficulty, t.choices) for t in tasks if t.aim == aim}
            assert len(same) == 1


def test_images_hold_pixels_and_nothing_else(published):
    folder, made, _ = published
    images = sorted((folder / "set").glob("*.png"))
    assert [image.name for image in images] == sorted(made.images)
    for image in images:
        kinds, data, at = [], image.read_bytes(), 8
        while at < len(data):
            size, kind = struct.unpack(">I4s", data[at : at + 8])
            kinds.append(kind)
            at += 12 + size
        assert set(kinds) <= {b"IHDR", b"IDAT", b"IEND"}
        assert at == len(data)


def test_a_repeat_is_not_told_apart_by_name_text_or_hash():
    tasks = course().exercises.tasks
    answers = {answer.task: answer for answer in truth_of(course()).answers}
    repeats = [task for task in tasks if answers[task.id].repeat_of is not None]
    originals = [course().exercises.task(answers[task.id].repeat_of) for task in repeats]
    for again, first in zip(repeats, originals, strict=True):
        assert again.pixel_sha256 != first.pixel_sha256
        assert again.text != first.text
        assert int(again.id) - int(first.id) > 4
        turned = answers[again.id].mirrored != answers[first.id].mirrored
        assert (first.tooth == again.tooth) is not turned
        assert first.tooth[1] == again.tooth[1]
    numbers = [task.id for task in tasks]
    assert numbers == [f"{number:02d}" for number in range(1, 24)]


def test_who_remembers_the_number_of_an_exercise_remembers_the_wrong_one_when_it_comes_again():
    """Another size of the same picture: every length grows or shrinks with the one that is told."""
    answers, resized = {answer.task: answer for answer in truth_of(many()).answers}, 0
    for again in many().exercises.tasks:
        truth = answers[again.id]
        if truth.repeat_of is None or again.instrument_mm is None:
            continue
        first, old = many().exercises.task(truth.repeat_of), answers[truth.repeat_of]
        assert abs(again.instrument_mm - first.instrument_mm) == pytest.approx(0.5)
        assert f"{again.instrument_mm:.2f}".rstrip("0").rstrip(".") in again.text
        assert again.instrument_mm == truth.reference_mm
        assert truth.length_mm / old.length_mm == pytest.approx(truth.reference_mm / old.reference_mm)
        image = np.hypot(*np.diff(np.array(truth.reference_px) * truth.pitch_mm, axis=0).T).sum()
        assert 1.01 <= image / truth.reference_mm <= 1.10
        resized += 1
    assert resized >= 15


def test_the_heading_of_a_repeat_says_whether_its_size_is_another():
    told = give_feedback(many().exercises, truth_of(many()), attempt_of(many()))
    answers = {answer.task: answer for answer in truth_of(many()).answers}
    repeats = [one for one in told.exercises if one.result.repeat_of is not None]
    for one in repeats:
        first = answers[one.result.repeat_of]
        assert f"the picture of {first.task} in disguise" in one.heading
        assert ("and at another size" in one.heading) is (one.result.true_mm != first.length_mm)
    assert len(repeats) == 30


def test_neither_side_of_the_jaw_tells_a_repeat():
    """Before, every 35 and 36 was one. By Fisher's exact test, at 1 in 1000."""
    answers = {answer.task: answer for answer in truth_of(many()).answers}
    table = np.zeros((2, 2))
    for task in many().exercises.tasks:
        table[int(task.tooth[0] in "23"), int(answers[task.id].repeat_of is not None)] += 1
    assert table.min() >= 5
    assert fisher_exact(table).pvalue > 1e-3


def test_seeds_follow_from_the_secret_alone_and_from_all_of_it():
    secret = new_secret()
    assert assessment_items(secret) == assessment_items(secret)
    other = secret[:-1] + ("0" if secret[-1] != "0" else "1")
    seeds, others = ({item.seed for item in assessment_items(s)} for s in (secret, other))
    assert len(seeds) == 20
    assert not seeds & others
    assert len(new_secret()) * 4 >= 128
    assert number_of(secret, "seed", 1) != number_of(secret, "seed1")


@pytest.mark.parametrize(
    "secret", ["", "ab" * 8, "00" * 32, "xyz", "AB" * 32], ids=["empty", "short", "flat", "text", "upper"]
)
def test_a_secret_that_can_be_guessed_is_refused(secret):
    with pytest.raises(ExerciseError, match="can be guessed"):
        check_secret(secret)


def test_the_course_is_public_and_the_same_every_time():
    seeds = [item.seed for item in course_items()]
    assert seeds == [FIRST_SEED + number for number in range(1, 21)]
    again = build_set(course_items(), title="Course", kind="self-study", secret=None, render=speckled)
    assert again.exercises == course().exercises
    assert again.truth == course().truth
    assert {name: pixels.tobytes() for name, pixels in again.images.items()} == {
        name: pixels.tobytes() for name, pixels in course().images.items()
    }


def test_workers_draw_the_same_set():
    counted = []
    made = build_set(
        course_items(),
        title="Course",
        kind="self-study",
        secret=None,
        render=speckled,
        workers=2,
        done=lambda: counted.append(1),
    )
    assert made.exercises == course().exercises
    assert made.truth == course().truth
    assert len(counted) == 20


def test_answers_that_were_changed_or_belong_elsewhere_are_refused(published, tmp_path):
    folder, made, _ = published
    exercises = load_set(folder / "set")
    assert load_truth(folder / "set.answers.json", exercises).set == made.exercises.set
    raw = json.loads((folder / "set.answers.json").read_text(encoding="utf-8"))
    raw["answers"][0]["length_mm"] += 0.1
    edited = tmp_path / "edited.json"
    edited.write_text(json.dumps(raw), encoding="utf-8")
    with pytest.raises(ExerciseError, match="changed after the set was made"):
        load_truth(edited, exercises)
    with pytest.raises(ExerciseError, match="another set"):
        load_truth(folder / "set.answers.json", course().exercises)
    reworded = exercises.model_copy(update={"title": "Other"})
    with pytest.raises(ExerciseError, match="another set, or the set was changed"):
        load_truth(folder / "set.answers.json", reworded)


def test_answers_never_lie_in_the_learners_folder(tmp_path):
    with pytest.raises(ExerciseError, match="in the learners' folder"):
        check_places(tmp_path / "set", tmp_path / "set" / "deep" / "answers.json")
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "old.txt").write_text("kept", encoding="utf-8")
    with pytest.raises(ExerciseError, match="holds something"):
        check_places(tmp_path / "full", tmp_path / "answers.json")
    (tmp_path / "answers.json").write_text("kept", encoding="utf-8")
    with pytest.raises(ExerciseError, match="there already"):
        check_places(tmp_path / "set", tmp_path / "answers.json")


@pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps rights elsewhere")
def test_the_teachers_file_is_for_its_owner_only(published):
    mode = (published[0] / "set.answers.json").stat().st_mode
    assert mode & 0o077 == 0


def test_the_secret_is_not_in_a_message(tmp_path):
    bad = "abcdef0123" * 2
    with pytest.raises(ExerciseError, match="guessed") as told:
        check_secret(bad)
    assert not re.search(bad, str(told.value))


def test_pixels_come_back_as_they_were_made(published):
    import cv2

    folder, made, _ = published
    for name, pixels in made.images.items():
        assert np.array_equal(cv2.imread(str(folder / "set" / name), cv2.IMREAD_UNCHANGED), pixels)
