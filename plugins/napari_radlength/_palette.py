"""Colours, told apart with any colour vision (Okabe and Ito 2008), and grey enough to leave the image alone."""

from __future__ import annotations

CANALS = ("#56b4e9", "#009e73", "#f0e442", "#cc79a7", "#0072b2", "#d55e00")
"""Canals in the order in which they are marked."""
COLOUR_NAMES = ("sky blue", "green", "yellow", "pink", "blue", "vermilion")
REFERENCE = "#e69f00"
DOUBT = "#d55e00"
"""A proposal that is not trusted."""
OTHER = ("#000000", "#d9d9d9")
"""Marks that were made on another image: a line, and dashes on it, so that they are seen on every grey."""
OUTLINE = "#f0e442"
"""A prepared outline."""
FOCUS = {"dark": "#66b3ff", "light": "#0050b0"}
"""The ring around the control that has the keys; contrast above 3 to 1 on both."""
HINT = {"dark": "#c9cdd1", "light": "#4f4d4f"}
"""Examples in empty fields; contrast above 4.5 to 1 on the fields of both."""
CAUTION = {"dark": "#f0b94d", "light": "#7a3d00"}
"""Words of caution on a dark and on a light theme; contrast above 4.5 to 1 on both."""


def canal_colour(index: int, chosen: str = "") -> str:
    """Return the colour of a canal: the one chosen, or that of its place.

    Examples
    --------
    >>> canal_colour(0), canal_colour(7), canal_colour(1, "#ffffff")
    ('#56b4e9', '#009e73', '#ffffff')
    """
    return chosen or CANALS[index % len(CANALS)]


def ink(colour: str) -> str:
    """Return a colour two thirds of the way to white, for words with a black edge: read on any grey, yet told apart.

    Examples
    --------
    >>> ink("#0072b2"), ink("#000000")
    ('#aad0e5', '#aaaaaa')
    """
    return "#" + "".join(f"{(int(colour[n : n + 2], 16) + 2 * 255) // 3:02x}" for n in (1, 3, 5))
