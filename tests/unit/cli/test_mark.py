from __future__ import annotations

import json
import shlex
from dataclasses import replace
from pathlib import Path

import cv2
import pytest
from helpers.cases import CANAL, MARK, REFERENCE, points, write_image

from radlength.record import load_record, save_record


def test_marks_of_the_options_are_in_the_record(marked: Path) -> None:
    record = load_record(marked)
    entry = record.entry("single")
    assert entry.canal.path_px == tuple(CANAL)
    assert entry.canal.tooth == "45"
    assert entry.terminus is not None
    assert entry.terminus.distance_mm == 1.0
    reference = record.reference_of(entry)
    assert reference is not None
    assert reference.path_px == tuple(REFERENCE)
    assert (reference.length_mm, reference.limit_mm, reference.placement) == (21.0, 0.25, "in_canal")
    assert reference.canal == "single"


def test_a_canal_marked_again_keeps_terminus_and_reference(marked: Path, invoke) -> None:
    moved = [*CANAL[:-1], (239.0, 61.0)]
    assert invoke("mark", marked, "--tooth", "45", "--canal", "single", "--path", points(moved)).code == 0
    entry = load_record(marked).entry("single")
    assert entry.canal.path_px[-1] == (239.0, 61.0)
    assert entry.reference == "reference 1"
    assert entry.terminus is not None
    assert entry.terminus.distance_mm == 1.0


def test_a_canal_marked_again_keeps_how_it_is_known_to_be_straight(marked: Path, invoke) -> None:
    """It is said of the canal, not of the clicks; an empty text takes it back."""
    again = ("mark", marked, "--tooth", "45", "--canal", "single", "--path", points(CANAL[:1] + CANAL[2:]))
    for words, kept in (
        (("--straight", "second view"), "second view"),
        ((), "second view"),
        (("--straight", ""), ""),
    ):
        assert invoke(*again, *words).code == 0
        assert load_record(marked).entry("single").canal.straight == kept


def test_marks_of_other_pixels_are_bound_on_purpose_only(marked: Path, invoke) -> None:
    grey = cv2.imread(str(marked), cv2.IMREAD_UNCHANGED)
    grey[0, 0] ^= 1
    cv2.imwrite(str(marked), grey)
    before = load_record(marked)
    for command in ("estimate", "check"):
        refused = invoke(command, marked)
        assert refused.code == 1
        assert "these marks were made on another image" in refused.err
        assert "radlength mark IMAGE --rebind" in refused.err
    assert invoke("mark", marked, "--canal", "single", "--offset-mm", "2").code == 1
    assert load_record(marked) == before
    assert invoke("mark", marked, "--rebind", "--who", "invented person").code == 0
    record = load_record(marked)
    assert record.canals == before.canals
    assert record.history[-1].who == "invented person"
    assert record.history[-1].what == f"bound to other pixels; before: {before.image.pixel_sha256}"
    assert invoke("estimate", marked).code == 0
    entries = len(load_record(marked).history)
    assert invoke("mark", marked, "--rebind").code == 0
    assert len(load_record(marked).history) == entries
    Path(f"{marked}.radlength.json").unlink()
    assert "there is no record" in invoke("mark", marked, "--rebind").err


def test_terminus_alone_can_be_changed(marked: Path, invoke) -> None:
    done = invoke(
        *("mark", marked, "--canal", "single"),
        *("--terminus-table", "apex offset by resorption", "--observation", "bone"),
    )
    assert done.code == 0, done.err
    record = load_record(marked)
    entry = record.entry("single")
    assert entry.terminus is not None
    assert (entry.terminus.observation, entry.terminus.distance_mm) == ("bone", 1.5)
    assert entry.canal.path_px == tuple(CANAL)
    assert record.history[-1].what == "canal 45 single marked again"


def test_nothing_changed_is_no_history(marked: Path, invoke) -> None:
    before = len(load_record(marked).history)
    assert invoke("mark", marked, "--canal", "single", "--offset-mm", "1.0").code == 0
    assert len(load_record(marked).history) == before


def test_a_reference_may_come_before_its_canal(image: Path, invoke) -> None:
    words = ("--canal", "MB", "--reference-path", points(REFERENCE), "--reference-length", "21")
    assert invoke("mark", image, *words).code == 0
    record = load_record(image)
    assert [reference.canal for reference in record.references] == ["MB"]
    assert record.canals == ()


