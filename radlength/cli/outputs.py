"""Places where a command writes: never over what it reads, never two outputs in one file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from radlength.clean import clean
from radlength.errors import ReportError


def refuse_replacing(places: Mapping[str, Path | None], kept: Iterable[tuple[Path, str]]) -> None:
    """Refuse outputs that would replace what is read, or each other.

    Parameters
    ----------
    places
        What is written, and where; ``None`` where it is not asked for.
    kept
        Files that are read, and what they are; those that are not there do not matter.

    Raises
    ------
    ReportError
        One would.
    """
    asked = {kind: place for kind, place in places.items() if place is not None}
    there = [(file, name) for file, name in kept if file.exists()]
    for kind, place in asked.items():
        for file, name in there:
            if place.exists() and place.samefile(file):
                raise ReportError(
                    f"the {kind} would replace the {name}",
                    remedy="choose another name",
                    code=f"{kind}-is-{name}".replace(" ", "-"),
                    subject=str(place),
                )
    if len({place.resolve() for place in asked.values()}) < len(asked):
        raise ReportError(
            "two outputs have one name",
            remedy="choose another name",
            code="report-twice",
            subject=", ".join(sorted({place.name for place in asked.values()})),
        )


ENDINGS = {
    "picture": (".png",),
    "pdf": (".pdf",),
    "html": (".html", ".htm"),
    "csv": (".csv", ".txt"),
    "json": (".json",),
    "geojson": (".geojson", ".json"),
}
"""Endings that a kind of output may have, whatever their case; a name without one may be given too."""


def refuse_endings(places: Mapping[str, Path | None]) -> None:
    """Refuse names that say another format than what is written.

    Parameters
    ----------
    places
        What is written, one of `ENDINGS`, and where; ``None`` where it is not asked for.

    Raises
    ------
    ReportError
        One ends in something else.
    """
    for kind, place in places.items():
        ending = place.suffix if place is not None else ""
        if ending and ending.lower() not in ENDINGS[kind]:
            raise ReportError(
                f"the name ends in {clean(ending, 20)}, but what is written there is the {kind}",
                f"a name that ends in {' or '.join(ENDINGS[kind])}",
                "choose another name; no other format is written",
                code="report-ending",
                subject=str(place),
            )


def image_and_record(image: Path, records: Path | None) -> tuple[tuple[Path, str], ...]:
    """Return an image and its record as what is kept."""
    from radlength.record import record_path

    return (image, "image"), (record_path(image, records), "record")
