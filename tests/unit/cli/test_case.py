"""``radlength case`` and ``radlength check FOLDER``: every command, each with JSON, and what is wrong in one line."""

from __future__ import annotations

import shlex

import pytest
from helpers.case_commands import LENGTH, LOCATOR, said
from helpers.made_case import long_case, write_marked_image
from helpers.two_images import two_images
from typer.main import get_command

from radlength.cli.app import build_app
from radlength.record import load_case, load_record, save_case, save_record
from radlength.trade import CAUTION, NOT_CONFIRMED
from radlength.uncertainty import Marking

DECIDE = (
    *("--canal", "46 MB", "--value", "21", "--again", "21", "--ends-at", "radiographic apex", "--short", "0"),
    *("--by", "invented person"),
)


def _leaves(group, names=()):
    for name, command in group.commands.items():
        if hasattr(command, "commands"):
            yield from _leaves(command, (*names, name))
        else:
            yield (*names, name), command


LEAVES = dict(_leaves(get_command(build_app()).commands["case"], ("case",)))  # type: ignore[attr-defined]


@pytest.mark.parametrize("names", LEAVES, ids=" ".join)
def test_every_command_has_help_json_and_an_example_that_parses(names, invoke):
    command = LEAVES[names]
    assert command.help
    assert [one.name for one in command.params if not getattr(one, "help", None)] == []
    assert {"--json", "--debug"} <= {option for one in command.params for option in one.opts}
    done = invoke(*names, "--help")
    assert CAUTION in said(done.out)
    example = said(command.epilog.split("Example:")[1].split(CAUTION)[0])
    assert example in said(done.out)
    words = shlex.split(example)
    assert tuple(words[1 : 1 + len(names)]) == names
    assert command.make_context("x", words[1 + len(names) :]).params


def test_a_case_from_the_first_command_to_the_decision(measured, invoke):
    shown = invoke("case", "show", measured)
    assert f"46 MB  {NOT_CONFIRMED}" in shown.out
    assert "E_n of each pair" in shown.out
    done = invoke("case", "decide", measured, *DECIDE, "--based-on", "3,4")
    assert done.code == 0, done.err
    assert "decided 21 mm by invented person" in done.out
    shown = invoke("case", "show", measured, "--combine")
    assert "decided by a person: 21 mm by invented person" in said(shown.out)
    assert "weighted mean, to the radiographic apex" in said(shown.out)
    assert CAUTION in said(shown.out)


def test_json_of_every_step(folder, invoke):
    made = invoke("case", "add", "length", folder, *LENGTH, "--json").json
    assert (made["number"], made["status"], made["event"]["length"]["value_mm"]) == (3, NOT_CONFIRMED, 21.0)
    shown = invoke("case", "show", folder, "--json").json
    assert shown["canals"][0]["lengths"][0]["number"] == 3
    assert shown["caution"] == CAUTION
    assert shown["invented"] is True
    decided = invoke("case", "decide", folder, *DECIDE, "--based-on", "3", "--json").json
    assert (decided["status"], decided["event"]["by"]) == ("decided by a person", "invented person")


def test_a_correction(measured, invoke):
    done = invoke("case", "correct", measured, 3, "--value", "20", "--why", "the stop had slipped")
    assert "length 3 corrected by number 5" in done.out
    case = load_case(measured)
    assert [one.number for one in case.lengths("46 MB")] == [4, 5]


def test_a_withdrawal(measured, invoke):
    done = invoke("case", "correct", measured, 3, "--withdraw", "--why", "entered twice")
    assert "length 3 withdrawn" in done.out
    assert [one.number for one in load_case(measured).lengths("46 MB")] == [4]
    done = invoke("case", "correct", measured, 4, "--withdraw", "--value", "20", "--why", "x")
    assert "a length withdrawn and corrected at once" in done.err


