"""Every command as a user's shell sees it: its own process, a pipe, exit status, bytes."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest
from helpers.cases import CANAL, MARK, points, run, write_image

from radlength.trade import CAUTION

GAP = ("--gap", "235,60 241,60", "--rule", "tip within 1 mm")
COMMANDS: dict[str, tuple[str, ...]] = {
    "mark": ("mark", "tooth.png", *MARK),
    "estimate": ("estimate", "tooth.png", "--round", "down", "--monte-carlo"),
    "confirm": ("confirm", "tooth.png", "--canal", "single", "--set-length", "21", *GAP),
    "check": ("check", "tooth.png"),
    "report": ("report", "tooth.png", "--png", "marked.png"),
    "demo": ("demo", "--out", "demo"),
}


@pytest.fixture(scope="module")
def marked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An image and its record; each test has its own copy."""
    folder = tmp_path_factory.mktemp("marked")
    write_image(folder / "tooth.png")
    done = run("mark", "tooth.png", *MARK, cwd=folder)
    assert done.code == 0, done.err
    return folder


@pytest.fixture
def folder(marked: Path, tmp_path: Path) -> Path:
    return shutil.copytree(marked, tmp_path, dirs_exist_ok=True)


@pytest.mark.parametrize("name", COMMANDS)
def test_text_in_a_pipe(folder: Path, name: str) -> None:
    done = run(*COMMANDS[name], cwd=folder)
    assert (done.code, done.err) == (0, "")
    control = {char for char in done.out if unicodedata.category(char) == "Cc" and char != "\n"}
    assert control == set()
    assert CAUTION in " ".join(done.out.split())
    long = [line for line in done.out.splitlines() if len(line) > 80 and "written" not in line]
    assert long == []


@pytest.mark.parametrize("name", COMMANDS)
def test_json_is_one_document_with_the_caution(folder: Path, name: str) -> None:
    done = run(*COMMANDS[name], "--json", cwd=folder)
    assert (done.code, done.err) == (0, "")
    assert done.json["caution"] == CAUTION


@pytest.mark.parametrize("name", [name for name in COMMANDS if name != "demo"])
def test_error_as_text_and_as_json(tmp_path: Path, name: str) -> None:
    (tmp_path / "tooth.png").write_bytes(b"not an image")
    text = run(*COMMANDS[name], cwd=tmp_path)
    assert (text.code, text.out) == (1, "")
    assert re.fullmatch(r"radlength: [^\n]+\n", text.err)
    assert "Traceback" not in text.err
    told = run(*COMMANDS[name], "--json", cwd=tmp_path)
    assert (told.code, told.err) == (1, "")
    assert told.json["caution"] == CAUTION
    assert text.err == f"radlength: {told.json['error']['message']}\n"
    debug = run(*COMMANDS[name], "--debug", cwd=tmp_path)
    assert debug.code == 1
    assert "Traceback" in debug.err


@pytest.mark.parametrize("columns", [60, 80, 120])
def test_numbers_are_whole_at_any_width(folder: Path, columns: int) -> None:
    """Every figure of the JSON stands uncut in the text, whatever the width."""
    found = run("estimate", "tooth.png", "--json", cwd=folder).json["estimates"][0]
    said = run("estimate", "tooth.png", cwd=folder, COLUMNS=str(columns)).out
    assert "…" not in said
    numbers = [
        f"{found[key]['value_mm']:.2f} mm" for key in ("canal_length", "working_length", "straight_length")
    ]
    numbers += [f"{line['u_mm']:.3f}" for line in found["budget"]]
    numbers += [f"{line['share_percent']:.1f} %" for line in found["budget"]]
    assert [number for number in numbers if number not in said] == []
    assert max(map(len, said.splitlines())) <= max(columns, 60)


def test_colours_only_when_asked_for_and_never_with_no_color(folder: Path) -> None:
    words = ("estimate", "tooth.png")
    assert "\x1b[" not in run(*words, cwd=folder).out
    assert "\x1b[1;3" not in run(*words, cwd=folder, NO_COLOR="1").out
    forced = run(*words, cwd=folder, FORCE_COLOR="1")
    assert "\x1b[" in forced.out
    both = run(*words, cwd=folder, FORCE_COLOR="1", NO_COLOR="1")
    assert re.search(r"\x1b\[(\d+;)*[34]\d", both.out) is None


