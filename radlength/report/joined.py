"""Arabic letters in the form they have beside their neighbours, for a page that gets letters one by one.

A browser does this by itself.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

FORMS = range(0xFB50, 0xFDFC), range(0xFE70, 0xFEFD)
"""Arabic Presentation Forms-A and -B of Unicode, as far as they are letters."""

LAM, TATWEEL = "\u0644", "\u0640"


def joined(text: str) -> str:
    r"""Return a text with every Arabic letter in its initial, medial, final or isolated form, lam and alef as one.

    Notes
    -----
    The forms and what they stand for are those of the Unicode Character Database (compatibility decompositions); a
    letter that has an initial form joins both ways, one that has a final form alone joins the one before it, and marks
    above and below are seen through (Unicode Standard, chapter 9.2, from memory). The text keeps its order.

    Examples
    --------
    >>> joined("46 MB"), joined("\u0628\u0628\u0628") == "\ufe91\ufe92\ufe90", joined("\u0644\u0627") == "\ufefb"
    ('46 MB', True, True)
    """
    forms = _forms()
    if not any((sign, "isolated") in forms for sign in text):
        return text
    return _shaped(_ligated(text), forms)


def is_form(sign: str) -> bool:
    """Return whether a sign is a letter in one of its forms."""
    return any(ord(sign) in block for block in FORMS)


def _ligated(text: str) -> list[str]:
    """Return letters, a lam with the alef behind it as one of two signs."""
    letters: list[str] = []
    for sign in text:
        if letters and letters[-1] == LAM and (LAM + sign, "isolated") in _forms():
            letters[-1] += sign
        else:
            letters.append(sign)
    return letters


def _shaped(letters: list[str], forms: dict[tuple[str, str], str]) -> str:
    seen = [at for at, letter in enumerate(letters) if not unicodedata.combining(letter[0])]
    shown = list(letters)
    for place, at in enumerate(seen):
        letter = letters[at]
        before = place > 0 and (letters[seen[place - 1]], "initial") in forms and (letter, "final") in forms
        after = (
            place + 1 < len(seen)
            and (letter, "initial") in forms
            and (letters[seen[place + 1]], "final") in forms
        )
        form = ("medial" if after else "final") if before else ("initial" if after else "isolated")
        shown[at] = forms.get((letter, form), letter)
    return "".join(shown)


@lru_cache(maxsize=1)
def _forms() -> dict[tuple[str, str], str]:
    """Return the sign of each (letter or lam with alef, form)."""
    found = {(TATWEEL, form): TATWEEL for form in ("initial", "medial", "final", "isolated")}
    for code in (code for block in FORMS for code in block):
        kind, *parts = unicodedata.decomposition(chr(code)).split() or [""]
        letters = "".join(chr(int(part, 16)) for part in parts)
        if len(letters) == 1 or (len(letters) == 2 and letters[0] == LAM and code >= FORMS[1][0]):
            found.setdefault((letters, kind.strip("<>")), chr(code))
    return found
