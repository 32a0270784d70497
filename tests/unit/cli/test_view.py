from __future__ import annotations

import importlib
import importlib.util
import subprocess
import sys
from pathlib import Path

import pytest

import radlength.cli.view as view_module


class _Point:
    name = "napari"

    def __init__(self, launch: object) -> None:
        self._launch = launch

    def load(self) -> object:
        if isinstance(self._launch, Exception):
            raise self._launch
        return self._launch


def test_window_gets_image_and_records(monkeypatch: pytest.MonkeyPatch, invoke, tmp_path: Path) -> None:
    asked: list[tuple[object, object]] = []
    monkeypatch.setattr(view_module, "entry_points", lambda group: [_Point(lambda *a: asked.append(a) or 0)])
    assert invoke("view", "tooth.png", "--records", tmp_path).code == 0
    assert invoke("view", "--json").json["closed"] is True
    assert asked == [(Path("tooth.png"), tmp_path), (None, None)]


@pytest.mark.parametrize("found", [[], [_Point(ImportError("no module named qtpy"))]], ids=["none", "broken"])
def test_without_a_window_it_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch, invoke, found: list[_Point]
) -> None:
    monkeypatch.setattr(view_module, "entry_points", lambda group: found)
    done = invoke("view", "tooth.png")
    assert done.code == 1
    assert done.err == 'radlength: no window is installed; install it: pip install "radlength[napari]"\n'


@pytest.mark.parametrize("name", ["napari", "qtpy"])
def test_the_window_that_comes_along_needs_what_its_extra_installs(
    monkeypatch: pytest.MonkeyPatch, invoke, name: str
) -> None:
    """As after ``pip install .``: the plugin is there, what it stands on is not."""
    known = importlib.util.find_spec
    plugin = importlib.import_module("napari_radlength")
    monkeypatch.setattr(importlib.util, "find_spec", lambda asked: None if asked == name else known(asked))
    monkeypatch.delitem(sys.modules, "napari_radlength._launch", raising=False)
    monkeypatch.delattr(plugin, "_launch", raising=False)
    monkeypatch.setenv("DISPLAY", ":0")
    done = invoke("view", "tooth.png")
    assert done.code == 1
    assert done.err == 'radlength: no window is installed; install it: pip install "radlength[napari]"\n'


def test_the_window_is_declared() -> None:
    from importlib.metadata import entry_points

    assert [point.value for point in entry_points(group="radlength.window")] == [
        "napari_radlength._launch:launch"
    ]


def test_numpy_is_not_loaded_before_the_window_says_how_many_cores_it_takes() -> None:
    code = (
        "import sys, os\nfrom radlength.cli import view\nfrom radlength.cli.app import build_app\nbuild_app()\n"
        "print('numpy' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "False\n"


def test_what_a_person_has_set_stays() -> None:
    environment = {"OPENBLAS_NUM_THREADS": "4"}
    view_module.quicken(environment)
    assert environment == {"OPENBLAS_NUM_THREADS": "4"}
