"""The order in which letters of a line are drawn: names in Hebrew or Arabic run from right to left among our words.

Browsers do this by themselves; a picture and a PDF page get letters from left to right. Arabic letters are
joined on a page (:mod:`radlength.report.joined`) and drawn unjoined on a picture.
"""

from __future__ import annotations

import re
import unicodedata
from itertools import groupby, pairwise

_MIRRORED = str.maketrans("()[]{}<>«»", ")(][}{><»«")
_CLOSED_BY = {"(": ")", "[": "]", "{": "}"}
_RIGHT = frozenset({"R", "AL", "AN"})
_NUMBERS = frozenset({"EN", "AN"})
_OURS = re.compile(r"(?<=[:;,·] )")
"""Where our lines set one thing behind another."""
_NUMBER = re.compile(r"[0-9]+(?:[.,:/+-][0-9]+)*")


def visual(text: str) -> str:
    r"""Return a line in the order in which its letters are drawn from left to right.

    Parameters
    ----------
    text
        One line, without marks that set a direction (:func:`radlength.clean.clean` takes them out).

    Notes
    -----
    Unicode Standard Annex 9, "Unicode Bidirectional Algorithm", for a line that runs from left to right: W1 to W7, N0
    to N2, I1, L2 to L4 (from memory).

    Two things stand as if a left-to-right mark were before them, for a length with its limits is no part of the name
    before it and would be read from its end: what follows a colon, a semicolon, a comma or a dot of ours, and
    a number in digits 0 to 9 that no letter touches, behind which nothing runs from right to left. Nor is a tooth part
    of the canal before it: of "46 A, 47 B" the teeth would change their canals.

    Examples
    --------
    >>> visual("46 \u05d0\u05d1 x") == "46 \u05d1\u05d0 x", visual("\u05d0\u05d1 15 ±0.5") == "\u05d1\u05d0 15 ±0.5"
    (True, True)
    """
    return "".join(map(_part, _OURS.split(text)))


LEFT_TO_RIGHT = "\N{LEFT-TO-RIGHT MARK}"
_RIGHT_TO_LEFT = frozenset({"ar", "ckb", "dv", "fa", "he", "ps", "sd", "ug", "ur", "yi"})


def marked(text: str) -> str:
    r"""Return a line that a browser, which turns names itself, sets as :func:`visual` does.

    The marks that :func:`visual` only supposes are in it. A line without letters from right to left has none.

    Examples
    --------
    >>> marked("46 MB: 21 mm"), marked("\u05d0: 15 ±0.5") == "\u05d0: \u200e\u200e15 ±\u200e0.5"
    ('46 MB: 21 mm', True)
    """
    parts = _OURS.split(text)
    if all(_RIGHT.isdisjoint(map(unicodedata.bidirectional, part)) for part in parts):
        return text
    return LEFT_TO_RIGHT.join(map(_with_marks, parts))


def _with_marks(part: str) -> str:
    starts = [first for first, _ in _free_numbers(part)]
    pieces = [part[low:high] for low, high in pairwise([0, *starts, len(part)])]
    return LEFT_TO_RIGHT.join(pieces)


def of_language(code: str) -> str:
    """Return which way a language is written, as HTML says it.

    Examples
    --------
    >>> of_language("en"), of_language("he-IL")
    ('ltr', 'rtl')
    """
    return "rtl" if code.replace("_", "-").split("-")[0].lower() in _RIGHT_TO_LEFT else "ltr"


def _part(text: str) -> str:
    """Return one thing of a line in the order in which its letters are drawn."""
    kinds = _apart(text)
    if _RIGHT.isdisjoint(kinds):
        return text
    letters = list(zip(text, _levels(kinds, text), strict=True))
    for least in (2, 1):
        letters = [
            letter
            for high, run in groupby(letters, key=lambda letter: letter[1] >= least)
            for letter in (_turned(list(run)) if high else run)
        ]
    return "".join(sign.translate(_MIRRORED) if level == 1 else sign for sign, level in letters)


def _turned(run: list[tuple[str, int]]) -> list[tuple[str, int]]:
    """Return letters from the last to the first, each with its combining marks still behind it."""
    letters: list[list[tuple[str, int]]] = []
    for one in run:
        if letters and unicodedata.bidirectional(one[0]) == "NSM":
            letters[-1].append(one)
        else:
            letters.append([one])
    return [one for letter in reversed(letters) for one in letter]