def test_images_notes_points_and_views(folder, invoke):
    for name in ("tooth.tif", "shifted.tif"):
        write_marked_image(folder, name)
        words = ("--stage", "working length", "--taken", "2026-01-02")
        assert invoke("case", "add", "image", folder, name, *words).code == 0
    assert invoke("case", "add", "views", folder, "tooth.tif", "4", "--shift", "mesial").code == 0
    assert invoke("case", "add", "note", folder, "--canal", "MB", "--state", "ledge").code == 0
    flaring = ("--canal", "MB", "--flaring", "before flaring")
    done = invoke("case", "add", "length", folder, *flaring, "--image", "tooth.tif")
    assert "20.70 mm" in done.out or done.code == 0
    words = ("--words", "reduced cusp", "--why", "cusp reduced", "--image", "3", "--point", "80,410")
    assert invoke("case", "add", "reference-point", folder, "--canal", "MB", *words).code == 0
    out = invoke("case", "show", folder).out
    assert "no length from this reference point yet" in out
    assert "working length" in out
    case = load_case(folder)
    assert [event.kind for event in case.events][2:] == [
        "image",
        "image",
        "views",
        "note",
        "length",
        "reference point",
    ]
    assert case.series("46 MB")[-1].point_px == (80.0, 410.0)


def test_an_image_may_be_named_from_here(folder, invoke, monkeypatch):
    write_marked_image(folder)
    monkeypatch.chdir(folder.parent)
    words = ("--stage", "review", "--taken", "2026-01-02")
    assert invoke("case", "add", "image", folder.name, f"{folder.name}/tooth.tif", *words).code == 0
    assert load_case(folder).images[0].path == "tooth.tif"


def test_the_demo_is_invented_and_decides_nothing(tmp_path, invoke):
    done = invoke("case", "demo", tmp_path / "demo", "--json")
    assert done.json["status"] == NOT_CONFIRMED
    shown = invoke("case", "show", tmp_path / "demo")
    assert "invented case" in shown.out
    assert load_case(tmp_path / "demo").decision("45 single") is None
    assert invoke("check", tmp_path / "demo", "--strict").code == 0
    again = invoke("case", "demo", tmp_path / "demo")
    assert again.code == 1
    assert "the folder for the demo holds something" in again.err


def test_show_one_canal_and_strict(measured, invoke):
    assert invoke("case", "show", measured, "--canal", "MB", "--strict").code == 0
    far = [*LENGTH]
    far[far.index("21")] = "28"
    invoke("case", "add", "length", measured, *far)
    assert invoke("case", "show", measured, "--strict").code == 3
    assert "values-conflict" in invoke("case", "show", measured, "--json").out


CANAL_AT = (
    "add",
    "canal",
    "{folder}",
    "--tooth",
    "46",
    "--canal",
    "D",
    "--reference-point",
    "cusp",
    "--point",
)
WRONG = {
    "no case": (("show", "{nowhere}"), "there is no case in this folder; begin one"),
    "new twice": (("new", "{folder}"), "there is a case in this folder already; "),
    "no canal": (("show", "{folder}", "--canal", "D"), "no canal 'D' in the case"),
    "no stage": (("add", "image", "{folder}", "x.png", "--taken", "2026-01-02"), "--stage: it is not stated"),
    "no date": (
        ("add", "image", "{folder}", "x.png", "--stage", "review"),
        "--taken: the day is not stated; year-month-day",
    ),
    "no such image": (
        ("add", "image", "{folder}", "x.png", "--stage", "review", "--taken", "2026-01-02"),
        "the file cannot be read",
    ),
    "no views": (
        ("add", "views", "{folder}", "a.png", "b.png", "--shift", "mesial"),
        "no image of that name",
    ),
    "no state": (("add", "note", "{folder}", "--canal", "MB", "--state", "x"), "--state: 'x' is unknown"),
    "no value": (
        ("add", "length", "{folder}", *LENGTH[:6], "--limit", "0.5", "--ends-at", "apical foramen"),
        "--value: it is not stated",
    ),
    "no limit": (
        ("add", "length", "{folder}", *LENGTH[:8], "--ends-at", "apical foramen"),
        "--limit: it is not stated",
    ),
    "no end": (("add", "length", "{folder}", *LENGTH[:10]), "--ends-at: it is not stated"),
    "no reading": (
        ("add", "length", "{folder}", *LOCATOR[:6], "--limit", "0.5", "--ends-at", "apical foramen"),
        "--read: it is not stated",
    ),
    "value and image": (("add", "length", "{folder}", *LENGTH, "--image", "x"), "a value and an image"),
    "bad time": (
        ("add", "length", "{folder}", *LENGTH, "--measured", "noon"),
        "--measured: 'noon' is no time",
    ),
    "before any estimate": (
        ("decide", "{folder}", *DECIDE, "--based-on", "3"),
        "there is no length of 46 MB from its present reference point",
    ),
    "typed twice": (
        ("decide", "{folder}", *DECIDE[:4], "--again", "22", *DECIDE[6:], "--based-on", "3"),
        "the same number twice",
    ),
    "no point": (
        (*CANAL_AT, ""),
        "--point: 0 points where one is meant",
    ),
    "two points": (
        (*CANAL_AT, "1,1 2,2"),
        "--point: 2 points where one is meant",
    ),
    "blank canal": (
        ("add", "canal", "{folder}", "--tooth", "46", "--canal", "", "--reference-point", "cusp"),
        "a canal of tooth 46 without a name; 1 to 60 characters, such as MB, MB2, D or single; state it",
    ),
    "no numbers": (("decide", "{folder}", *DECIDE, "--based-on", "all"), "numbers of lengths are meant"),
    "correct nothing": (("correct", "{folder}", "9", "--why", "x"), "there is no event 9"),
}


