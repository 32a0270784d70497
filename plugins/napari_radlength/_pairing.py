"""Two marked images of one tooth brought together: which marks go to the core, and what its result says. No window.

Nothing is measured here: :func:`radlength.length.estimate_two_views` does.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal, cast

from radlength.cli.marker_file import Marker
from radlength.errors import MarkError
from radlength.finding import Finding
from radlength.imaging import Radiograph
from radlength.record import Case
from radlength.session import CanalDraft, Session
from radlength.session.owning import owner_of

if TYPE_CHECKING:
    from radlength.length.two_views import CanalOfTwoViews, MarkedView, TwoViewEstimate
    from radlength.scale.two_views import ShiftDirection

SHIFTS: tuple[str, ...] = ("mesial", "distal", "left", "right")
Which = Literal["other", "this"]
"""For which image the tube was shifted."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What the images alone do not tell.

    Parameters
    ----------
    shift
        Where the tube went for the shifted image; empty where nobody said.
    shifted
        Which image is the shifted one.
    angle_deg, u_angle_deg
        How far, ``None`` where it is not known, and the standard uncertainty of that.
    pitch_mm
        Pixel pitch of the detector for an image that states none, ``None`` where nobody said.
    marker
        A marker of known shape and its points, in the order straight, shifted.
    """

    shift: str = ""
    shifted: Which = "other"
    angle_deg: float | None = None
    u_angle_deg: float = 5.0
    pitch_mm: float | None = None
    marker: Marker = field(default_factory=Marker)


@dataclass(frozen=True, slots=True)
class Chosen:
    """Two sessions with the canal of each that is meant to be one, by its label, and their days where stated."""

    here: Session
    there: Session
    canal: str
    canal_there: str
    days: tuple[str, str] = ("", "")

    @property
    def marks(self) -> tuple[object, ...]:
        """What a result follows from: it is stale where this differs."""
        both = self.here, self.there
        images = [(one.radiograph.path, one.radiograph.pixel_sha256) for one in both]
        return self.canal, self.canal_there, *images, *(one.annotation.content for one in both)


@dataclass(frozen=True, slots=True)
class Job:
    """Everything the core takes, and what is to be said beside its result."""

    straight: MarkedView
    shifted: MarkedView
    asked: Asked
    canal: str
    words: str
    findings: tuple[Finding, ...]

    def solve(self) -> TwoViewEstimate:
        """Return what the core makes of it.

        Raises
        ------
        RadlengthError
            The images do not go together.
        """
        from radlength.length.two_views import estimate_two_views

        return estimate_two_views(
            self.straight,
            self.shifted,
            shift=cast("ShiftDirection", self.asked.shift),
            angle_deg=self.asked.angle_deg,
            u_angle_deg=self.asked.u_angle_deg,
            marker_mm=self.asked.marker.shape_mm,
        )

    def canal_of(self, found: TwoViewEstimate) -> CanalOfTwoViews:
        """Return the canal that was asked for."""
        return found.canal(self.canal)


def job_of(chosen: Chosen, asked: Asked) -> Job:
    """Return what the core is to solve: the chosen canal, and every other that both images have under one name.

    Parameters
    ----------
    chosen
        The two images and their canals.
    asked
        What a person said of the exposures.

    Raises
    ------
    MarkError
        A proposal is open, a canal is not marked, or the canals are of two teeth.
    """
    for one in (chosen.here, chosen.there):
        if one.proposal is not None:
            raise MarkError(
                "something is proposed and not accepted",
                remedy="accept it or drop it first",
                code="pairing-proposal",
                subject=one.radiograph.name,
            )
    mine = _canal_of(chosen.here, chosen.canal)
    other = _canal_of(chosen.there, chosen.canal_there)
    if mine.tooth != other.tooth:
        raise MarkError(
            f"{mine.label} on this image and {other.label} on the other",
            "one canal of one tooth",
            "choose the same tooth on both",
            code="pairing-teeth",
        )
    names = [mine.name, *_shared(chosen, mine, other)]
    here = _view(chosen.here, mine.tooth, names, {}, asked)
    called = {mine.name: f"{mine.name} there", other.name: mine.name}
    there = _view(chosen.there, mine.tooth, names, called, asked)
    marker = asked.marker
    straight, shifted = (here, there) if asked.shifted == "other" else (there, here)
    return Job(
        replace(straight, marker_px=marker.straight_px),
        replace(shifted, marker_px=marker.shifted_px),
        asked,
        mine.name,
        _words(chosen, names, asked),
        tuple(_doubts(chosen)),
    )


def needs_pitch(session: Session) -> bool:
    """Tell whether neither file nor record of an image states the pixel pitch of its detector."""
    return session.measured_image.scale.meaning == "none"


def stated_pair(case: Case | None, home: Path, here: Path | None, there: Path | None) -> Asked | None:
    """Return what a case says of two images as a pair of views, the last word first; ``None`` where it does not."""
    if case is None or here is None or there is None:
        return None
    numbers = {(home / one.path).resolve(): one.number for one in case.images}
    mine, other = numbers.get(here.resolve()), numbers.get(there.resolve())
    for pair in reversed(case.views):
        if (pair.straight, pair.shifted) in ((mine, other), (other, mine)):
            shifted: Which = "other" if pair.shifted == other else "this"
            return Asked(shift=pair.shift, shifted=shifted, angle_deg=pair.angle_deg)
    return None


def marked_labels(session: Session) -> list[str]:
    """Return the labels of the canals of an image that are marked."""
    return [one.label for one in session.annotation.canals if one.finished() is not None]


def _canal_of(session: Session, label: str) -> CanalDraft:
    found = next((one for one in session.annotation.canals if one.label == label), None)
    if found is None or found.finished() is None:
        raise MarkError(
            f"{label or 'the canal'} is not marked",
            remedy="mark it there, or choose another",
            code="pairing-canal",
            subject=session.radiograph.name,
        )
    return found


def _shared(chosen: Chosen, mine: CanalDraft, other: CanalDraft) -> Iterable[str]:
    """Return the other canals of the tooth that both images have under one name: they tell the tube's place too."""
    there = {one.name for one in chosen.there.annotation.canals if one.tooth == mine.tooth and one.finished()}
    for one in chosen.here.annotation.canals:
        known = one.tooth == mine.tooth and one.finished() is not None and one.name in there
        if known and one.name not in (mine.name, other.name):
            yield one.name


