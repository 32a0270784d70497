"""Text for a page, a table and a file name: what somebody typed made harmless, numbers of things in words."""

from __future__ import annotations

import os
import re
import shlex
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
    kept = harmless(" ".join(text.split()))
    return kept if len(kept) <= longest else kept[: longest - 1] + "…"


def harmless(text: str) -> str:
    r"""Return a text with a question mark for each control character, direction mark and what is no character.

    Lines stay lines.

    Examples
    --------
    >>> harmless("MB\x1b[2J\u202e\n")
    'MB?[2J?\n'
    """
    return text if text.isprintable() else "".join(c if c == "\n" or _harmless(c) else "?" for c in text)


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


def typed(path: str | os.PathLike[str]) -> str:
    """Return a path as it is typed in a command, quoted where a shell needs it; none is taken for an option.

    Examples
    --------
    >>> typed("tooth.png"), typed("-tooth 46.png")
    ('tooth.png', "'./-tooth 46.png'")
    """
    text = os.fspath(path)
    text = f"./{text}" if text.startswith("-") else text
    if os.name == "nt":
        from subprocess import list2cmdline  # noqa: PLC0415

        return list2cmdline([text])
    return shlex.quote(text)


def refused(exc: OSError) -> str:
    """Return what the system refused, in plain words where its own are not.

    Examples
    --------
    >>> refused(FileExistsError(17, "File exists", "tour")), refused(PermissionError(13, "Permission denied", "tour"))
    ('a file is where a folder should be', 'Permission denied')
    """
    if isinstance(exc, FileExistsError | NotADirectoryError):
        return "a file is where a folder should be"
    if isinstance(exc, IsADirectoryError):
        return "a folder is where a file should be"
    return exc.strerror or str(exc)


def encodable(text: str) -> str:
    r"""Return a text whose half characters, as names that are no UTF-8 bring them, are written out.

    In JSON that reads as the same text again.

    Examples
    --------
    >>> encodable("Müller \udcff.png")
    'Müller \\udcff.png'
    """
    return text.encode("utf-8", "backslashreplace").decode()


def counted(count: int, what: str) -> str:
    """Return a number of things in words.

    Examples
    --------
    >>> counted(1, "pair"), counted(2, "pair")
    ('1 pair', '2 pairs')
    """
    return f"{count} {what}{'s' * (count != 1)}"


def figures(value: float, count: int = 2) -> str:
    """Return a number with so many figures that count, or whole where it is longer; never with an exponent.

    Parameters
    ----------
    value
        Finite. Nearer to 0 than a ten-thousandth it is 0.
    count
        Figures that count, 1 or more.

    Examples
    --------
    >>> figures(0.0), figures(0.341), figures(9.96), figures(99.9), figures(1234.5, 3)
    ('0', '0.34', '10', '100', '1234')
    """
    if abs(value) < 1e-4:
        return "0"
    return f"{value:.0f}" if abs(value) >= 10**count - 0.5 else f"{value:.{count}g}"