def test_every_other_option_is_kept(image: Path, invoke) -> None:
    done = invoke(
        *(
            "mark",
            image,
            *MARK[:-2],
            "--placement",
            "beside",
            "--reference-name",
            "wire",
            "--who",
            "A. Tester",
        ),
        *("--apex-sd", "0.4", "--end-sd", "0.2", "--path-sd", "0.15", "--pitch-mm", "0.1,0.11"),
        *("--reference-point", "buccal cusp"),
    )
    assert done.code == 0, done.err
    record = load_record(image)
    assert record.references[0].name == "wire"
    assert record.references[0].placement == "beside"
    assert record.references[0].canal is None
    marking = record.marking
    assert (marking.apex_mm, marking.stop_mm, marking.tip_mm, marking.path_mm) == (0.4, 0.2, 0.2, 0.15)
    assert record.stated_pitch_mm == (0.1, 0.11)
    assert record.entry("single").terminus is None
    assert record.entry("single").canal.reference_point == "buccal cusp"
    assert record.history[-1].who == "A. Tester"


def test_a_reference_of_another_canal_is_borrowed(marked: Path, invoke) -> None:
    other = [(22.0, 80.0), (90.0, 82.0), (160.0, 83.0), (228.0, 84.0)]
    words = ("--tooth", "45", "--canal", "L", "--path", points(other))
    assert invoke("mark", marked, *words).code == 0
    found = invoke("estimate", marked, "--canal", "L", "--json").json["estimates"][0]
    assert found["method"] == "borrowed"
    assert "reference-borrowed" in [finding["code"] for finding in found["findings"]]


def test_an_instrument_lent_to_a_namesake_on_another_tooth_is_borrowed_there_and_there_alone(
    marked: Path, invoke
) -> None:
    other = [(22.0, 80.0), (90.0, 82.0), (160.0, 83.0), (228.0, 84.0)]
    words = ("--tooth", "46", "--canal", "single", "--path", points(other))
    assert invoke("mark", marked, *words).code == 0
    found = invoke("estimate", marked, "--json").json["estimates"]
    told = {f"{one['tooth']} {one['canal']}": one["method"] for one in found}
    assert told == {"45 single": "in_canal", "46 single": "borrowed"}
    said = invoke("estimate", marked, "--canal", "46 single").out
    assert "45 single, not in 46 single" in " ".join(said.split())


def owners(marked: Path) -> list[str | None]:
    return [one.canal for one in load_record(marked).references]


def test_an_instrument_marked_again_under_its_name_lies_in_the_canal_it_is_marked_with(
    marked: Path, invoke
) -> None:
    other = (
        "--canal",
        "single",
        "--path",
        points([(22.0, 80.0), (90.0, 82.0), (160.0, 83.0), (228.0, 84.0)]),
    )
    assert invoke("mark", marked, "--tooth", "46", *other).code == 0
    assert owners(marked) == ["45 single"]
    again = ("--reference-name", "reference 1", "--reference-path", points(REFERENCE), "--canal", "single")
    for tooth in ("46", "45"):
        assert invoke("mark", marked, *again, "--tooth", tooth).code == 0
        assert owners(marked) == [f"{tooth} single"]


def test_an_instrument_that_measured_namesakes_already_is_given_to_neither(marked: Path, invoke) -> None:
    """As records of older programs have it: to mark one canal again does not say that it lies in the other."""
    record = load_record(marked)
    own = record.canals[0].canal
    save_record(record.with_canal(replace(own, tooth="46"), reference="reference 1"), marked)
    assert owners(marked) == ["single"]
    for tooth in ("45", "46"):
        words = ("--canal", "single", "--tooth", tooth, "--reference-point", "cusp")
        assert invoke("mark", marked, *words).code == 0
        assert owners(marked) == ["single"]


def test_an_instrument_that_tells_its_tooth_is_changed_by_its_canal(marked: Path, invoke) -> None:
    record = load_record(marked)
    save_record(record.with_reference(replace(record.references[0], canal="45 single")), marked)
    done = invoke("mark", marked, "--canal", "single", "--reference-length", "22")
    assert done.code == 0, done.err
    assert load_record(marked).references[0].length_mm == 22


