"""Published figures on how well people read lengths, as sentences with their source."""

from __future__ import annotations


def posterior_caution() -> str:
    """Return the warning for premolars and molars.

    Sources: ElAyouti 2001, J Endod (169 canals); Williams 2007, J Endod (26 canals).
    """
    return (
        "In back teeth a tip that looks 0 to 2 mm short may be through the foramen: it was in 51 % of premolars and "
        "22 % of molars (ElAyouti 2001); a tip that looks short is on average 0.46 mm nearer the foramen "
        "(Williams 2007)."
    )


def long_caution() -> str:
    """Return the warning for a tip beyond the marked apex.

    Source: Williams 2007, J Endod (26 canals).
    """
    return "A tip that looks long is on average 1.2 mm longer still (Williams 2007, 26 canals)."
