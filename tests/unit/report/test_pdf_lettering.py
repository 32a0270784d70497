"""Letters of the PDF: joined Arabic ones by Unicode's own table, and figures of what no font has."""

from __future__ import annotations

import unicodedata

import cv2
import numpy as np
import pytest

from radlength.report.joined import joined
from radlength.report.lettering import FONT
from radlength.report.pdf_lettering import GIVEN, OUTLINES, Lettering
from radlength.report.pdf_outlines import EM, outline


@pytest.mark.parametrize(
    ("text", "forms"),
    [
        ("\u0645\u062d\u0645\u062f", "initial medial medial final"),
        ("\u0639\u0644\u064a", "initial medial final"),
        ("\u062f\u0627\u0631", "isolated isolated isolated"),
        ("\u0622\u0644\u0627\u0621", "isolated isolated isolated"),
        ("\u0633\u0644\u0627\u0645", "initial final isolated"),
        ("\u067e\u0698\u0648", "initial final isolated"),
        ("\u0639\u0644\u06cc\u200c\u0631\u0636\u0627", "initial medial final - isolated initial final"),
    ],
)
def test_arabic_letters_have_the_form_of_their_place(text: str, forms: str) -> None:
    """Muhammad, Ali, dar, Alaa, salam, three Persian letters and Ali-Reza, by hand; what stands for what by Unicode."""
    shown = joined(text)
    assert [(unicodedata.decomposition(sign).split() or ["<->"])[0] for sign in shown] == [
        f"<{one}>" for one in forms.split()
    ]
    assert unicodedata.normalize("NFKC", shown) == text


def test_marks_above_letters_are_seen_through() -> None:
    assert joined("\u0645\u064f\u062d")[::2] == joined("\u0645\u062d")


def test_a_stretched_letter_stays_joined() -> None:
    """Muhammad with a tatweel before its last letter: it joins both ways (Unicode's joining type C, from memory)."""
    assert joined("\u0645\u062d\u0645\u0640\u062f") == "\ufee3\ufea4\ufee4\u0640\ufeaa"


def test_no_sign_is_drawn_as_another_one() -> None:
    """A katakana in a circle is in no font, without the circle it is. An Arabic form may stand for its letter."""
    letters = Lettering()
    assert list(letters.runs("\N{CIRCLED KATAKANA A}")) == [("radlength-regular", "□")]
    medial = "\N{ARABIC LETTER HEH GOAL MEDIAL FORM}"
    assert list(letters.runs(medial)) == [("radlength-regular", "□")]
    letters._signs[GIVEN] = {0x06C1: 1}
    assert list(letters.runs(medial)) == [(GIVEN, "\u06c1")]


def test_other_words_and_numbers_are_as_they_were() -> None:
    text = "46 MB: 21.5 mm, \u05d3\u05d5\u05d3, 山田"
    assert joined(text) == text
    assert joined(f"{text} \u0628").startswith(text)


@pytest.mark.parametrize("sign", "山郎あ김漢")
def test_an_outline_covers_what_opencv_draws(sign: str) -> None:
    found = outline(sign)
    assert found is not None
    base, left = 200, 20
    drawn = np.zeros((320, 320, 3), np.uint8)
    cv2.putText(drawn, sign, (left, base), (255, 255, 255), cv2.FontFace(FONT), EM)
    filled = np.zeros((320, 320), np.uint8)
    rings = [
        np.rint(np.column_stack([left + r[:, 0] * EM, base - r[:, 1] * EM])).astype(np.int32)
        for r in found.rings
    ]
    cv2.fillPoly(filled, rings, 255)
    apart = (filled > 0) != (drawn[:, :, 0] > 127)
    assert apart.sum() < 0.1 * (filled > 0).sum()


def test_what_nothing_draws_is_a_box_and_what_is_drawn_has_its_width() -> None:
    letters = Lettering()
    assert list(letters.runs("A山B")) == [
        ("radlength-regular", "A"),
        (OUTLINES, "山"),
        ("radlength-regular", "B"),
    ]
    assert not letters.undrawn
    parts = letters.width("A", 8) + letters.width("山", 8) + letters.width("B", 8)
    assert letters.width("A山B", 8) == pytest.approx(parts)
    assert letters.width("山", 8) == pytest.approx(8 * outline("山").width)
    assert list(letters.runs("\u0e01")) == [("radlength-regular", "□")]
    assert letters.undrawn
