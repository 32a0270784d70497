"""What speaks against a found instrument, judged from its signs."""

from __future__ import annotations

from radlength.finding import Finding
from radlength.tracing.instrument_signs import InstrumentSigns
from radlength.tracing.tip import End

FLAT_SHARE = 0.2
LEAST_GAIN = 1.0
MOVED_MM = 0.75

DARK = Finding(
    "instrument-dark", "The line of the instrument is dark.", "Say whether the image is stored inverted."
)


def instrument_confidence(end: End, signs: InstrumentSigns) -> float:
    """Return how likely the tip is within 0.3 mm, given that the line followed is the instrument meant."""
    return 0.0 if signs.flat > FLAT_SHARE else end.sure


def instrument_doubts(signs: InstrumentSigns) -> tuple[Finding, ...]:
    """Return what speaks against a found instrument; nothing where nothing does."""
    remedy = "Place the tip by hand."
    if signs.flat > FLAT_SHARE or signs.saturated > FLAT_SHARE:
        return (Finding("instrument-flat", "The line runs where the image shows nothing.", remedy),)
    found = []
    if signs.outside:
        found.append(Finding("instrument-outside", "The line runs to the edge of the image.", remedy))
    if signs.gain < LEAST_GAIN:
        found.append(Finding("instrument-no-end", "No end of the line is seen near the click.", remedy))
    if signs.moved_mm > MOVED_MM:
        words = f"The end found lies {signs.moved_mm:.1f} mm from the click."
        found.append(Finding("instrument-far", words, "Click nearer to the tip."))
    return tuple(found)
