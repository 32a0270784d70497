"""The words of a case page, in English; the catalogue of all words takes them in."""

from __future__ import annotations

CASE_WORDS: dict[str, str] = {
    "case_title": "Tooth {tooth}: lengths over time",
    "case_canals": "Canals",
    "case_series": "measured from {words}, since {day}",
    "case_noted": "noted: {notes}",
    "case_undecided": "No decision is recorded: {status}.",
    "case_decided": "{value} mm, {end}; decided by {by}, {day}; based on {numbers}",
    "case_because": "because: {why}",
    "case_images": "Images",
    "case_image": "{number}: {path}, {stage}, {day}, {view}",
    "case_image_lost": "{path}: not shown, {reason}",
    "case_chart_alt": "{count} lengths of {label} at the radiographic apex over time; the table says the same",
    "case_chart": "{label}: lengths to the radiographic apex",
    "case_lengths": "Lengths, none overwritten",
    "case_no_lengths": "No length is in the case yet.",
    "case_number": "no.",
    "case_measured": "measured",
    "case_how": "method and stage",
    "case_length": "length, where it ends",
    "case_at_apex": "to the radiographic apex",
    "case_not_converted": "not converted: no table leads there",
    "case_replaced": "corrected by {number}: {why}",
    "case_old_series": "from an earlier reference point",
    "case_rule": "rule: {rule}",
    "case_locator": "mark {mark}, read {read} mm, deduction {deduction} mm{more}",
    "case_change": "change over {names}: {value} mm ({low} to {high})",
    "case_decision_mark": "decision",
    "case_apex_locator": "apex locator",
    "case_image_based": "image",
    "case_other_method": "other method",
    "case_of": "case last changed {day}, {count} entries",
    "case_rerun": "again: {command}",
    "case_more": "and {count} more: see the HTML report or radlength case show",
}
"""English by key; ``{names}`` are filled in and must stay in a translation."""
