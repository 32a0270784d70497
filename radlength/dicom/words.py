"""Typed text made fit for the value representations of DICOM: nothing in it separates, escapes or is too long."""

from __future__ import annotations

import re

from radlength.clean import clean

LONG_STRING, SHORT_TEXT, NAME_GROUP = 64, 1024, 64
"""Most characters of an LO, an ST and a component group of a PN (PS3.5 6.2)."""

_SEPARATORS = re.compile(r"[\\=]")


def long_string(text: str) -> str:
    r"""Return a text as one LO value: no control characters, no backslash, at most 64 characters.

    Examples
    --------
    >>> long_string("MB\\2 " + "x" * 80)[:6], len(long_string("x" * 80))
    ('MB/2 x', 64)
    """
    return clean(text.replace("\\", "/"), LONG_STRING)


def short_text(text: str) -> str:
    """Return a text as one ST value, at most 1024 characters."""
    return clean(text, SHORT_TEXT)


def person_name(text: str) -> str:
    r"""Return a typed name as one PN value of a single component group.

    A name without ``^`` keeps its words as they stand: which of them is the family name is not guessed.

    Examples
    --------
    >>> person_name("Παπά^Ζωή"), person_name("Dr. A\\B=C")
    ('Παπά^Ζωή', 'Dr. A B C')
    """
    return clean(_SEPARATORS.sub(" ", text), NAME_GROUP).strip("^ ")