def _levels(kinds: list[str], text: str) -> list[int]:
    """Return the level of each letter: 0 from left to right, 1 from right to left, 2 a number in what is."""
    kinds = _bracketed(_numbered(kinds), text)
    sides = ["R" if kind in _NUMBERS else kind for kind in kinds]
    levels, before, at = list[int](), "L", 0
    for side, run in groupby(sides):
        many = len(list(run))
        after = next((other for other in sides[at + many :] if other in "LR"), "L")
        if side in "LR":
            before = side
            levels += [0 if kind == "L" else 2 if kind in _NUMBERS else 1 for kind in kinds[at : at + many]]
        else:
            levels += [int(before == after == "R")] * many
        at += many
    return levels


def _apart(text: str) -> list[str]:
    """Return the kind of each letter, L for a number that is no part of words from right to left."""
    kinds = [unicodedata.bidirectional(sign) for sign in text]
    for first, end in _free_numbers(text):
        kinds[first:end] = "L" * (end - first)
    return kinds


def _free_numbers(text: str) -> list[tuple[int, int]]:
    """Return where numbers stand that are no part of words from right to left, first and behind the last digit."""
    kinds = [unicodedata.bidirectional(sign) for sign in text]
    found = []
    for number in _NUMBER.finditer(text):
        first, end = number.span()
        after = next((kind for kind in kinds[end:] if kind == "L" or kind in _RIGHT), "L")
        if after == "L" and not text[:first][-1:].isalnum():
            found.append((first, end))
    return found


def _numbered(kinds: list[str]) -> list[str]:
    """Return L, R, EN, AN, or N for what takes the direction of what stands about it (W1 to W7)."""
    found, strong = list[str](), "L"
    for kind in kinds:
        now = (found[-1] if found else "ON") if kind == "NSM" else kind
        strong = now if now in ("L", "R", "AL") else strong
        found.append("AN" if now == "EN" and strong == "AL" else now)
    found = ["R" if kind == "AL" else kind for kind in found]
    for at in range(1, len(found) - 1):
        around = {found[at - 1], found[at + 1]}
        if len(around) == 1 and (
            (found[at] in ("ES", "CS") and around == {"EN"}) or (found[at] == "CS" and around == {"AN"})
        ):
            found[at] = found[at - 1]
    found = _with_signs(_with_signs(found)[::-1])[::-1]
    strong = "L"
    for at, kind in enumerate(found):
        strong = kind if kind in ("L", "R") else strong
        found[at] = "L" if kind == "EN" and strong == "L" else kind
    return [kind if kind in ("L", "R", "EN", "AN") else "N" for kind in found]


def _bracketed(kinds: list[str], text: str) -> list[str]:
    """Return L or R for both brackets of a pair that holds letters or numbers (N0)."""
    kinds = list(kinds)
    for first, last in _pairs(kinds, text):
        held = {"R" if kind in _NUMBERS else kind for kind in kinds[first + 1 : last]} & {"L", "R"}
        before = next((kind for kind in reversed(kinds[:first]) if kind != "N"), "L")
        if held:
            kinds[first] = kinds[last] = "L" if "L" in held or before == "L" else "R"
    return kinds


def _pairs(kinds: list[str], text: str) -> list[tuple[int, int]]:
    """Return where brackets that belong together open and close, in the order in which they open."""
    opened, found = list[int](), list[tuple[int, int]]()
    for at, sign in enumerate(text):
        if kinds[at] == "N" and sign in _CLOSED_BY:
            opened.append(at)
        elif kinds[at] == "N" and sign in _CLOSED_BY.values():
            for depth in reversed(range(len(opened))):
                if _CLOSED_BY[text[opened[depth]]] == sign:
                    found.append((opened[depth], at))
                    del opened[depth:]
                    break
    return sorted(found)


def _with_signs(kinds: list[str]) -> list[str]:
    """Return signs as those of per cent and degree as part of the number before them (W5, one way)."""
    told: list[str] = []
    for kind in kinds:
        told.append("EN" if kind == "ET" and told and told[-1] == "EN" else kind)
    return told