@pytest.mark.parametrize("more", [(), ("--json",)], ids=["text", "json"])
def test_a_reader_that_leaves_early_is_no_error(folder: Path, more: tuple[str, ...]) -> None:
    program = [sys.executable, "-c", "from radlength.cli import main; main()", "estimate", "tooth.png", *more]
    with subprocess.Popen(program, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        said = process.stderr.read()
        process.wait(60)
    assert (process.returncode, said) == (0, b"")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is full")
@pytest.mark.parametrize("more", [(), ("--json",)], ids=["text", "json"])
def test_what_cannot_be_printed_is_one_line_on_the_error_stream(folder: Path, more: tuple[str, ...]) -> None:
    program = [sys.executable, "-c", "from radlength.cli import main; main()", "estimate", "tooth.png", *more]
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(program, cwd=folder, stdout=full, stderr=subprocess.PIPE, check=False)
    assert done.returncode == 1
    assert re.fullmatch(rb"radlength: [^\n]*No space left on device[^\n]*\n", done.stderr)


def test_an_image_with_no_encoding_of_its_own(folder: Path) -> None:
    """Output is UTF-8 even where the environment says otherwise."""
    done = run("estimate", "tooth.png", cwd=folder, LC_ALL="C", PYTHONIOENCODING="ascii", PYTHONUTF8="0")
    assert done.code == 0
    assert "±" in done.out


def test_read_only_folder_and_records_elsewhere(
    folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    elsewhere = tmp_path_factory.mktemp("records")
    media = tmp_path_factory.mktemp("media")
    write_image(media / "tooth.png")
    media.chmod(0o500)
    try:
        done = run("mark", "tooth.png", *MARK, "--records", elsewhere, cwd=media)
        assert done.code == 0, done.err
        assert run("estimate", "tooth.png", "--records", elsewhere, cwd=media).code == 0
        refused = run("mark", "tooth.png", *MARK, cwd=media)
        if os.geteuid() != 0:
            assert refused.code == 1
            assert "--records DIR" in refused.err
    finally:
        media.chmod(0o700)


def test_from_marks_to_confirmation(folder: Path) -> None:
    """The steps of a day: mark, estimate, mark again, estimate, confirm, check, picture; the history keeps all."""
    assert run("estimate", "tooth.png", cwd=folder).code == 0
    words = (
        "--tooth",
        "45",
        "--canal",
        "single",
        "--path",
        points([*CANAL[:-1], (239.0, 61.0)]),
        "--who",
        "A. Tester",
    )
    assert run("mark", "tooth.png", *words, cwd=folder).code == 0
    assert "differs" in run("check", "tooth.png", cwd=folder).out
    assert run("estimate", "tooth.png", cwd=folder).code == 0
    assert run(*COMMANDS["confirm"], cwd=folder).code == 0
    assert "agrees" in run("check", "tooth.png", cwd=folder).out
    assert run(*COMMANDS["report"], cwd=folder).code == 0
    raw = json.loads((folder / "tooth.png.radlength.json").read_text("utf-8"))
    assert len(raw["estimates"]) == 2
    assert len(raw["confirmations"]) == 1
    told = [entry["what"] for entry in raw["history"]]
    assert [what for what in told if "45 single" in what] == [
        "canal 45 single marked",
        "canal 45 single estimated",
        "canal 45 single marked again",
        "canal 45 single estimated",
        "canal 45 single confirmed: " + raw["confirmations"][0]["verdict"],
    ]


@pytest.mark.parametrize("words", [("--help",), ("mark", "--help"), ("case", "add", "length", "--help")])
def test_help_whose_reader_has_gone_is_no_failure(words: tuple[str, ...]) -> None:
    program = [sys.executable, "-c", "from radlength.cli import main; main()", *words]
    with subprocess.Popen(program, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        said = process.stderr.read()
        process.wait(60)
    assert (process.returncode, said) == (0, b"")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="no device that is full")
def test_help_that_cannot_be_printed_is_one_line() -> None:
    program = [sys.executable, "-c", "from radlength.cli import main; main()", "--help"]
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(program, stdout=full, stderr=subprocess.PIPE, check=False)
    assert done.returncode == 1
    assert re.fullmatch(rb"radlength: [^\n]*No space left on device[^\n]*\n", done.stderr)


def test_an_interrupt_while_commands_load_is_no_traceback() -> None:
    program = "import builtins, radlength.cli; old = builtins.__import__\n"
    program += "def late(name, *more, **others):\n"
    program += "    if name == 'radlength.cli.app': raise KeyboardInterrupt\n"
    program += "    return old(name, *more, **others)\n"
    program += "builtins.__import__ = late; radlength.cli.main()"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (130, b"", b"")
