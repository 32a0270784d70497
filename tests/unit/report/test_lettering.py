from __future__ import annotations

from unicodedata import normalize

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from radlength.report.lettering import (
    box_size,
    shortened,
    text_width,
    wrapped,
    write_boxed,
    write_text,
)
from radlength.trade import CAUTION


def test_lines_fit_and_lose_no_word() -> None:
    lines = wrapped(CAUTION, 300, 18)
    assert len(lines) > 3
    assert all(text_width(line, 18) <= 300 for line in lines)
    assert " ".join(lines) == CAUTION


@settings(max_examples=60, deadline=None)
@given(text=st.text(alphabet="abc –°±.", max_size=80), width=st.integers(60, 300))
def test_wrapping_keeps_every_letter(text: str, width: int) -> None:
    lines = wrapped(text, width, 18)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert all(text_width(line, 18) <= width for line in lines)


@pytest.mark.parametrize("weight", [400, 700])
def test_a_name_that_is_too_long_ends_in_an_ellipsis(weight: int) -> None:
    name = "46 mesiobuccal canal that somebody named at great length"
    told = shortened(name, 200, 18, weight)
    assert told.endswith("…")
    assert text_width(told[:-1], 18, weight) <= 200
    assert name.startswith(told[:-1])
    assert shortened(name, 4000, 18, weight) == name


def test_nothing_is_no_line() -> None:
    assert wrapped("  ", 100, 18) == []


@pytest.mark.parametrize("letter", ["–", "±", "°", "%", "µ"])
def test_the_font_has_the_signs_we_use(letter: str) -> None:
    def drawn(text: str) -> np.ndarray:
        pixels = np.zeros((40, 60, 3), np.uint8)
        write_text(pixels, text, (5, 30), (255, 255, 255), 24)
        return pixels

    assert drawn(letter).max() == 255
    assert not np.array_equal(drawn(letter), drawn("\ufffe"))


def test_letters_stay_in_their_box() -> None:
    pixels = np.full((80, 400, 3), 128, np.uint8)
    write_boxed(pixels, "45 single (gjpq)", (20, 20), (255, 255, 255), 22, 700)
    width, height = box_size("45 single (gjpq)", 22, 700)
    outside = pixels.copy()
    outside[20 : 20 + height, 20 : 20 + width] = 128
    assert (outside == 128).all()
    edge = pixels[20 : 20 + height, 20 : 20 + width]
    assert edge[[0, -1]].max() < 60
    assert edge[:, [0, -1]].max() < 60


@pytest.mark.parametrize("text", ["Zoë Ngữ", "김민준", "が"], ids=["Latin", "Korean", "Japanese"])
def test_a_letter_apart_from_its_marks_is_written_as_one(text: str) -> None:
    """As macOS may name a file."""
    written = []
    for typed in (text, normalize("NFD", text)):
        written.append(np.zeros((40, 200, 3), np.uint8))
        write_text(written[-1], typed, (5, 30), (255, 255, 255), 24)
        assert text_width(typed, 24) == text_width(text, 24)
    assert np.array_equal(*written)
