"""Lengths of a case that are one result entered several times: a copy says nothing new, so it counts once."""

from __future__ import annotations

from collections.abc import Hashable, Iterator

from radlength.errors import RecordError
from radlength.finding import Finding
from radlength.record.case import CASE_NAME, Case
from radlength.record.case_models import FoundInRecord, ImageAdded, LengthAdded, ViewPair


def source_of(case: Case, found: FoundInRecord | None, views: int | None) -> Hashable:
    """Return what a length was measured on: the same for two lengths that are not independent, ``None`` where unknown.

    Parameters
    ----------
    case
        The case.
    found
        Which kind of result of which image it is. An image that was added again is the same image.
    views
        Number of its pair of views.
    """
    if found is not None:
        return found.result, case.event(found.image, ImageAdded).file_sha256
    if views is not None:
        return "two views", _images_of_views(case, views)
    return None


def images_of(case: Case, event: LengthAdded) -> frozenset[str]:
    """Return the hashes of the images that a length was measured on; none where it was not measured on an image.

    Parameters
    ----------
    case, event
        The case and the length.
    """
    if event.found is not None:
        return frozenset({case.event(event.found.image, ImageAdded).file_sha256})
    if event.views is not None:
        return _images_of_views(case, event.views)
    return frozenset()


def _images_of_views(case: Case, views: int) -> frozenset[str]:
    pair = case.event(views, ViewPair)
    return frozenset(case.event(number, ImageAdded).file_sha256 for number in (pair.straight, pair.shifted))


def refuse_copy(
    case: Case,
    label: str,
    *,
    series: int,
    found: FoundInRecord | None = None,
    views: int | None = None,
    replaces: int | None = None,
) -> None:
    """Refuse a length of what already gave this canal a length that stands, from the same reference point.

    Parameters
    ----------
    case, label, series
        The case, the canal, and number of the reference point it is measured from.
    found, views
        Where the length comes from.
    replaces
        Number of the length it takes the place of.

    Raises
    ------
    RecordError
        One stands, and is not the one that is replaced.
    """
    source = source_of(case, found, views)
    if source is None:
        return
    for event in case.lengths(label):
        same = event.series == series and source_of(case, event.found, event.views) == source
        if same and event.number != replaces:
            what = "this pair of views" if found is None else f"the {found.result} of this image"
            raise RecordError(
                f"length {event.number} of {label} is {what} already",
                "one length of it: entered again it would count twice and look surer than it is",
                f"keep the first; or put a newer result in its place with --replaces {event.number} --why REASON",
                code="case-length-twice",
                subject=CASE_NAME,
            )


def counted_lengths(case: Case, label: str) -> tuple[LengthAdded, ...]:
    """Return the lengths that count: the standing ones of the present series, of each source the one added last.

    Parameters
    ----------
    case, label
        The case and the canal.
    """
    lengths = case.present_lengths(label)
    gone = {event.number for same in _groups(case, lengths) for event in same[:-1]}
    return tuple(event for event in lengths if event.number not in gone)


def copy_findings(case: Case, label: str) -> Iterator[Finding]:
    """Yield a doubt for each result that was entered several times; serious where the entries differ.

    Parameters
    ----------
    case, label
        The case and the canal.
    """
    for same in _groups(case, case.present_lengths(label)):
        numbers = ", ".join(str(event.number) for event in same)
        what = "pair of views" if same[0].found is None else f"image ({same[0].found.result})"
        values = {event.length.value_mm for event in same}
        told = f"{same[-1].length.value_mm:.2f} mm"
        if len(values) > 1:
            told = ", ".join(f"{event.length.value_mm:.2f} mm" for event in same)
        yield Finding(
            "case-length-twice",
            f"Lengths {numbers} are one {what}, entered {len(same)} times: {told}. "
            f"Only the last, {same[-1].number}, counts.",
            "Withdraw the others, with the reason.",
            "serious" if len(values) > 1 else "question",
            label,
        )


def _groups(case: Case, lengths: tuple[LengthAdded, ...]) -> list[list[LengthAdded]]:
    """Return lengths of one source together, in the order they were added; those that stand alone are left out."""
    groups: dict[Hashable, list[LengthAdded]] = {}
    for event in sorted(lengths, key=lambda event: event.number):
        source = source_of(case, event.found, event.views)
        if source is not None:
            groups.setdefault(source, []).append(event)
    return [same for same in groups.values() if len(same) > 1]
