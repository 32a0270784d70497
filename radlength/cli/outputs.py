"""Places where a command writes: never over what it reads, never two outputs in one file."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from radlength.clean import clean
from radlength.errors import ReportError
from radlength.report.written import write_report


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


_TABLE, _PAGE = (".csv", ".txt"), (".html", ".htm")
ENDINGS = {
    "picture": (".png",),
    "plot": (".png",),
    "pdf": (".pdf",),
    "html": _PAGE,
    "page": _PAGE,
    "csv": _TABLE,
    "table": _TABLE,
    "gradebook": _TABLE,
    "json": (".json",),
    "answers": (".json",),
    "attempt": (".json",),
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


_OF_FILES = frozenset(
    ending
    for endings in (
        *ENDINGS.values(),
        (".jpg", ".jpeg", ".tif", ".tiff", ".dcm", ".xlsx", ".parquet", ".zip"),
    )
    for ending in endings
)


def refuse_file_name(folder: Path | None, what: str) -> None:
    """Refuse a new folder whose name is that of a file.

    Parameters
    ----------
    folder
        Where several files are written; ``None`` where it is not asked for.
    what
        What they are, in words.

    Raises
    ------
    ReportError
        The name ends as that of a file does, and no such folder is there yet.
    """
    if folder is not None and folder.suffix.lower() in _OF_FILES and not folder.is_dir():
        raise ReportError(
            f"the name ends in {clean(folder.suffix, 20)}, but a folder of {what} is written there",
            "the name of a folder",
            "choose another name",
            code="report-folder-name",
            subject=str(folder),
        )


def write_whole(place: Path, text: str, *, bom: bool = False) -> Path:
    """Write text as UTF-8, whole or not at all, and return where it is.

    Parameters
    ----------
    place
        A file, which is replaced by what is written; or something else that can be written to, as a pipe.
    text
        What is written.
    bom
        Whether a mark of UTF-8 stands in front, as spreadsheets need it.

    Raises
    ------
    ReportError
        It cannot be written; what was there is as it was.
    """
    return write_report(place, text.encode("utf-8-sig" if bom else "utf-8"), "it")


def image_and_record(image: Path, records: Path | None) -> tuple[tuple[Path, str], ...]:
    """Return an image and its record as what is kept."""
    from radlength.record import record_path

    return (image, "image"), (record_path(image, records), "record")
