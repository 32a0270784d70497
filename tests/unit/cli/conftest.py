from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from helpers.case_commands import LENGTH, LOCATOR
from helpers.cases import MARK, Done, write_image
from typer.testing import CliRunner

from radlength.cli.app import build_app

Invoke = Callable[..., Done]


@pytest.fixture
def invoke(monkeypatch: pytest.MonkeyPatch) -> Invoke:
    """Run a command in this process."""
    for name in ("FORCE_COLOR", "GITHUB_ACTIONS", "COLUMNS", "TERMINAL_WIDTH"):
        monkeypatch.delenv(name, raising=False)

    def call(*words: object) -> Done:
        done = CliRunner().invoke(build_app(), list(map(str, words)), prog_name="radlength")
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            raise done.exception
        return Done(done.exit_code, done.stdout, done.stderr)

    return call


@pytest.fixture
def image(tmp_path: Path) -> Path:
    """An image without a record."""
    return write_image(tmp_path / "tooth.png")


@pytest.fixture
def marked(image: Path, invoke: Invoke) -> Path:
    """An image with one canal of 22.1 mm and a reference of 21 mm in it."""
    done = invoke("mark", image, *MARK)
    assert done.code == 0, done.err
    return image


@pytest.fixture
def folder(tmp_path: Path, invoke: Invoke) -> Path:
    """A case with one canal and no length."""
    place = tmp_path / "tooth46"
    assert invoke("case", "new", place, "--invented").code == 0
    words = ("--tooth", "46", "--canal", "MB", "--reference-point", "mesiobuccal cusp")
    done = invoke("case", "add", "canal", place, *words)
    assert done.code == 0, done.err
    return place


@pytest.fixture
def measured(folder: Path, invoke: Invoke) -> Path:
    """The same with two lengths, numbers 3 and 4."""
    for words in (LENGTH, LOCATOR):
        done = invoke("case", "add", "length", folder, *words)
        assert done.code == 0, done.err
    return folder