def test_a_long_case_is_told_in_short(folder, invoke):
    (folder / "long").mkdir()
    save_case(long_case(60), folder / "long")
    done = said(invoke("case", "show", folder / "long").out)
    assert "1653 pairs compared; the findings say which disagree, --json lists the worst" in done
    assert "14 tactile and so on to 60 tactile, 58 in all: +0.0 mm" in done


@pytest.mark.parametrize("what", WRONG)
def test_what_is_wrong_is_one_line(folder, invoke, what):
    words, said = WRONG[what]
    before = (folder / "radlength-case.json").read_bytes()
    places = {"folder": folder, "nowhere": folder / "nowhere"}
    done = invoke("case", *(str(word).format(**places) for word in words))
    assert done.code == 1
    assert done.err.count("\n") == 1
    assert said in done.err
    assert (folder / "radlength-case.json").read_bytes() == before


@pytest.mark.parametrize(
    "left_out", ["--value", "--again", "--by", "--based-on", "--ends-at", "--short", "--canal"]
)
def test_a_decision_has_no_default(measured, invoke, left_out):
    words = [*DECIDE, "--based-on", "3"]
    at = words.index(left_out)
    done = invoke("case", "decide", measured, *words[:at], *words[at + 2 :])
    assert done.code == 2
    assert load_case(measured).decision("46 MB") is None


def test_a_record_changed_after_the_image_was_added_gives_no_length(folder, invoke):
    write_marked_image(folder)
    words = ("--stage", "working length", "--taken", "2026-01-02")
    invoke("case", "add", "image", folder, "tooth.tif", *words)
    save_record(load_record(folder / "tooth.tif").with_marking(Marking(apex_mm=0.4)))
    flaring = ("--canal", "MB", "--flaring", "before flaring", "--image", "tooth.tif")
    done = invoke("case", "add", "length", folder, *flaring)
    assert done.code == 1
    assert "was made or changed after the image was added" in done.err
    invoke("case", "add", "image", folder, "tooth.tif", *words)
    assert invoke("case", "add", "length", folder, *flaring).code == 0


def test_no_command_but_decide_makes_a_decision(tmp_path, invoke, monkeypatch):
    """Every command of the program is run on a case in its folder; none but ``case decide`` decides."""
    folder = tmp_path / "demo"
    invoke("case", "demo", folder)
    image, canal = folder / "working-length.png", ("--canal", "45 single")
    gap = ("--set-length", "21", "--gap", "945,421 990,396", "--rule", "tip within 1 mm")
    stated = ("--flaring", "not known", "--method", "tactile", "--value", "21", "--limit", "0.5")
    tried = {
        "demo": ("--help",),
        "mark": (image, "--help"),
        "trace": (image, "--help"),
        "estimate": (image,),
        "views": (image, image, "--shift", "mesial"),
        "confirm": (image, *canal, *gap),
        "check": (folder,),
        "quality": (image, "--help"),
        "report": (image, "--csv", folder / "x.csv"),
        "view": ("--help",),
        "phantom": ("--help",),
        "case new": (folder / "new",),
        "case add image": (folder, image.name, "--stage", "review", "--taken", "2026-01-12"),
        "case add canal": (folder, "--tooth", "45", "--canal", "B", "--reference-point", "cusp"),
        "case add reference-point": (folder, "--canal", "B", "--words", "edge", "--why", "reduced"),
        "case add note": (folder, *canal, "--state", "ledge"),
        "case add views": (folder, image.name, image.name, "--shift", "mesial"),
        "case add length": (folder, *canal, *stated, "--ends-at", "radiographic apex"),
        "case show": (folder, "--combine"),
        "case report": (folder, "--html", tmp_path / "x.html", "--share", tmp_path / "shared"),
        "case correct": (folder, "6", "--why", "wrong canal", "--canal", "B"),
        "case demo": (folder / "again",),
    }
    have = {" ".join(names) for names, _ in _leaves(get_command(build_app()))}
    assert {name for name in have if name.startswith("case ")} <= {*tried, "case decide"}
    others = dict.fromkeys(have - {*tried, "case decide"}, (folder,))
    monkeypatch.chdir(tmp_path)
    for name, words in (others | tried).items():
        done = invoke(*name.split(), *words)
        assert done.code in (0, 1) or name in others, (name, done.err)
        case = load_case(folder)
        assert [case.decision(one.label) for one in case.canals] == [None] * len(case.canals), name
    for path in tmp_path.rglob("radlength-case.json"):
        assert b'"kind":"decision"' not in path.read_bytes()


