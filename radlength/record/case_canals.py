"""Canals of a case: their names, their reference points, and what is noted of them."""

from __future__ import annotations

from datetime import datetime

from radlength.errors import RecordError
from radlength.geometry import Point
from radlength.record.case import CASE_NAME, Case
from radlength.record.case_models import CanalAdded, CanalNote, CanalState, ReferencePoint
from radlength.trade import check_tooth

REFERENCE_POINT = "where every length of the canal begins, in words: mesiobuccal cusp"


def add_canal(
    case: Case,
    tooth: str,
    name: str,
    *,
    reference_point: str,
    supernumerary: bool = False,
    image: int | None = None,
    point_px: Point | None = None,
    who: str | None = None,
    when: datetime | None = None,
) -> Case:
    """Return the case with a canal and its first reference point.

    Parameters
    ----------
    case
        The case.
    tooth
        ISO 3950, permanent or deciduous; for a supernumerary tooth its neighbour.
    name
        ``"MB"``, ``"MB2"``, ``"single"``.
    reference_point
        In words: ``"mesiobuccal cusp"``.
    supernumerary
        The tooth is one more beside `tooth`.
    image, point_px
        Number of an image and the (row, column) place of the reference point on it.

    Raises
    ------
    TradeError
        No such tooth.
    RecordError
        A canal that is there already, or without a name or a reference point.
    """
    check_tooth(tooth)
    _stated(
        name,
        f"a canal of tooth {tooth} without a name",
        "1 to 60 characters, such as MB, MB2, D or single",
        60,
    )
    _stated(reference_point, f"no reference point for {tooth} {name}", REFERENCE_POINT)
    fields = {"tooth": tooth, "name": name, "supernumerary": supernumerary}
    added = case.with_event(CanalAdded, when=when, who=who, **fields)
    place = {"words": reference_point, "image": image, "point_px": point_px}
    return added.with_event(ReferencePoint, when=when, who=who, canal=added.canals[-1].label, **place)


def new_reference_point(
    case: Case,
    canal: str,
    words: str,
    *,
    why: str,
    image: int | None = None,
    point_px: Point | None = None,
    who: str | None = None,
    when: datetime | None = None,
) -> Case:
    """Return the case with another reference point of a canal.

    Lengths from it begin a new series: they are compared with each other and never with those before. A decision on
    the canal stands no more.

    Raises
    ------
    RecordError
        No such canal, no reference point, or no reason.
    """
    label = case.canal(canal).label
    _stated(words, f"no reference point for {label}", REFERENCE_POINT)
    _stated(
        why,
        "another reference point without a reason",
        "why it changed: cusp reduced, crown lost",
    )
    fields = {"canal": label, "words": words, "image": image, "point_px": point_px}
    return case.with_event(ReferencePoint, when=when, who=who, why=why, **fields)


def note_canal(
    case: Case,
    canal: str,
    state: CanalState,
    *,
    other: str | None = None,
    words: str = "",
    who: str | None = None,
    when: datetime | None = None,
) -> Case:
    """Return the case with a note on a canal; `other` is the canal that it joins or splits from."""
    label = case.canal(canal).label
    if state == "other":
        _stated(words, "a note that says nothing", "what was seen, in words")
    beside = None if other is None else case.canal(other).label
    fields = {"canal": label, "state": state, "other": beside, "words": words}
    return case.with_event(CanalNote, when=when, who=who, **fields)


def _stated(text: str, wrong: str, allowed: str, longest: int = 500) -> None:
    """Refuse words that say nothing, or more than a case keeps."""
    if not text.strip():
        raise RecordError(
            wrong, allowed, "state it; nothing was changed", code="case-not-stated", subject=CASE_NAME
        )
    if len(text) > longest:
        words = f"{len(text)} characters where {longest} are kept"
        raise RecordError(words, allowed, "say it shorter", code="case-too-long", subject=CASE_NAME)


def apex_is_usual(case: Case, canal: str) -> bool:
    """Tell whether the usual distances between apex, foramen and constriction may hold."""
    return not any(note.state in ("open apex", "resorbed apex") for note in case.notes(canal))
