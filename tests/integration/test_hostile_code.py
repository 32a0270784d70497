"""Nothing in the packages runs what a file says, and only the archive and the cluster rooms speak to a network.

One file asks the display of this machine whether it is there; that it asks no other is tested beside it.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
FILES = sorted((*ROOT.glob("radlength/**/*.py"), *ROOT.glob("plugins/**/*.py")))
RUNS_CODE = {
    "pickle",
    "cPickle",
    "dill",
    "cloudpickle",
    "joblib",
    "marshal",
    "shelve",
    "yaml",
    "code",
    "runpy",
}
NETWORK = {
    "urllib", "http", "requests", "httpx", "aiohttp", "socket", "ssl", "ftplib", "smtplib", "telnetlib", "xmlrpc",
    "pynetdicom", "dicomweb_client", "distributed", "dask", "websockets", "socketserver",
}  # fmt: skip
NETWORKED = ("radlength/dicom/archive", "radlength/batch/cluster.py")
ASKS_THE_DISPLAY = "plugins/napari_radlength/_screen.py"
CALLS = {"eval", "exec", "compile", "__import__", "input"}
METHODS = {("os", "system"), ("os", "popen"), ("numpy", "load"), ("np", "load"), ("torch", "load")}


def imported(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (name.name.split(".")[0] for name in node.names)
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            yield (node.module or "").split(".")[0]


def faults(source: str, place: str) -> list[str]:
    """Return what is wrong with a module; `place` is its path."""
    tree = ast.parse(source)
    names = set(imported(tree))
    found = [f"imports {name}" for name in sorted(names & RUNS_CODE)]
    if not place.startswith(NETWORKED):
        allowed = {"socket"} if place == ASKS_THE_DISPLAY else set()
        found += [f"imports {name}" for name in sorted((names & NETWORK) - allowed)]
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        options = {word.arg: word.value for word in node.keywords}
        if isinstance(node.func, ast.Name) and node.func.id in CALLS:
            found.append(f"calls {node.func.id}")
        if isinstance(node.func, ast.Attribute) and isinstance(node.func.value, ast.Name):
            call = (node.func.value.id, node.func.attr)
            if call in METHODS and not _is(options.get("allow_pickle"), value=False):
                found.append(f"calls {'.'.join(call)}")
        if _is(options.get("shell"), value=True) or _is(options.get("allow_pickle"), value=True):
            found.append("a shell, or pickles")
    return found


def _is(node: ast.expr | None, *, value: bool) -> bool:
    return isinstance(node, ast.Constant) and node.value is value


def test_no_module_runs_what_it_reads_or_speaks_to_a_network() -> None:
    places = {path.relative_to(ROOT).as_posix(): path.read_text(encoding="utf-8") for path in FILES}
    found = {place: wrong for place, source in places.items() if (wrong := faults(source, place))}
    assert found == {}


@pytest.mark.parametrize(
    ("source", "fault"),
    [
        ("import pickle", "imports pickle"),
        ("def f():\n    from urllib.request import urlopen", "imports urllib"),
        ("eval(text)", "calls eval"),
        ("import numpy as np\nnp.load(file)", "calls np.load"),
        ("np.load(file, allow_pickle=True)", "calls np.load"),
        ("import os\nos.system(words)", "calls os.system"),
        ("subprocess.run(words, shell=True)", "a shell, or pickles"),
    ],
    ids=["pickle", "inside-a-function", "eval", "npy", "npy-pickles", "system", "shell"],
)
def test_a_planted_module_is_caught(source: str, fault: str) -> None:
    assert fault in faults(source, "radlength/record/planted.py")


def test_the_packages_are_there() -> None:
    assert len(FILES) > 200
