"""What the pages for people say is true: their Python runs, their commands exist, their pictures are there."""

import doctest
import re
from pathlib import Path

import pytest
from typer.main import get_command

import radlength
from radlength.cli.app import build_app

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md"]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_python_on_the_page_runs(page):
    failed, tried = doctest.testfile(str(page), module_relative=False)
    assert failed == 0
    assert tried > 0 or page.name == "DEVELOPERS.md"


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_and_pictures_are_there(page):
    links = re.findall(r"\]\(([^)#]+)\)", page.read_text(encoding="utf-8"))
    local = [link for link in links if "://" not in link]
    assert local
    assert [link for link in local if not (ROOT / link).exists()] == []


def test_every_command_is_in_the_readme_and_has_an_example():
    commands = get_command(build_app()).commands
    readme = PAGES[0].read_text(encoding="utf-8")
    for name, command in commands.items():
        assert re.search(rf"(radlength |`){name}\b", readme), name
        assert f"radlength {name}" in command.epilog


def test_hazards_name_tests_that_exist():
    rows = re.findall(r"`(tests/[^`]+)::([^`]+)`", PAGES[1].read_text(encoding="utf-8"))
    assert len(rows) >= 200
    missing = [
        f"{file}::{name}"
        for file, name in rows
        if f"def {name}" not in (ROOT / file).read_text(encoding="utf-8")
    ]
    assert missing == []


def test_public_names_are_sorted_and_import():
    assert sorted(radlength.__all__, key=str.lower) == sorted(set(radlength.__all__), key=str.lower)
    for name in radlength.__all__:
        assert getattr(radlength, name) is not None
