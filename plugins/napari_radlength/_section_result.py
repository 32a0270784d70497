"""The length at the top of the dock, and what is to be said about it."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from qtpy.QtCore import Qt
from qtpy.QtWidgets import QVBoxLayout, QWidget

from napari_radlength._confirmation_words import long_words, short_words
from napari_radlength._keys import key_of
from napari_radlength._widgets import FIRST, Section, label
from radlength.finding import Finding
from radlength.length import Estimate
from radlength.session import Session
from radlength.trade import CAUTION

NAME_WIDE = 28
"""Letters of an image's name that stand in one line with its place."""
SIGNS = {"serious": "Serious", "question": "Look again", "note": "Note"}


class Headline(QWidget):
    """The length of the current canal, large, always labelled; it does not scroll away."""

    def __init__(self) -> None:
        super().__init__()
        self.setObjectName("radlength_headline")
        self.image = label("radlength_which_image")
        self.image.hide()
        self.what = label("radlength_what", bold=True)
        self.length = label("radlength_length", bold=True, larger=1.9)
        self.length.setAccessibleName("length of the current canal")
        self.terms = label("radlength_terms")
        self.status = label("radlength_status", bold=True)
        self.confirmed = label("radlength_confirmed")
        self.confirmed.setAccessibleName("what the length-confirmation image said")
        self.doubts = label("radlength_doubts")
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 4, 8, 2)
        column.setSpacing(1)
        for one in (self.image, self.what, self.length, self.terms, self.status, self.confirmed, self.doubts):
            column.addWidget(one)

    def show_image(self, name: str, at: int, count: int) -> None:
        """Say which of several images is shown: its place in the list may be scrolled out of sight."""
        shown = count > 1 and at >= 0
        font = self.image.fontMetrics()
        short = font.elidedText(name, Qt.TextElideMode.ElideMiddle, NAME_WIDE * font.averageCharWidth())
        self.image.setText(f"{escape(short)} · {at + 1} of {count}" if shown else "")
        self.image.setVisible(shown)

    def show_session(self, session: Session | None, found: Estimate | None, missing: str) -> None:
        """Show an estimate, or what to do first."""
        self.doubts.setText("" if found is None else doubts_line(found.findings))
        self.doubts.setVisible(bool(self.doubts.text()))
        self.confirmed.setText("" if session is None else escape(short_words(session.confirmation())))
        self.confirmed.setVisible(bool(self.confirmed.text()))
        if session is None or found is None:
            self.what.setText("" if session is None else escape(session.annotation.canal.label))
            self.length.setText("no length yet")
            self.terms.setText(escape(FIRST if session is None else missing))
            self.status.setText("")
            return
        self.what.setText(escape(what(found)))
        self.length.setText(str(found.working_length or found.canal_length))
        self.terms.setText(escape(terms(found)))
        proposed = session.proposal is not None
        open_ = f"proposed, not accepted: {key_of('go_on')} or {key_of('drop')}"
        told = f"{session.status} · invented case" if session.is_invented else session.status
        self.status.setText(escape(open_ if proposed else told))


class CautionLine(QWidget):
    """The caution at the foot of the dock; it does not scroll away."""

    def __init__(self) -> None:
        super().__init__()
        self.words = label("radlength_caution")
        self.words.setText(escape(CAUTION))
        self.words.setAccessibleName("caution")
        column = QVBoxLayout(self)
        column.setContentsMargins(8, 2, 8, 4)
        column.addWidget(self.words)


class ResultSection(Section):
    """The other lengths of the current canal, the lengths of all canals, and the findings."""

    def __init__(self) -> None:
        super().__init__("Result")
        self.other = label("radlength_other")
        self.confirmed = label("radlength_confirmation")
        self.all = label("radlength_all_lengths")
        self.findings = label("radlength_findings")
        column = QVBoxLayout(self)
        for one in (self.other, self.confirmed, self.all, self.findings):
            column.addWidget(one)

    def show_session(self, session: Session | None, found: Estimate | None) -> None:
        """Show an estimate, or nothing."""
        self.setVisible(session is not None)
        self.other.setText("" if found is None else escape(other(found)))
        self.confirmed.setText("" if session is None else long_words(session.confirmation()))
        self.confirmed.setVisible(bool(self.confirmed.text()))
        doubts = list(found.findings) if found is not None else []
        if session is not None and session.proposal is not None:
            doubts = [*session.proposal.findings, *doubts]
        self.findings.setText("".join(map(finding_line, doubts)))
        self.findings.setVisible(bool(doubts))
        self.other.setVisible(found is not None)

    def show_all(self, session: Session | None) -> None:
        """Show the length of every canal, where there are several."""
        several = session is not None and len(session.annotation.canals) > 1
        self.all.setVisible(several)
        if session is None or not several:
            return
        lines = []
        for n, canal in enumerate(session.annotation.canals):
            found = session.estimate(n)[0] if len(canal.path_px) > 1 else None
            said = "not marked" if found is None else f"{what(found, named=False)} {lengths(found)}"
            lines.append(f"<b>{escape(canal.label)}</b>: {escape(said)}")
        self.all.setText("<br>".join(lines))


def doubts_line(findings: Sequence[Finding]) -> str:
    """Return what must be seen without scrolling: every serious finding, and how many others ask for a look."""
    lines = [f"<b>Serious:</b> {escape(one.sentence)}" for one in findings if one.severity == "serious"]
    others = sum(one.severity == "question" for one in findings)
    if others:
        lines.append(f"{others} finding{'s' * (others > 1)} to look at: under Result")
    return "<br>".join(lines)


def what(found: Estimate, *, named: bool = True) -> str:
    """Return which length it is: a canal length never reads as a working length."""
    kind = "canal length" if found.working_length is None else "working length"
    return f"{kind}, {found.canal.label}" if named else kind


def lengths(found: Estimate) -> str:
    """Return the length with its interval."""
    return str(found.working_length or found.canal_length)


def terms(found: Estimate) -> str:
    """Return from where to where, and what the brackets are."""
    if found.working_length is not None and found.terminus is not None:
        return f"95 % interval in brackets; {found.terminus.words}"
    return (
        "95 % interval in brackets; to the radiographic apex. No working length: state where the work ends."
    )


def other(found: Estimate) -> str:
    """Return the lengths and numbers beside the first."""
    parts = [] if found.working_length is None else [f"canal length {found.canal_length}"]
    parts.append(f"straight {found.straight_length.value_mm:.1f} mm")
    if found.gap_mm is not None:
        parts.append(f"gap {found.gap_mm:.1f} mm")
    if found.magnification is not None:
        parts.append(f"magnification {found.magnification.value:.2f}")
    return "; ".join(parts)


def finding_line(finding: Finding) -> str:
    """Return a finding as a line with what would remove it."""
    sentence, remedy = escape(finding.sentence), escape(finding.remedy)
    return f"<p><b>{SIGNS[finding.severity]}:</b> {sentence} <i>{remedy}</i></p>"
