"""The tour of the README runs as it stands, line after line."""

import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from radlength.cli.app import build_app

README = Path(__file__).parents[2] / "README.md"
LONG = ("exercise",)
"""Twenty images are simulated, and a class is needed: tried by the tests of the exercises."""


def tour():
    text = README.read_text(encoding="utf-8")
    blocks = re.findall(r"```sh\n(.*?)```", text[text.index("## A tour") :], re.DOTALL)
    lines = "".join(blocks).replace("\\\n", " ").splitlines()
    return [shlex.split(line, comments=True) for line in lines]


def test_every_line_of_the_tour_ends_well_and_leaves_what_it_promises(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    lines = tour()
    assert len(lines) > 15
    for words in lines:
        if words[0] == "cd":
            monkeypatch.chdir(tmp_path / words[1])
            continue
        assert words[0] == "radlength"
        if not " ".join(words[1:]).startswith(LONG):
            done = CliRunner().invoke(build_app(), words[1:], prog_name="radlength")
            if done.exit_code:
                pytest.fail(f"{shlex.join(words)}: {done.output} {done.exception!r}")
    short = [words for words in lines if words[1] not in LONG]
    named = [word for words in short for word in words if word.endswith((".png", ".pdf", ".html", ".csv"))]
    assert {"marked.png", "tooth.pdf", "tooth.html", "lengths.csv", "shape.png", "case.pdf"} <= set(named)
    assert [name for name in named if not (tmp_path / "tour" / name).exists()] == []
