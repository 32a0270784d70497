from __future__ import annotations

import importlib
import shlex
import subprocess
import sys
import textwrap

import pytest
from typer.main import get_command

from radlength._version import __version__
from radlength.cli.app import build_app
from radlength.trade import CAUTION

COMMANDS = (
    "demo",
    "mark",
    "trace",
    "estimate",
    "views",
    "confirm",
    "check",
    "quality",
    "report",
    "view",
    "phantom",
    "batch",
)
GROUP = get_command(build_app())


def _said(text: str) -> str:
    return " ".join(text.split())


def test_commands_in_working_order() -> None:
    assert tuple(GROUP.commands) == (*COMMANDS, "case", "shape", "dicom", "exercise")  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_is_documented(name: str) -> None:
    command = GROUP.commands[name]  # type: ignore[attr-defined]
    assert command.help
    undocumented = [parameter.name for parameter in command.params if not getattr(parameter, "help", None)]
    assert undocumented == []
    options = {option for parameter in command.params for option in parameter.opts}
    assert {"--json", "--debug"} <= options


@pytest.mark.parametrize("name", COMMANDS)
def test_help_has_an_example_that_parses(name: str, invoke) -> None:
    done = invoke(name, "--help")
    example = importlib.import_module(f"radlength.cli.{name}").EXAMPLE
    assert done.code == 0
    assert _said(example) in _said(done.out)
    assert CAUTION in _said(done.out)
    words = shlex.split(example)
    assert words[:2] == ["radlength", name]
    context = GROUP.commands[name].make_context(name, words[2:])  # type: ignore[attr-defined]
    given = {
        parameter.name
        for parameter in GROUP.commands[name].params  # type: ignore[attr-defined]
        for option in parameter.opts
        if option in words
    }
    assert all(context.params[parameter] is not None for parameter in given)


def test_version_and_caution(invoke) -> None:
    done = invoke("--version")
    assert done.out == f"radlength {__version__}\n{CAUTION}\n"
    assert CAUTION in _said(invoke("--help").out)


def test_no_command_shows_help(invoke) -> None:
    done = invoke()
    assert "Usage" in done.out + done.err
    assert invoke("unknown").code == 2


def test_help_loads_no_heavy_library() -> None:
    """What help needs must stay light: the limit of 0.5 s is measured with the other timings."""
    code = (
        "import sys; from radlength.cli.app import build_app; build_app();"
        "print(*sorted({'numpy', 'cv2', 'scipy', 'pydantic', 'pydicom', 'skimage', 'napari', 'qtpy'}"
        " & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True, text=True)
    assert done.stdout.strip() == ""


def test_no_help_loads_what_measures_or_checks() -> None:
    """Every command, and those of groups, in one process; `python tests/benchmarks/page.py --start` tells the time."""
    code = """
        import sys
        from typer.main import get_command
        from typer.testing import CliRunner
        from radlength.cli.app import build_app
        app, tried = build_app(), 0
        for name, command in get_command(app).commands.items():
            for words in [[name], *([name, inner] for inner in getattr(command, "commands", ()))]:
                told = CliRunner().invoke(app, [*words, "--help"])
                assert told.exit_code == 0 and "Usage" in told.output
                tried += 1
        heavy = "numpy scipy cv2 pydicom pydantic skimage tifffile napari distributed requests reportlab"
        print(tried, [name for name in heavy.split() if name in sys.modules])
    """
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code)], capture_output=True, text=True, check=True
    )
    tried, loaded = done.stdout.split(maxsplit=1)
    assert int(tried) > 30
    assert loaded.strip() == "[]"
