"""What speaks against a found instrument, judged from its signs.

Every limit was set on simulated images (seeds below 10 000): together they question about 5 % of the tips that are
right, and all but a few of those that are wrong, that lie in no instrument, or were clicked out of order.
"""

from __future__ import annotations

import math

from radlength.finding import Finding
from radlength.tracing.instrument_signs import InstrumentSigns
from radlength.tracing.tip import End
from radlength.tracing.tip_choice import TOLD

FLAT_SHARE = 0.2
SATURATED_SHARE = 0.5
WHITE_BESIDE, MEANT_WHITE = 0.02, 0.99
"""Where metal alone is white its tip is where white ends, if nothing else is white near it and it is sure which line is
meant: within 0.17 mm on simulated images whose metal is white (125 tips)."""
STRENGTH, WEAKEST = 2.0, 1.5
"""Instruments stand out from what goes on around by 1.9 and more in the last millimetres; noise by less than 1.5."""
GAIN = 6.0
STEP = (0.5, 3.0)
"""Share of the line's height that ends at a tip."""
SURE = 0.9
MOVED_MM = 0.7
START_MM = 0.8
DARKER = 0.95
"""Beside bright metal grey falls by less than this part of its height (0.82 at most), beside dark metal by more."""
THICKER = 1.3
MEANT, MEANT_FAR, FAR_MM = 0.93, 0.99, 0.35
"""Of several ends one is likelier than this to be meant, or it is asked which; far from the click likelier still."""
NARROWS_MM = 0.09
"""Sides of an instrument come nearer by 0.06 mm at most; where another one lies on it and ends, by 0.1 mm and more. It
is told in steps of 0.02 mm."""
ASIDE = 0.42
"""Past the tip of an instrument what goes on at an angle stands by 0.41 of it at most on development scenes, unless
another one runs on there; where one bends by 20 to 75 degrees near its tip and was left there, by 0.43 or more. On
fresh ones it questioned 1 of 297 tips that are right, and 35 of 36 such bends that nothing else did."""

MEETS, BENDS = "instrument-meets-another", "instrument-bends"
SECOND = Finding(
    "instrument-second",
    "A second instrument, or another line of metal, lies beside this one.",
    "Look whether the right one was found.",
    "note",
)

WHITE = Finding(
    "instrument-white",
    "Near its tip the instrument is white without detail: the tip is where white ends.",
    "An exposure that shows the metal grey shows its tip more exactly.",
    "note",
)

DARK = Finding(
    "instrument-dark",
    "No bright line was found; the line followed is darker than what lies beside it.",
    "Say whether the image is stored inverted.",
)


def instrument_confidence(end: End, signs: InstrumentSigns) -> float:
    """Return how likely the tip is within 0.3 mm, given that the instrument meant is one of the lines seen.

    The fit's own probability, less where hardly anything ends there, times that of this end among those near the click;
    it knows nothing of the other doubts.
    """
    if signs.flat > FLAT_SHARE:
        return 0.0
    return float(min(max(signs.meant * end.sure * (1 - math.exp(-max(end.gain, 0.0) / 3)), 0.0), 1.0))


def instrument_doubts(
    signs: InstrumentSigns, *, sure: float = 1.0, dark: bool = False
) -> tuple[Finding, ...]:
    """Return what speaks against a found instrument; nothing where nothing does.

    Parameters
    ----------
    signs
        Its signs.
    sure
        The fit's own probability.

    Notes
    -----
    In an even area only that is said: the rest means nothing there.
    """
    even = _even(signs)
    if even:
        return (even,)
    found = (
        _line(signs),
        _end(signs, sure),
        _clicks(signs),
        _flank(signs) or _meets(signs) or _bends(signs),
        _turned(signs),
        SECOND if signs.second_mm > 0 else None,
        WHITE if white(signs) else None,
    )
    return tuple(one for one in found if one is not None)


