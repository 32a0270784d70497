"""Marks that are not in the record yet, kept in a file of their own so that a killed process loses none.

Not a record: it may hold a canal of one click, it is nobody's result, and it goes when the record is saved. A file that
somebody else left, an earlier time or another window on the same image, is neither written over nor taken away: each
session writes beside it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter

from radlength.errors import RadlengthError, RecordError
from radlength.imaging import Radiograph
from radlength.record import record_path
from radlength.session.drafts import Annotation
from radlength.trade import CAUTION
from radlength.whole_file import put_whole

FORMAT, VERSION = "radlength-unsaved", 1
LARGEST = 5_000_000
"""Bytes; what is larger was not written here."""
MOST = 9
"""Files of unsaved marks of one image."""


@dataclass(frozen=True, slots=True)
class Unsaved:
    """Marks that were kept and never saved.

    Parameters
    ----------
    path
        Where they lie.
    marks
        The marks; ``None`` where they were made on other pixels.
    day
        When they were kept, ``YYYY-MM-DD HH:MM`` as the clock of this machine tells it.
    saved_since
        Whether the record of the image is another one than they were made beside.
    """

    path: Path
    marks: Annotation | None
    day: str
    saved_since: bool = False


def unsaved_path(image: Path, records_dir: Path | None = None, number: int = 1) -> Path:
    """Return where unsaved marks of an image lie: beside its record.

    Parameters
    ----------
    image, records_dir
        As for a record.
    number
        Which of several files.

    Examples
    --------
    >>> unsaved_path(Path("a/tooth.png")).as_posix(), unsaved_path(Path("tooth.png"), number=2).as_posix()
    ('a/tooth.png.radlength.unsaved', 'tooth.png.radlength.2.unsaved')
    """
    ending = ".unsaved" if number == 1 else f".{number}.unsaved"
    return record_path(image, records_dir).with_suffix(ending)


def dump_unsaved(marks: Annotation, radiograph: Radiograph, record_sha256: str | None) -> bytes:
    """Return marks as the bytes of their file, with the hash of the record that they were made beside."""
    data = {
        "format": FORMAT,
        "version": VERSION,
        "caution": CAUTION,
        "pixel_sha256": radiograph.pixel_sha256,
        "record_sha256": record_sha256,
        "marks": TypeAdapter(Annotation).dump_python(marks, mode="json"),
    }
    return json.dumps(data, allow_nan=False).encode()


def read_unsaved(path: Path, radiograph: Radiograph, record_sha256: str | None) -> Unsaved:
    """Return what a file of unsaved marks holds.

    Parameters
    ----------
    path
        The file.
    radiograph
        The image that they are looked for.
    record_sha256
        Hash of its record now.

    Raises
    ------
    RecordError
        The file cannot be read. It stays where it is.
    """
    try:
        data: dict[str, Any] = json.loads(_text(path))
        if (data["format"], data["version"]) != (FORMAT, VERSION):
            message = "another format or version"
            raise ValueError(message)
        day = datetime.fromtimestamp(path.stat().st_mtime).astimezone().strftime("%Y-%m-%d %H:%M")
        if data["pixel_sha256"] != radiograph.pixel_sha256:
            return Unsaved(path, None, day)
        since = data.get("record_sha256", record_sha256) != record_sha256
        return Unsaved(path, _annotation(data["marks"]), day, since)
    except (OSError, ValueError, LookupError, TypeError, RecursionError) as exc:
        raise RecordError(
            "unsaved marks of an earlier time cannot be read",
            remedy="they stay in that file; go on without them",
            code="unsaved-unreadable",
            subject=path.name,
        ) from exc


class UnsavedFiles:
    """Which files of unsaved marks one session has written or taken over; it touches no others."""

    def __init__(self) -> None:
        self._mine: dict[Path, bytes] = {}

    def keep(self, places: Sequence[Path], data: bytes) -> None:
        """Write bytes whole or not at all, in the session's own file or the first free place.

        Raises
        ------
        RecordError
            The folder cannot be written, or every place is taken.
        """
        own = self._own(places)
        try:
            place = own[0] if own else _claimed(places)
            if not own or self._mine[place] != data:
                _put(place, data, new=not own)
        except OSError as exc:
            raise RecordError(
                f"unsaved marks cannot be kept ({exc.strerror})",
                remedy="save the record into a folder that can be written",
                code="unsaved-unwritable",
                subject=places[0].name,
            ) from exc
        self._mine = {one: self._mine[one] for one in own} | {place: data}
        self.drop(own[1:])

    def drop(self, places: Sequence[Path]) -> None:
        """Take the session's own files away; one that cannot be taken away stays its own."""
        for place in self._own(places):
            with suppress(OSError):
                place.unlink(missing_ok=True)
                del self._mine[place]

    def take_over(self, path: Path) -> None:
        """Count a file among the session's own: it will be written over or taken away."""
        with suppress(OSError):
            self._mine[path] = path.read_bytes()

    def of_others(self, places: Sequence[Path]) -> list[Path]:
        """Return the files that are not the session's own, the newest first."""
        own = self._own(places)
        there = []
        for place in places:
            with suppress(OSError):  # another window may take it away meanwhile
                seen = place.stat()
                if place not in own and place.is_file() and seen.st_size:
                    there.append((seen.st_mtime, place))
        return [place for _, place in sorted(there, key=lambda one: one[0], reverse=True)]

    def _own(self, places: Sequence[Path]) -> list[Path]:
        return [place for place in places if place in self._mine and _holds(place, self._mine[place])]


def _claimed(places: Sequence[Path]) -> Path:
    """Make the first file that is not there, so that no other window takes its place."""
    places[0].parent.mkdir(parents=True, exist_ok=True)
    for place in places:
        with suppress(FileExistsError):
            place.open("xb").close()
            return place
    raise RecordError(
        f"unsaved marks cannot be kept: {len(places)} files of them lie beside the image",
        remedy="open the image, bring them back or drop them",
        code="unsaved-many",
        subject=places[0].name,
    )


def _put(place: Path, data: bytes, *, new: bool) -> None:
    """Write a file; where that fails, a place that was claimed for it is free again."""
    try:
        put_whole(place, data)
    except OSError:
        if new:
            with suppress(OSError):
                place.unlink()
        raise


def _holds(place: Path, data: bytes) -> bool:
    try:
        return place.stat().st_size == len(data) and place.read_bytes() == data
    except OSError:
        return False


def _text(path: Path) -> str:
    if path.stat().st_size > LARGEST:
        message = "too large"
        raise ValueError(message)
    return path.read_text(encoding="utf-8")


def _annotation(data: Any) -> Annotation:
    json.dumps(data, allow_nan=False)  # NaN and numbers without end are refused
    try:
        marks: Annotation = TypeAdapter(Annotation).validate_python(data)
    except RadlengthError as exc:
        raise ValueError(str(exc)) from exc
    if not (marks.references and 0 <= marks.current < len(marks.canals)):
        message = "no canal is current"
        raise ValueError(message)
    return marks
