"""The number of exercises that a title tells is the number that a learner gets."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

from radlength.cli.app import build_app
from radlength.exercise import build_set, course_items
from radlength.exercise.course import STEPS, TITLE, set_title

README = Path(__file__).parents[3] / "README.md"
REPEATS = 3
"""The default of ``exercise new``."""


def test_no_number_stands_in_the_title_of_the_course():
    assert not re.search(r"[0-9]", TITLE)
    assert set_title(TITLE, 1, 0).endswith(", 1 exercise")


def test_the_readme_tells_the_number_that_is_made():
    told = re.search(r"new course +# ([0-9]+) exercises, ([0-9]+) of them repeats", README.read_text("utf-8"))
    assert told is not None
    assert tuple(map(int, told.groups())) == (len(STEPS) + REPEATS, REPEATS)


@pytest.mark.parametrize("repeats", [0, 2])
def test_title_text_and_set_have_one_number(tmp_path, monkeypatch, repeats):
    import radlength.exercise as room

    few = course_items()[1:3]
    monkeypatch.setattr(room, "course_items", lambda: few)

    def quick(items, **more):
        return build_set(items, **(more | {"workers": 1, "shape_px": (400, 300), "pitch_mm": 0.1}))

    monkeypatch.setattr(room, "build_set", quick)
    words = ["exercise", "new", str(tmp_path / "set"), "--repeats", str(repeats)]
    done = CliRunner().invoke(build_app(), words, prog_name="radlength")
    assert done.exit_code == 0, done.output
    said = " ".join(done.stdout.split())
    assert f"{set_title(TITLE, 2, repeats)}: {2 + repeats} images in" in said
    assert ("2 different exercises, 2 of them a second time in disguise." in said) is (repeats == 2)