def _view(session: Session, tooth: str, names: list[str], called: dict[str, str], asked: Asked) -> MarkedView:
    """Return the marks of an image as the core takes them, with canals called as on the other image."""
    from radlength.length.two_views import MarkedView

    marks = session.annotation
    drafts = {called.get(one.name, one.name): one for one in marks.canals if one.tooth == tooth}
    canals, references, termini = [], {}, {}
    for name in names:
        draft = drafts[name]
        canal = draft.finished()
        if canal is None:
            continue
        canals.append(replace(canal, name=name))
        known = next((one for one in marks.references if one.name == draft.reference), None)
        reference = known.finished() if known is not None else None
        if known is not None and reference is not None:
            owner = owner_of(marks, known)
            if owner is not None:
                alone = called.get(owner.name, owner.name)
                reference = replace(reference, canal=alone if owner.tooth == tooth else owner.label)
            references[name] = reference
        if draft.terminus is not None:
            termini[name] = draft.terminus
    return MarkedView(_image(session, asked), tuple(canals), references, termini, marks.marking)


def _image(session: Session, asked: Asked) -> Radiograph:
    image = session.measured_image
    if asked.pitch_mm is None or not needs_pitch(session):
        return image
    return image.with_stated_pitch(asked.pitch_mm, asked.pitch_mm)


def _words(chosen: Chosen, names: list[str], asked: Asked) -> str:
    """Return which canals of which images were brought together."""
    here, there = chosen.here.radiograph.name, chosen.there.radiograph.name
    straight, shifted = (here, there) if asked.shifted == "other" else (there, here)
    others = f", solved together with {', '.join(names[1:])}" if names[1:] else ""
    tube = f"Straight: {straight}; tube {asked.shift} for {shifted}."
    return f"{chosen.canal} of {here} with {chosen.canal_there} of {there}{others}. {tube}"


def _doubts(chosen: Chosen) -> Iterable[Finding]:
    if chosen.canal != chosen.canal_there:
        yield Finding(
            "pairing-names-differ",
            f"{chosen.canal} here is paired with {chosen.canal_there} there: two names for one canal.",
            "Give both one name where they are one; where they are not, the length is of no canal at all.",
            "serious",
            chosen.canal,
        )
    folders = [one.radiograph.path.parent for one in (chosen.here, chosen.there) if one.radiograph.path]
    if len(set(folders)) > 1:
        yield Finding(
            "pairing-folders-differ",
            "The images lie in two folders.",
            "Make sure that both show one tooth of one person.",
            "question",
        )
    if all(chosen.days) and len(set(chosen.days)) > 1:
        yield Finding(
            "pairing-days-differ",
            f"The images are of two days, {chosen.days[0]} and {chosen.days[1]}.",
            "Two views hold where stop and instrument were left untouched between them: take both in one sitting.",
            "serious",
        )
