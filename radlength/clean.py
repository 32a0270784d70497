"""Text that somebody typed, made harmless for a page, a table and a file name; nothing here knows a format."""

from __future__ import annotations

import re
import unicodedata

_JOINERS = "\u200c\u200d"
_FORMULA = "=+-@＝＋－＠"
_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?(e[+-]?[0-9]+)?")
LONGEST = 300
"""Characters of one text that a report shows."""


def clean(text: str, longest: int = LONGEST) -> str:
    r"""Return a text without control characters, direction marks and what is no character, on one line.

    Parameters
    ----------
    text
        Anything that was typed.
    longest
        Characters kept; more end in an ellipsis.

    Examples
    --------
    >>> clean("MB\t\u202e1"), clean("a\x00b"), clean("abcdef", 4)
    ('MB ?1', 'a?b', 'abc…')
    """
    line = " ".join(text.split())
    kept = "".join(c if _harmless(c) else "?" for c in line)
    return kept if len(kept) <= longest else kept[: longest - 1] + "…"


def _harmless(character: str) -> bool:
    kind = unicodedata.category(character)
    return kind not in ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp") or character in _JOINERS


def cell(value: object) -> object:
    """Return a value for a table that a spreadsheet opens: no text starts a formula; a number stays one.

    Examples
    --------
    >>> cell("=1+1"), cell(" @x"), cell(-1.5), cell("-1.5"), cell("MB")
    ("'=1+1", "'@x", -1.5, '-1.5', 'MB')
    """
    if not isinstance(value, str):
        return "" if value is None else value
    text = clean(value, 2000)
    return f"'{text}" if text[:1] and text[0] in _FORMULA and not _NUMBER.fullmatch(text) else text