def test_records_may_lie_elsewhere(image: Path, tmp_path: Path, invoke) -> None:
    elsewhere = tmp_path / "records"
    elsewhere.mkdir()
    assert invoke("mark", image, *MARK, "--records", elsewhere).code == 0
    assert [path.name for path in elsewhere.glob("*.json")] == ["tooth.png.radlength.json"]
    assert not image.with_name("tooth.png.radlength.json").exists()
    assert invoke("estimate", image, "--records", elsewhere).code == 0
    missing = invoke("estimate", image)
    assert missing.code == 1
    assert "there is no record of this image" in missing.err


def test_json_names_the_record(image: Path, invoke) -> None:
    document = invoke("mark", image, *MARK, "--json").json
    assert document["canals"] == ["45 single"]
    assert document["references"] == 1
    assert json.loads(Path(document["record"]).read_text("utf-8"))["format"] == "radlength-record"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "nothing to mark"),
        (("--path", "1,2 3,4"), "--path needs --tooth and --canal"),
        (("--reference-path", "1,2 3,4"), "go together"),
        (("--reference-length", "21"), "go together"),
        (("--offset-mm", "1"), "a terminus needs --canal"),
        (("--from", "marks.json", "--canal", "MB"), "no other marks beside it"),
        (("--placement", "above", "--canal", "MB"), "above"),  # the sentence is the library's
        (("--offset-mm", "short", "--canal", "MB"), "--offset-mm"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else None,
)
def test_wrong_usage_is_two(image: Path, invoke, words: tuple[str, ...], said: str) -> None:
    done = invoke("mark", image, *words)
    assert done.code == 2
    assert said in " ".join(done.err.replace("│", " ").split())
    assert not image.with_name("tooth.png.radlength.json").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--tooth", "95", "--canal", "MB", "--path", "1,2 30,4"), "95"),
        (("--tooth", "46", "--canal", "MB", "--path", "1,2 3;4"), "'3;4' is not a point"),
        (("--tooth", "46", "--canal", "MB", "--path", "1,2"), "1 point"),
        (("--canal", "MB", "--offset-mm", "1"), "no canal 'MB'"),
        (("--tooth", "46", "--canal", "MB", "--path", "1,2 30,4", "--offset-mm", "9"), "9.0 mm"),
        (("--reference-path", "1,2 30,4", "--reference-length", "-3"), "-3"),
        (("--pitch-mm", "0.02,0.02,0.02"), "as a pixel pitch"),
    ],
    ids=["tooth", "point", "one-point", "canal", "offset", "reference", "pitch"],
)
def test_impossible_marks_are_one_line_and_one(
    image: Path, invoke, words: tuple[str, ...], said: str
) -> None:
    done = invoke("mark", image, *words)
    assert done.code == 1
    assert done.out == ""
    assert done.err.startswith("radlength: ")
    assert done.err.count("\n") == 1
    assert said in done.err
    assert not image.with_name("tooth.png.radlength.json").exists()


def test_marks_of_another_image_are_refused(marked: Path, tmp_path: Path, invoke) -> None:
    other = tmp_path / "other.png"
    write_image(other, seed=2)
    record = marked.with_name("tooth.png.radlength.json").read_bytes()
    (tmp_path / "other.png.radlength.json").write_bytes(record)
    for command in ("check", "estimate"):
        done = invoke(command, other)
        assert done.code == 1
        assert "made on another image" in done.err
    assert (tmp_path / "other.png.radlength.json").read_bytes() == record


