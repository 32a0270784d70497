"""``radlength case show`` says what happened to the files of a case, and counts an image once in a mean."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from helpers.case_commands import said
from helpers.made_case import write_marked_image

from radlength.record import load_record, save_record
from radlength.record.case_store import load_case
from radlength.uncertainty import Marking


@pytest.fixture
def imaged(measured, invoke):
    """The case with two lengths, and a marked image in it."""
    write_marked_image(measured)
    words = ("tooth.tif", "--stage", "working length", "--taken", "2026-01-02")
    assert invoke("case", "add", "image", measured, *words).code == 0
    return measured


def test_an_image_edited_after_it_was_added_is_serious(imaged, invoke):
    assert "case-image-edited" not in invoke("case", "show", imaged, "--json").out
    image = imaged / "tooth.tif"
    image.write_bytes(image.read_bytes() + b"\0")
    done = invoke("case", "show", imaged, "--json")
    assert "case-image-edited" in [one["code"] for one in done.json["findings"]]
    assert "edited or replaced since it was added" in said(invoke("case", "show", imaged).out)
    assert invoke("case", "show", imaged, "--strict").code == 3


def test_a_mean_says_what_is_not_in_it(imaged, invoke):
    for result in ("estimate", "confirmation"):
        words = ("--canal", "MB", "--image", "tooth.tif", "--result", result, "--flaring", "not known")
        assert invoke("case", "add", "length", imaged, *words).code == 0
    combined = invoke("case", "show", imaged, "--combine", "--json").json["canals"][0]["combined"]
    assert 0.0 in combined["weights"].values()
    assert "mean-image-once" in [one["code"] for one in combined["findings"]]
    assert "Not in the mean:" in said(invoke("case", "show", imaged, "--combine").out)


def test_the_command_that_adds_a_changed_image_again_keeps_all_that_was_said_of_it(
    measured, invoke, monkeypatch
):
    monkeypatch.chdir(measured.parent)  # a short path stays on one line
    measured = Path(measured.name)
    write_marked_image(measured)
    words = ("--stage", "other", "--label", "with post", "--taken", "2026-01-02", "--view", "tube 20° mesial")
    assert invoke("case", "add", "image", measured, "tooth.tif", *words).code == 0
    save_record(load_record(measured / "tooth.tif").with_marking(Marking(apex_mm=0.4)))
    shown = said(invoke("case", "show", measured).out)
    asked = ("--canal", "MB", "--flaring", "before flaring", "--image", "tooth.tif")
    refused = invoke("case", "add", "length", measured, *asked).err
    for text in (shown, refused, "".join(invoke("check", measured, "--json").json["files"][0]["found"])):
        command = re.search(r"radlength (case add image .*? --view '[^']*')", said(text))
        assert command, text
        assert invoke(*shlex.split(command[1])).code == 0
    assert "case-record-changed" not in invoke("case", "show", measured, "--json").out
    image = load_case(measured).images[-1]
    assert (image.stage, image.label, image.view) == ("other", "with post", "tube 20° mesial")


def test_a_long_path_is_whole_in_a_command(imaged, invoke):
    image = imaged / "tooth.tif"
    image.write_bytes(image.read_bytes() + b"\0")
    longer = imaged.rename(imaged.with_name("folder" * 20))
    shown = "".join(invoke("case", "show", longer).out.split())
    assert f"radlengthcaseaddimage{longer}tooth.tif" in shown
