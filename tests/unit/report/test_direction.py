"""Letters in the order in which they are drawn; the peer is FriBidi, which Pillow asks where it is built with Raqm."""

from __future__ import annotations

import unicodedata
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont, features

from radlength.report.direction import marked, visual

ALEF, BET, GIMEL = "\u05d0\u05d1\u05d2"
FONT = str(files("radlength.report").joinpath("fonts/DejaVuSans.ttf"))


def drawn(text: str) -> np.ndarray:
    font = ImageFont.truetype(FONT, 24, layout_engine=ImageFont.Layout.RAQM)
    picture = Image.new("L", (640, 60))
    ImageDraw.Draw(picture).text((10, 10), text, 255, font=font, direction="ltr", features=["-liga", "-kern"])
    return np.asarray(picture)


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        ("46 MB", "46 MB"),
        (f"46 {ALEF}{BET}{GIMEL}", f"46 {GIMEL}{BET}{ALEF}"),
        (f"from {ALEF}{BET} {GIMEL} to", f"from {GIMEL} {BET}{ALEF} to"),
        (f"{ALEF}{BET} 21.5 {GIMEL}", f"{GIMEL} 21.5 {BET}{ALEF}"),
        (f"{ALEF}(2){BET}", f"{BET}(2){ALEF}"),
        (f"{ALEF} ({BET})", f"({BET}) {ALEF}"),
        (f"MB ({BET})", f"MB ({BET})"),
        (f"{ALEF}\u05b8{BET}", f"{BET}{ALEF}\u05b8"),
        (f"{ALEF} MB {BET}", f"{ALEF} MB {BET}"),
        ("\u0642\u0646\u0627\u0629 \u0661\u0662", "\u0661\u0662 \u0629\u0627\u0646\u0642"),
    ],
    ids=[
        "latin",
        "name",
        "words",
        "number",
        "brackets",
        "name in brackets",
        "note in brackets",
        "mark",
        "two names",
        "arabic",
    ],
)
def test_letters_stand_in_the_order_they_are_read_in(typed: str, shown: str) -> None:
    assert visual(typed) == shown


@pytest.mark.parametrize(
    ("typed", "shown"),
    [
        (f"{ALEF}{BET}1: 15 ±0.5 mm", f"1{BET}{ALEF}: 15 ±0.5 mm"),
        (f"46 {ALEF}{BET}: 21.0–22.3 mm", f"46 {BET}{ALEF}: 21.0–22.3 mm"),
        (f"{ALEF}{BET} 21.5 (20.1–22.0) mm", f"{BET}{ALEF} 21.5 (20.1–22.0) mm"),
        (f"{ALEF}{BET} -0.35 mm", f"{BET}{ALEF} -0.35 mm"),
        (f"{ALEF}: 21.0–22.3; {BET}: 20 / 25", f"{ALEF}: 21.0–22.3; {BET}: 20 / 25"),
        (f"46 {ALEF}{BET}, 47 {GIMEL}", f"46 {BET}{ALEF}, 47 {GIMEL}"),
        ("\u0642\u0646: 15 ±0.5", "\u0646\u0642: 15 ±0.5"),
        ("\u0642\u0646 15 ±0.5", "\u0646\u0642 15 ±0.5"),
    ],
    ids=["limit", "range", "brackets", "sign", "two names", "two teeth", "arabic", "arabic, no colon"],
)
def test_what_stands_behind_a_name_is_read_from_its_beginning(typed: str, shown: str) -> None:
    assert visual(typed) == shown


@pytest.mark.skipif(not features.check("fribidi"), reason="Pillow was built without Raqm and FriBidi")
@settings(max_examples=150, deadline=None)
@given(st.text(alphabet=f"aM{ALEF}{BET}{GIMEL}46 .,-+%±:/()[]", max_size=12))
@example(f"{ALEF}:4: {ALEF}")
def test_it_is_the_order_of_fribidi(text: str) -> None:
    """A browser sets what is marked as we draw it; ours stands letter by letter between marks of an override."""
    assert np.array_equal(drawn(f"{marked(text)}  "), drawn(f"\u202d{visual(text)}\u202c"))


@given(st.text(max_size=40))
def test_no_letter_is_lost_and_what_runs_to_the_right_stays(text: str) -> None:
    told = visual(text)
    assert len(told) == len(text)
    if not {unicodedata.bidirectional(sign) for sign in text} & {"R", "AL", "AN"}:
        assert told == text