def test_a_length_from_two_views_is_measured_in_space(tmp_path, invoke):
    scene, images, files, _ = two_images(tmp_path, 741001, kind="lower_molar")
    assert invoke("case", "new", tmp_path, "--invented").code == 0
    words = ("--tooth", "46", "--canal", "MB", "--reference-point", "mesiobuccal cusp")
    invoke("case", "add", "canal", tmp_path, *words)
    for image, marks in zip(images, files, strict=True):
        assert invoke("mark", image, "--from", marks).code == 0
        assert invoke("mark", image, "--pitch-mm", "0.025").code == 0
        words = ("--stage", "working length", "--taken", "2026-01-02")
        assert invoke("case", "add", "image", tmp_path, image.name, *words).code == 0
    pair = (images[0].name, images[1].name, "--shift", "mesial", "--shift-deg", "20")
    assert invoke("case", "add", "views", tmp_path, *pair).code == 0
    added = ("add", "length", tmp_path, "--canal", "MB", "--flaring", "before flaring", "--views", "5")
    done = invoke("case", *added, "--json").json
    event = done["event"]
    assert (event["method"], event["views"], event["short_mm"]) == ("two views", 5, 1.0)
    truth = scene.canal("MB").length_mm
    assert event["length"]["low_mm"] < truth - 1 < event["length"]["high_mm"]
    alone = invoke("views", *images, "--shift", "mesial", "--shift-deg", "20", "--json").json
    assert event["length"]["value_mm"] == pytest.approx(alone["canals"][0]["working_length"]["value_mm"])
    assert [one["code"] for one in done["findings"]] == [one["code"] for one in alone["findings"]]
    assert done["status"] == NOT_CONFIRMED
    invoke("mark", images[1], "--pitch-mm", "0.026")
    done = invoke("case", *added)
    assert done.code == 1
    assert "was made or changed after the image was added" in done.err
    assert invoke("case", "add", "image", tmp_path, images[1].name, *words).code == 0
    again = invoke("case", *added, "--replaces", "6", "--why", "marks of the second image changed")
    assert again.code == 0, again.err
    images[1].write_bytes(images[1].read_bytes() + b"\0")
    assert invoke("case", "add", "image", tmp_path, images[1].name, *words).code == 0
    done = invoke("case", *added)
    assert done.code == 1
    assert "state the pair again" in done.err


ESTIMATED = (
    *("--canal", "46 MB", "--flaring", "after flaring", "--image", "tooth.tif", "--result", "estimate"),
)


def test_the_same_result_again_is_refused_with_what_to_do(folder, invoke):
    write_marked_image(folder)
    words = ("--stage", "working length", "--taken", "2026-01-02")
    assert invoke("case", "add", "image", folder, "tooth.tif", *words).code == 0
    first = invoke("case", "add", "length", folder, *ESTIMATED)
    assert "by estimate on a working-length image" in said(first.out)
    again = invoke("case", "add", "length", folder, *ESTIMATED)
    assert again.code == 1
    assert "is the estimate of this image already" in again.err
    assert "--replaces 4 --why" in again.err
    assert invoke("case", "add", "length", folder, *ESTIMATED, "--replaces", 4, "--why", "again").code == 0
    assert len(load_case(folder).lengths("46 MB")) == 1


def test_no_change_has_no_minus(folder, invoke):
    for value in ("21.02", "21.0"):
        words = [*LENGTH]
        words[words.index("21")] = value
        assert invoke("case", "add", "length", folder, *words).code == 0
    out = said(invoke("case", "show", folder).out)
    assert "change over" in out
    assert "-0.0 " not in out
    assert ": +0.0 mm (" in out
