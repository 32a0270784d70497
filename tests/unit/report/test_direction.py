"""Letters in the order in which they are drawn; the peer is FriBidi, which Pillow asks where it is built with Raqm."""

from __future__ import annotations

import unicodedata
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont, features

from radlength.report.direction import visual

ALEF, BET, GIMEL = "\u05d0\u05d1\u05d2"
FONT = str(files("radlength.report").joinpath("fonts/DejaVuSans.ttf"))


def drawn(text: str) -> np.ndarray:
    font = ImageFont.truetype(FONT, 24, layout_engine=ImageFont.Layout.RAQM)
    picture = Image.new("L", (40 * (len(text) + 2), 60))
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
        (f"{ALEF}\u05b8{BET}", f"{BET}{ALEF}\u05b8"),
        (f"{ALEF} MB {BET}", f"{ALEF} MB {BET}"),
        ("\u0642\u0646\u0627\u0629 \u0661\u0662", "\u0661\u0662 \u0629\u0627\u0646\u0642"),
    ],
    ids=["latin", "name", "words", "number", "brackets", "mark", "two names", "arabic"],
)
def test_letters_stand_in_the_order_they_are_read_in(typed: str, shown: str) -> None:
    assert visual(typed) == shown


@pytest.mark.skipif(not features.check("fribidi"), reason="Pillow was built without Raqm and FriBidi")
@settings(max_examples=150, deadline=None)
@given(st.text(alphabet=f"aM{ALEF}{BET}{GIMEL}46 .,-+%±:/", max_size=12))
def test_it_is_the_order_of_fribidi(text: str) -> None:
    """Ours is drawn between the marks of an override, letter by letter from left to right."""
    assert np.array_equal(drawn(f"{text}  "), drawn(f"\u202d{visual(text)}\u202c")[:, : 40 * (len(text) + 4)])


@given(st.text(max_size=40))
def test_no_letter_is_lost_and_what_runs_to_the_right_stays(text: str) -> None:
    told = visual(text)
    assert len(told) == len(text)
    if not {unicodedata.bidirectional(sign) for sign in text} & {"R", "AL", "AN"}:
        assert told == text