@pytest.mark.parametrize("name", ["-tooth.png", "tooth 46's.png", "$(x) & y.png"])
def test_the_command_that_is_named_next_runs_as_it_is_printed(
    name, tmp_path: Path, invoke, monkeypatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("kept here").mkdir()
    write_image(tmp_path / name)
    done = invoke("mark", f"./{name}", *MARK, "--records", "kept here")
    command = next(line for line in done.out.splitlines() if line.startswith("next: ")).removeprefix("next: ")
    words = shlex.split(command)
    assert words[0] == "radlength"
    assert invoke(*words[1:]).code == 0
    named = invoke("estimate", f"./{name}").err.split("mark it: ")[1].split(" --tooth")[0]
    assert Path(shlex.split(named)[2]).name == name


def reference_of(image: Path, number: int = 0):
    return load_record(image).references[number]


def test_a_known_reference_is_changed_by_what_is_given_alone(marked: Path, invoke) -> None:
    before = reference_of(marked)
    for words in (("--canal", "single"), ("--reference-name", "reference 1"), ()):
        done = invoke("mark", marked, *words, "--reference-limit", "0.1")
        assert done.code == 0, done.err
        after = reference_of(marked)
        assert (after.limit_mm, after.length_mm, after.path_px) == (0.1, 21.0, before.path_px)
        assert (after.placement, after.canal) == ("in_canal", "single")
        assert invoke("mark", marked, *words, "--reference-limit", "0.25").code == 0
    entry = load_record(marked).entry("single")
    assert (entry.reference, entry.terminus.distance_mm if entry.terminus else None) == ("reference 1", 1.0)
    assert invoke("mark", marked, "--canal", "single", "--reference-length", "20").code == 0
    assert (reference_of(marked).length_mm, reference_of(marked).limit_mm) == (20.0, 0.25)


def test_the_placement_of_a_known_reference_can_be_changed(marked: Path, invoke) -> None:
    assert invoke("mark", marked, "--canal", "single", "--placement", "beside").code == 0
    after = reference_of(marked)
    assert (after.placement, after.canal, after.limit_mm) == ("beside", None, 0.25)
    assert invoke("mark", marked, "--canal", "single", "--placement", "in_canal").code == 0
    assert (reference_of(marked).placement, reference_of(marked).canal) == ("in_canal", "single")


def test_a_reference_marked_again_keeps_limit_length_and_placement(marked: Path, invoke) -> None:
    assert invoke("mark", marked, "--canal", "single", "--placement", "beside").code == 0
    moved = points([*REFERENCE[:-1], (229.0, 61.0)])
    words = ("--reference-name", "reference 1", "--reference-path", moved)
    assert invoke("mark", marked, *words, "--reference-length", "21").code == 0
    after = reference_of(marked)
    assert (after.limit_mm, after.placement, after.path_px[-1]) == (0.25, "beside", (229.0, 61.0))
    assert invoke("mark", marked, *words).code == 0
    assert reference_of(marked) == after


def test_defaults_are_of_a_new_reference(marked: Path, invoke) -> None:
    words = ("--reference-path", points(REFERENCE), "--reference-length", "20")
    assert invoke("mark", marked, *words, "--reference-name", "wire").code == 0
    new = reference_of(marked, 1)
    assert (new.name, new.limit_mm, new.placement) == ("wire", 0.5, "in_canal")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--reference-limit", "0.1"), "nothing says which reference is to be changed"),
        (("--reference-limit", "0.1", "--reference-name", "file"), "there is no such reference"),
        (
            ("--reference-path", "1,2 30,4", "--reference-name", "file"),
            "no length is given for this new reference",
        ),
        (("--canal", "single", "--reference-limit", "30"), "a reference limit of 30.0 mm on 21.0 mm"),
    ],
    ids=["which", "unknown", "no-length", "limit"],
)
def test_a_change_of_no_reference_is_refused_and_never_ignored(
    marked: Path, invoke, words: tuple[str, ...], said: str
) -> None:
    other = ("--reference-path", points(REFERENCE), "--reference-length", "20", "--reference-name", "wire")
    assert invoke("mark", marked, *other).code == 0
    before = marked.with_name("tooth.png.radlength.json").read_bytes()
    done = invoke("mark", marked, *words)
    assert done.code == 1
    assert said in done.err
    assert marked.with_name("tooth.png.radlength.json").read_bytes() == before


def test_a_second_instrument_in_a_canal_is_told_with_the_way_to_correct_the_first(
    marked: Path, invoke
) -> None:
    """Who types the whole command again to correct a length leaves the slip in the record."""
    again = ("--reference-path", points(REFERENCE), "--canal", "single", "--tooth", "45")
    done = invoke("mark", marked, *again, "--reference-length", "31")
    assert done.code == 0, done.err
    words = " ".join(done.out.split())
    assert "45 single: in it lies another reference too (reference 1, 21 mm)" in words
    assert "--reference-name" in words
    named = invoke("mark", marked, "--reference-name", "reference 2", "--reference-length", "21")
    assert "reference 1, 21 mm" in named.out


def test_one_instrument_in_a_canal_needs_no_word(image: Path, invoke) -> None:
    assert "another reference" not in invoke("mark", image, *MARK).out


@pytest.mark.parametrize("pitch", ["0.1,0.02", "0.02,0.1"])
def test_a_pitch_of_pixels_that_no_receptor_has_is_refused(image: Path, invoke, pitch: str) -> None:
    done = invoke("mark", image, *MARK, "--pitch-mm", pitch)
    assert done.code == 1
    assert "one side at most 3 times the other" in done.err
    assert not list(image.parent.glob("*.radlength.json"))