def only_which(findings: tuple[Finding, ...]) -> bool:
    """Return whether nothing speaks against an instrument but that another lies beside it, or that it goes on."""
    return all(one.code in (MEETS, BENDS) or one.severity == "note" for one in findings)


def _doubt(code: str, sentence: str, remedy: str = "Place the tip by hand.") -> Finding:
    return Finding(code, sentence, remedy)


def _even(signs: InstrumentSigns) -> Finding | None:
    if signs.flat > FLAT_SHARE:
        words = f"{100 * signs.flat:.0f} % of the line runs where the image shows nothing at all."
        return _doubt("instrument-flat", words)
    if white(signs) and not _white_alone(signs):
        return _doubt(
            "instrument-saturated",
            f"{100 * signs.saturated:.0f} % of the last millimetre before the tip is black or white without detail.",
            "Take an exposure that shows the tip, or place it by hand.",
        )
    return None


def white(signs: InstrumentSigns) -> bool:
    """Return whether an instrument is white without detail near its tip."""
    return signs.saturated > SATURATED_SHARE


def _white_alone(signs: InstrumentSigns) -> bool:
    """Return whether white near the tip is this one instrument and nothing else."""
    return signs.white_beside <= WHITE_BESIDE and signs.second_mm == 0 and signs.meant >= MEANT_WHITE


def _line(signs: InstrumentSigns) -> Finding | None:
    if signs.strength >= STRENGTH and signs.weakest >= WEAKEST:
        return None
    return _doubt(
        "instrument-faint",
        "The line hardly stands out from what goes on around, as where no instrument lies.",
    )


def _end(signs: InstrumentSigns, sure: float) -> Finding | None:
    if signs.outside:
        return _doubt("instrument-cut-off", "The line runs to the edge of the image; its tip may lie beyond.")
    if signs.gain < GAIN or sure < SURE or not STEP[0] <= signs.step <= STEP[1]:
        words = "No clear end of the line is seen near the click: it fades, goes on, or changes only in part."
        return _doubt("instrument-no-end", words, "Click nearer to the tip, or place it by hand.")
    return None


def _clicks(signs: InstrumentSigns) -> Finding | None:
    if signs.moved_mm > MOVED_MM:
        words = f"The end that was found lies {signs.moved_mm:.1f} mm from the click."
        return _doubt("instrument-off-click", words, "Look whether it is the tip that is meant.")
    if signs.start_miss_mm > START_MM:
        words = f"The line passes the click at the stop at {signs.start_miss_mm:.1f} mm."
        return _doubt("instrument-off-stop", words, "Look whether it is the instrument that is meant.")
    return None


def _flank(signs: InstrumentSigns) -> Finding | None:
    if signs.darker <= DARKER:
        return None
    words = "Beside the line grey falls further than the line is high, as at the flank of metal that is dark."
    return _doubt("instrument-flank", words, "Say whether the image is stored inverted.")


def _meets(signs: InstrumentSigns) -> Finding | None:
    if signs.meant < (MEANT_FAR if signs.moved_mm > FAR_MM else MEANT):
        words = (
            f"Another line ends near the click; that this end is meant is {100 * signs.meant:.0f} % likely."
        )
    elif signs.narrows_mm > NARROWS_MM and signs.better < TOLD:
        words = "Near the tip the line narrows on one side, as where another instrument lies on it and ends."
    else:
        return None
    return _doubt(MEETS, words, "Look which tip is meant, and place it by hand.")


def _bends(signs: InstrumentSigns) -> Finding | None:
    if signs.aside <= ASIDE:
        return None
    words = "From the end that was found a line goes on at an angle: the instrument may bend there and end further on."
    return _doubt(BENDS, words)


def _turned(signs: InstrumentSigns) -> Finding | None:
    if signs.thicker <= THICKER:
        return None
    words = f"The line is {signs.thicker:.1f} times as wide near the tip as in its middle."
    return _doubt("instrument-reversed", words, "Click the face of the stop first, then the tip.")
