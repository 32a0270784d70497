"""Canals of a case: their names, their reference points, and what is noted of them."""

from __future__ import annotations

from datetime import datetime

from radlength.errors import RecordError
from radlength.geometry import Point
from radlength.record.case import CASE_NAME, Case
from radlength.record.case_models import CanalAdded, CanalNote, CanalState, ReferencePoint


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
    RecordError
        No such tooth, a canal that is there already, or no reference point.
    """
    if not reference_point.strip():
        raise RecordError(
            f"no reference point for {tooth} {name}",
            "where every length of the canal begins, in words: mesiobuccal cusp",
            code="case-reference-point",
            subject=CASE_NAME,
        )
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
        No such canal, or no reason.
    """
    fields = {"canal": case.canal(canal).label, "words": words, "image": image, "point_px": point_px}
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
    beside = None if other is None else case.canal(other).label
    fields = {"canal": label, "state": state, "other": beside, "words": words}
    return case.with_event(CanalNote, when=when, who=who, **fields)


def apex_is_usual(case: Case, canal: str) -> bool:
    """Tell whether the usual distances between apex, foramen and constriction may hold."""
    return not any(note.state in ("open apex", "resorbed apex") for note in case.notes(canal))
