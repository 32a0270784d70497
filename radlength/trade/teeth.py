"""Teeth by ISO 3950, Universal numbers on request, their names, sides and usual canals."""

from __future__ import annotations

from typing import Literal

from radlength.errors import TradeError

_UNIVERSAL_CORNER = {"1": 9, "2": 8, "3": 25, "4": 24}
_DECIDUOUS_LETTERS = {"5": "EDCBA", "6": "FGHIJ", "7": "ONMLK", "8": "PQRST"}
_PERMANENT_NAMES = (
    "central incisor",
    "lateral incisor",
    "canine",
    "first premolar",
    "second premolar",
    "first molar",
    "second molar",
    "third molar",
)
_DECIDUOUS_NAMES = ("central incisor", "lateral incisor", "canine", "first molar", "second molar")
_DECIDUOUS_MOLAR_CANALS = {"maxillary": ("MB", "DB", "P"), "mandibular": ("MB", "ML", "D")}
_USUAL_CANALS: dict[str, dict[str, tuple[str, ...]]] = {
    "maxillary": {"4": ("B", "P"), "6": ("MB", "MB2", "DB", "P"), "7": ("MB", "MB2", "DB", "P"), "8": ()},
    "mandibular": {"6": ("MB", "ML", "D"), "7": ("MB", "ML", "D"), "8": ()},
}

ISO_TEETH: tuple[str, ...] = tuple(f"{q}{n}" for q in "1234" for n in range(1, 9)) + tuple(
    f"{q}{n}" for q in "5678" for n in range(1, 6)
)
"""Every designation of ISO 3950, permanent then deciduous."""

_KNOWN = frozenset(ISO_TEETH)


def check_tooth(iso: str) -> str:
    """Return an ISO 3950 designation, or say why it is none.

    Raises
    ------
    TradeError
        If there is no such tooth.

    Examples
    --------
    >>> check_tooth("46")
    '46'
    """
    if not (isinstance(iso, str) and iso in _KNOWN):
        raise TradeError(
            f"tooth {iso} does not exist",
            "ISO 3950: 11-18, 21-28, 31-38, 41-48, deciduous 51-55, 61-65, 71-75, 81-85",
            "for a Universal number use its ISO 3950 designation",
            code="tooth-unknown",
        )
    return iso


def is_deciduous(iso: str) -> bool:
    """Tell whether a tooth is deciduous."""
    return check_tooth(iso)[0] in "5678"


def to_universal(iso: str) -> str:
    """Return the Universal number of a permanent tooth, or the letter of a deciduous one.

    Upper right 9 - x, upper left 8 + x, lower left 25 - x, lower right 24 + x.

    Examples
    --------
    >>> [to_universal(iso) for iso in ("11", "28", "36", "46", "51", "85")]
    ['8', '16', '19', '30', 'E', 'T']
    """
    quadrant, position = check_tooth(iso)[0], int(iso[1])
    if quadrant in _DECIDUOUS_LETTERS:
        letters = _DECIDUOUS_LETTERS[quadrant]
        return letters[position - 1]
    sign = -1 if quadrant in "13" else 1
    return str(_UNIVERSAL_CORNER[quadrant] + sign * position)


_FROM_UNIVERSAL = {to_universal(iso): iso for iso in ISO_TEETH}


def from_universal(number: str) -> str:
    """Return the ISO 3950 designation of a Universal number 1-32 or letter A-T.

    Raises
    ------
    TradeError
        If there is no such number or letter.

    Examples
    --------
    >>> from_universal("30"), from_universal("A")
    ('46', '55')
    """
    try:
        return _FROM_UNIVERSAL[number.strip().upper()]
    except KeyError:
        raise TradeError(
            f"Universal number {number!r} does not exist", "1 to 32 or A to T", code="tooth-unknown"
        ) from None


def side(iso: str) -> Literal["right", "left"]:
    """Return the patient's side, not the side of the picture."""
    return "right" if check_tooth(iso)[0] in "1458" else "left"


def arch(iso: str) -> Literal["maxillary", "mandibular"]:
    """Return the jaw."""
    return "maxillary" if check_tooth(iso)[0] in "1256" else "mandibular"


def is_posterior(iso: str) -> bool:
    """Tell whether a tooth is a premolar or molar."""
    return int(check_tooth(iso)[1]) >= 4


def tooth_name(iso: str) -> str:
    """Return the name of a tooth in English.

    Examples
    --------
    >>> tooth_name("46"), tooth_name("85")
    ('mandibular right first molar', 'deciduous mandibular right second molar')
    """
    deciduous = is_deciduous(iso)
    names = _DECIDUOUS_NAMES if deciduous else _PERMANENT_NAMES
    return f"{'deciduous ' * deciduous}{arch(iso)} {side(iso)} {names[int(iso[1]) - 1]}"


def usual_canals(iso: str) -> tuple[str, ...]:
    """Return the names of the usual canals, to offer and never to require.

    ``("single",)`` where there is one; nothing for third molars, which vary too much. From memory; that a second
    mesiobuccal canal is the rule agrees with a review of 68.2 % of upper first molars, and three canals with
    77.7 % of 2081 lower first molars.

    Examples
    --------
    >>> usual_canals("16"), usual_canals("11"), usual_canals("48")
    (('MB', 'MB2', 'DB', 'P'), ('single',), ())
    """
    if is_deciduous(iso):
        return _DECIDUOUS_MOLAR_CANALS[arch(iso)] if is_posterior(iso) else ("single",)
    return _USUAL_CANALS[arch(iso)].get(iso[1], ("single",))
