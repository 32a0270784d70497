from __future__ import annotations

import errno
import json
from collections.abc import Callable
from pathlib import Path

import pytest
import typer
from helpers.cases import CANAL, MARK, Done, points

from radlength.cli.points import parse_points
from radlength.cli.talk import console, exit_for, one_line, said_plainly, waiting
from radlength.errors import MarkError, RecordError
from radlength.finding import Finding
from radlength.trade import CAUTION

ERROR = MarkError(
    "a path has 1 point", "two or more", "mark the other end", code="path-too-short", subject="MB"
)


def test_error_is_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(typer.Exit) as caught, said_plainly(as_json=False, debug=False):
        raise ERROR
    assert caught.value.exit_code == 1
    said = capsys.readouterr()
    assert (said.out, said.err) == (
        "",
        "radlength: MB: a path has 1 point; two or more; mark the other end\n",
    )


def test_error_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(typer.Exit) as caught, said_plainly(as_json=True, debug=False):
        raise ERROR
    assert caught.value.exit_code == 1
    said = capsys.readouterr()
    assert json.loads(said.out) == {"caution": CAUTION, "error": ERROR.as_dict()}
    assert said.err == ""


@pytest.mark.parametrize("error", [ERROR, OSError(13, "Permission denied", "x")], ids=["domain", "system"])
def test_debug_lets_it_through(error: Exception) -> None:
    with pytest.raises(type(error), match=r"a path|denied"), said_plainly(as_json=False, debug=True):
        raise error


def test_system_error_is_plain(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(typer.Exit), said_plainly(as_json=False, debug=False):
        raise PermissionError(13, "Permission denied", "demo")
    assert capsys.readouterr().err == "radlength: demo: Permission denied; check the path and the rights\n"


def test_a_full_disk_is_told_as_one(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(typer.Exit), said_plainly(as_json=False, debug=False):
        raise OSError(errno.ENOSPC, "No space left on device")
    said = "what was to be read or written: No space left on device; make room there, then do it again"
    assert capsys.readouterr().err == f"radlength: {said}\n"


def test_a_name_cannot_move_the_cursor(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(typer.Exit), said_plainly(as_json=False, debug=False):
        raise RecordError("no\nrecord", code="x", subject="\x1b[2Jtooth.png")
    assert capsys.readouterr().err == "radlength: ?[2Jtooth.png: no record\n"
    assert one_line("a\tb\u202ec") == "a b?c"


@pytest.mark.parametrize("terminal", [False, True])
def test_words_of_a_record_steer_no_terminal(
    invoke: Callable[..., Done], image: Path, monkeypatch: pytest.MonkeyPatch, terminal: bool
) -> None:
    """A canal, a reference and a cusp whose names clear the screen, climb a line or turn the direction of writing."""
    if terminal:
        monkeypatch.setenv("FORCE_COLOR", "1")
    evil = "MB\x1b[2J\x1b[1A\u202e\x9b31m"
    gap = ("--gap", "230,60 241,60", "--set-length", "21", "--rule", "tip within 1 mm")
    for words in (
        ("mark", image, *MARK, "--canal", evil, "--reference-point", evil, "--reference-name", evil),
        ("estimate", image),
        ("confirm", image, "--canal", evil, *gap),
        ("check", image),
    ):
        said = invoke(*words).out
        assert "MB?[2J" in said
        assert not set(said) & {"\u202e", "\x9b"}
        assert "\x1b[2J" not in said
        assert "\x1b[1A" not in said
        assert ("\x1b[" in said) is terminal


def test_strict_stops_for_serious_only() -> None:
    question = Finding("gap-large", "The gap is 3 mm.", "Look again.")
    exit_for([question], strict=True)
    serious = Finding("path-reversed", "Reversed.", "Mark again.", "serious")
    exit_for([serious], strict=False)
    with pytest.raises(typer.Exit) as caught:
        exit_for([question, serious], strict=True)
    assert caught.value.exit_code == 3


@pytest.mark.parametrize(("columns", "used"), [("40", 60), ("80", 80), ("120", 100)])
def test_width(monkeypatch: pytest.MonkeyPatch, columns: str, used: int) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    assert console().width == used


def test_nothing_turns_in_a_pipe(capfd: pytest.CaptureFixture[str]) -> None:
    with waiting("computing"):
        pass
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("text", ["1", "1,2,3", "a,b", "1,2 3", "1.5,"])
def test_points_that_are_none(text: str) -> None:
    with pytest.raises(MarkError, match=r"is not a point; row,column pairs"):
        parse_points(text, subject="--path")


def test_points_with_semicolons() -> None:
    assert parse_points("1,2; 3,4.5;", subject="--path") == [(1.0, 2.0), (3.0, 4.5)]


@pytest.mark.parametrize("name", ["[bold]B", "[/]", "M[B]"], ids=["style", "end", "index"])
def test_brackets_are_only_letters(marked: Path, invoke, name: str) -> None:
    """A canal or file name in square brackets is printed as it is."""
    words = ("--tooth", "45", "--canal", name, "--path", points(CANAL))
    assert f"45 {name}: 6 points" in invoke("mark", marked, *words).out
    assert f"45 {name}  estimate, not confirmed" in invoke("estimate", marked, "--canal", name).out
    assert f"45 {name}: canal length" in invoke("check", marked).out
    picture = marked.with_name("out[red].png")
    assert f"{picture.name}" in invoke("report", marked, "--png", picture).out


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (
            FileExistsError(17, "File exists", "demo"),
            "demo: a file is where a folder should be; choose another name",
        ),
        (
            IsADirectoryError(21, "Is a directory", "demo"),
            "demo: a folder is where a file should be; give the name",
        ),
    ],
)
def test_what_the_system_refuses_is_said_with_what_to_do(error, words, capsys):
    with pytest.raises(typer.Exit), said_plainly(as_json=False, debug=False):
        raise error
    assert words in capsys.readouterr().err
