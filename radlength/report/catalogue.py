"""Every word of the reports in one place, in English, and the way to another language.

The key is for the program, the English text is what a translator sees. A translation is a gettext file (``.mo``)
whose message ids are the English texts; :func:`template` writes what a translator starts from. Sentences of findings
and the caution come from the core and are English.
"""

from __future__ import annotations

import gettext
import os
import re
import struct
from pathlib import Path

from radlength.errors import ReportError
from radlength.report.case_words import CASE_WORDS
from radlength.trade import ISO_TEETH, to_universal

WORDS: dict[str, str] = {
    "title": "Tooth {tooth}: root canal length",
    "universal": "{iso} (Universal {number})",
    "not_working": "A canal length is not a working length.",
    "image": "Image",
    "image_alt": "Radiograph {name} with the marks of tooth {tooth} drawn over it",
    "apex_alt": "Surroundings of the marked apex of {label}, enlarged",
    "legend": "Marks",
    "mark_reference_point": "reference point",
    "mark_click": "clicked point",
    "mark_apex": "marked radiographic apex",
    "mark_end": "end of the working length",
    "mark_reference": "reference of known length, its tip",
    "lengths": "Lengths",
    "canal": "canal",
    "canal_length": "canal length (to the marked apex)",
    "working_length": "working length",
    "interval": "95 % interval",
    "method": "scale from",
    "start": "reference point",
    "no_working": "no working length: no terminus stated",
    "not_measured": "not measured: {reason}",
    "ends_at": "ends at: {terminus}",
    "from_to": "{low}–{high} mm",
    "mm": "{value} mm",
    "more_apices": "Apices not enlarged here: {count}. See the HTML report.",
    "more_charts": "Charts not drawn here: {count}. See the HTML report.",
    "budget": "What makes the interval: share of the variance",
    "budget_alt": "Shares of the uncertainty of {label}: {parts}",
    "part": "part",
    "share": "share",
    "u": "standard uncertainty",
    "time_line": "Lengths kept over time",
    "time_alt": "{count} kept lengths of tooth {tooth}; the table of kept lengths says the same",
    "no_time": "No length is kept in the record yet.",
    "when": "when",
    "what": "what",
    "event_estimate": "estimate",
    "event_confirmation": "length-confirmation image: {verdict} (rule: {rule})",
    "confirmation": "length-confirmation image, {day}: set to {set_to}, gap {gap}, so canal length {length}, "
    "95 % interval {interval}{working}; {verdict} (rule: {rule}){held}",
    "confirmation_working": ", working length {length}",
    "confirmation_older": "; on older marks, so it confirms nothing now",
    "algorithm": "algorithm {algorithm}, {software}",
    "doubts": "Doubts, and what would remove them",
    "no_doubts": "No doubt was found. That is no proof of a right length.",
    "serious": "serious",
    "question": "look again",
    "note": "note",
    "more_doubts": "and {count} more, {serious} of them serious: see the HTML report or radlength estimate",
    "anatomy": "Anatomy, not part of the interval",
    "decision": "Decision",
    "no_decision": "No decision is recorded. Every length here is an {status}.",
    "no_decision_confirmed": "No decision is recorded. The record says: {status}.",
    "status": "Status",
    "invented": "invented case",
    "quality": "Image quality, computed",
    "no_quality_doubt": "no doubt in {count} measures",
    "patient": "As typed for this print",
    "made": "How it was made",
    "software": "radlength {version}, algorithm {algorithm}",
    "pixels": "pixels {rows} × {columns}, hash {sha} ({rule})",
    "record_of": "record last changed {when}",
    "rerun": "again: {command}",
    "caution": "Caution",
    "undrawn": "Signs shown as □ are not in the font of this page, and names with them cannot be told apart: "
    "give a font that has them with --font.",
    **CASE_WORDS,
}
"""English by key; ``{names}`` are filled in and must stay in a translation."""


ISO_TOOTH = re.compile(rf"\b(?:{'|'.join(ISO_TEETH)})\b")


class Words:
    """The words of one language.

    Parameters
    ----------
    translations
        From English to that language; English without it.
    language
        Its code as a page states it: ``"en"``.
    universal
        Whether headings show the Universal number of a tooth beside its ISO 3950 one.

    Examples
    --------
    >>> Words()("title", tooth="46")
    'Tooth 46: root canal length'
    >>> Words(universal=True)("title", tooth="46")
    'Tooth 46 (Universal 30): root canal length'
    """

    def __init__(
        self,
        translations: gettext.NullTranslations | None = None,
        language: str = "en",
        *,
        universal: bool = False,
    ) -> None:
        self._translations = translations or gettext.NullTranslations()
        self.language = language
        self._universal = universal

    def __call__(self, key: str, **parts: object) -> str:
        """Return the text of a key; English where a translation lost a name in braces."""
        if self._universal and "tooth" in parts:
            parts["tooth"] = ISO_TOOTH.sub(self._both, str(parts["tooth"]))
        return self._text(key, parts)

    def _both(self, tooth: re.Match[str]) -> str:
        return self._text("universal", {"iso": tooth[0], "number": to_universal(tooth[0])})

    def _text(self, key: str, parts: dict[str, object]) -> str:
        try:
            return self._translations.gettext(WORDS[key]).format(**parts)
        except (KeyError, IndexError, ValueError):
            return WORDS[key].format(**parts)


def read_words(path: str | os.PathLike[str], language: str, *, universal: bool = False) -> Words:
    """Return the words of a gettext ``.mo`` file; ``universal`` as :class:`Words` takes it.

    Raises
    ------
    ReportError
        The file cannot be read as one.
    """
    try:
        with Path(path).open("rb") as stream:
            return Words(gettext.GNUTranslations(stream), language, universal=universal)
    except (OSError, UnicodeDecodeError, ValueError, IndexError, struct.error) as exc:
        raise ReportError(
            "the words cannot be read",
            "a gettext .mo file made from the template",
            code="words-unreadable",
            subject=str(path),
        ) from exc


def template() -> str:
    """Return the gettext template (``.pot``) of all words, in order."""
    head = 'msgid ""\nmsgstr ""\n"Content-Type: text/plain; charset=UTF-8\\n"\n'
    entries = [f'#. {key}\nmsgid "{text}"\nmsgstr ""\n' for key, text in WORDS.items()]
    return "\n".join([head, *entries])
