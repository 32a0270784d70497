"""Steps to length as a person notes them: instrument, set length, what was felt; and rules the person writes.

No sequence is ready here and no rule is: both are the user's.
"""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Sequence
from dataclasses import dataclass

from radlength.errors import TradeError
from radlength.finding import Finding
from radlength.trade.instrument_shape import Instrument, parse_instrument

STEP_COLUMNS = ("step", "instrument", "set_length_mm", "felt")
RULE_COLUMNS = ("felt", "then")
MOST_ROWS = 200
_LONGEST = 200


@dataclass(frozen=True, slots=True)
class Step:
    """One instrument that was taken to a length.

    Parameters
    ----------
    step
        What it was for, in the user's words: hand size, coronal enlargement, apical enlargement.
    instrument
        The instrument.
    set_length_mm
        Set length in millimetres, from the reference point.
    felt
        What was felt, in the user's words; may be empty.

    Raises
    ------
    TradeError
        A length of no canal.
    """

    step: str
    instrument: Instrument
    set_length_mm: float
    felt: str = ""

    def __post_init__(self) -> None:
        if not (math.isfinite(self.set_length_mm) and 5 <= self.set_length_mm <= 40):
            meant = self.set_length_mm * 10
            raise TradeError(
                f"a set length of {self.set_length_mm} mm for {self.instrument.label}",
                "5 to 40 mm",
                f"write {meant:g} for {self.set_length_mm:g} cm" if 5 <= meant <= 40 else "give millimetres",
                code="step-length",
            )


@dataclass(frozen=True, slots=True)
class Rule:
    """What the user wants to be reminded of when something was felt.

    Parameters
    ----------
    felt
        Words that must stand in what was felt; upper and lower case alike.
    then
        The reminder.
    """

    felt: str
    then: str

    def meets(self, step: Step) -> bool:
        """Tell whether a step calls for the reminder."""
        return self.felt.casefold() in step.felt.casefold()


@dataclass(frozen=True, slots=True)
class Noted:
    """A step with the reminders that the user's own rules give."""

    step: Step
    short_mm: float | None
    reminders: tuple[str, ...]


def note_steps(
    steps: Sequence[Step], rules: Sequence[Rule] = (), *, working_length_mm: float | None = None
) -> tuple[tuple[Noted, ...], tuple[Finding, ...]]:
    """Return every step with its distance from the working length and its reminders, and the doubts about them.

    Examples
    --------
    >>> steps = [Step("apical enlargement", parse_instrument("25/.06"), 19.0, "stopped short")]
    >>> noted, _ = note_steps(steps, [Rule("stopped short", "a smaller size first")], working_length_mm=21.0)
    >>> noted[0].short_mm, noted[0].reminders
    (2.0, ('a smaller size first',))
    """
    noted, found = [], []
    for step in steps:
        short = None if working_length_mm is None else working_length_mm - step.set_length_mm
        if short is not None and short < -0.01:
            found.append(
                Finding(
                    "step-beyond",
                    f"{step.instrument.label} was set to {step.set_length_mm:g} mm, {-short:.1f} mm beyond the working"
                    f" length of {working_length_mm:.1f} mm.",
                    "Check the stop and the working length.",
                    "serious",
                    step.instrument.label,
                )
            )
        noted.append(Noted(step, short, tuple(rule.then for rule in rules if rule.meets(step))))
    return tuple(noted), tuple(found)


def read_steps(text: str, *, subject: str = "steps") -> tuple[Step, ...]:
    """Return the steps of a CSV table with the columns step, instrument, set_length_mm, felt.

    Raises
    ------
    TradeError
        Not such a table; the row is named.
    """
    steps = []
    for number, row in _rows(text, STEP_COLUMNS, subject):
        try:
            length = float(row["set_length_mm"])
        except ValueError:
            raise _bad(
                subject, f"row {number} has the length {row['set_length_mm']!r}", STEP_COLUMNS
            ) from None
        steps.append(Step(row["step"], parse_instrument(row["instrument"]), length, row["felt"]))
    return tuple(steps)


def read_rules(text: str, *, subject: str = "rules") -> tuple[Rule, ...]:
    """Return the rules of a CSV table with the columns felt, then.

    Raises
    ------
    TradeError
        Not such a table, or a rule without words.
    """
    rules = []
    for number, row in _rows(text, RULE_COLUMNS, subject):
        if not (row["felt"] and row["then"]):
            raise _bad(subject, f"row {number} leaves a cell empty", RULE_COLUMNS)
        rules.append(Rule(row["felt"], row["then"]))
    return tuple(rules)


def _rows(text: str, columns: Sequence[str], subject: str) -> list[tuple[int, dict[str, str]]]:
    reader = csv.DictReader(io.StringIO(text.lstrip("\ufeff")), restval="")
    if tuple(name.strip() for name in reader.fieldnames or ()) != tuple(columns):
        raise _bad(subject, f"its first line is {','.join(reader.fieldnames or ['empty'])[:80]!r}", columns)
    reader.fieldnames = list(columns)
    rows = []
    for number, row in enumerate(reader, 2):
        if number > MOST_ROWS:
            raise _bad(subject, f"more than {MOST_ROWS} rows", columns)
        if None in row:
            raise _bad(subject, f"row {number} has more cells than columns", columns)
        rows.append((number, {name: (cell or "").strip()[:_LONGEST] for name, cell in row.items()}))
    return rows


def _bad(subject: str, what: str, columns: Sequence[str]) -> TradeError:
    return TradeError(
        what,
        f"a CSV table with the columns {','.join(columns)}",
        "correct the table",
        code="steps-table",
        subject=subject,
    )
