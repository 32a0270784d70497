"""A copy to give away: pixels and marks only, by a list of what may stay. Nothing that was typed is on that list.

Kept: the grey values, the marks, tooth numbers, lengths of references, offsets, the spread of the marks, kept lengths
with the month they were found in. Left out: file name and path, everything in the file but its pixels, names of
canals that are no usual ones, reference points in words, who, history, times, ids. The record is made anew. The grey
values themselves stay as they are: whoever holds the original can recognise them, and a name burned into the picture
stays in it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from radlength.errors import ReportError
from radlength.geometry import CARRIED, Assist
from radlength.imaging import Radiograph, read_radiograph
from radlength.length import Canal, Estimate
from radlength.record import Record, save_record
from radlength.record.confirmed import (
    NO_MARKS,
    confirmation_status,
    holds,
    marks_digest,
    newest_confirmations,
)
from radlength.record.models import StoredConfirmation, StoredEstimate
from radlength.report.content import measured_or_why
from radlength.scale import Reference
from radlength.trade import CAUTION, repeat_rules, usual_canals

USUAL = frozenset(
    {"single", "B", "P", "L", "M", "D", "MB", "MB1", "MB2", "DB", "DL", "ML", "MP", "DP", "MM", "middle"}
)
METHODS = frozenset(
    f"{method}{image}"
    for method in ("canal trace", "instrument tip", "instrument axis")
    for image in ("", ", inverted image")
) | {CARRIED}
"""Ways points come without a person's click on the image whose names may stay."""

IMAGE_NAME = "shared-1.png"
README_NAME = "READ-ME.txt"
LOOK = "Look at the picture before you give it away: a name burned into the pixels is never removed."


@dataclass(frozen=True, slots=True)
class Shared:
    """What was written: the folder, its files, and what the giver must do."""

    folder: Path
    files: tuple[str, ...]
    reminder: str = LOOK


def share_copy(record: Record, radiograph: Radiograph, folder: Path) -> Shared:
    """Write a copy of an image and its record without identifying facts.

    Parameters
    ----------
    record, radiograph
        What is shared.
    folder
        A new or empty folder. Its own name is the giver's business.

    Raises
    ------
    ReportError
        The folder holds something, or the copy would not measure what the original measures.
    """
    check_empty(folder)
    image = folder / IMAGE_NAME
    written = share_marked(record, radiograph, image)[0]
    (folder / README_NAME).write_text(_readme(record), encoding="utf-8")
    return Shared(folder, (IMAGE_NAME, written.name, README_NAME))


class CanalCodes:
    """Names of canals in one copy: the usual ones stay, others become numbers, and each keeps its own everywhere."""

    def __init__(self) -> None:
        self._codes: dict[str, str] = {}
        self._asked = 0

    def name(self, tooth: str, name: str) -> str:
        """Return the name that a canal of a tooth has in the copy."""
        self._asked += 1
        usual = name in {*USUAL, *usual_canals(tooth)}
        return name if usual else self._codes.setdefault(name, f"canal {self._asked}")


def share_marked(
    record: Record, radiograph: Radiograph, image: Path, codes: CanalCodes | None = None
) -> tuple[Path, Record]:
    """Write the pixels and the record of one image under another name; return where the record is, and it.

    Parameters
    ----------
    record, radiograph
        What is shared.
    image
        Where the pixels are written, as PNG.
    codes
        Names of canals, where the copy holds more than this image.

    Raises
    ------
    ReportError
        The copy would not measure what the original measures. Then nothing stays written.
    """
    write_pixels(radiograph, image)
    try:
        copy = read_radiograph(image)
        shared = shared_record(record, radiograph, copy, codes)
        _same_lengths(record, radiograph, shared, copy)
        return save_record(shared, image), shared
    except BaseException:
        image.unlink()
        raise


def write_pixels(radiograph: Radiograph, image: Path) -> None:
    """Write the grey values alone as a PNG."""
    image.write_bytes(cv2.imencode(".png", shared_pixels(radiograph))[1].tobytes())


def shared_pixels(radiograph: Radiograph) -> NDArray[np.uint8] | NDArray[np.uint16]:
    """Return the grey values, upright, bright where radiopaque; nothing else of the file."""
    stored = radiograph.stored
    if radiograph.facts.photometric != "MONOCHROME1":
        return stored.copy()
    top = min(2**radiograph.facts.bits - 1, int(np.iinfo(stored.dtype).max))
    inverted: NDArray[np.uint8] | NDArray[np.uint16] = (
        max(top, int(stored.max())) - stored.astype(np.int64)
    ).astype(stored.dtype)
    return inverted


def shared_record(
    record: Record, radiograph: Radiograph, copy: Radiograph, codes: CanalCodes | None = None
) -> Record:
    """Return a record of the copy, made from the marks alone; see :func:`share_marked`."""
    codes = codes or CanalCodes()
    canals = [entry.canal for entry in record.canals]
    names = {canal.label: codes.name(canal.tooth, canal.name) for canal in canals}
    references: dict[str, Reference] = {
        old.name: _reference(old, number, names) for number, old in enumerate(record.references, 1)
    }
    made = Record.new(
        copy,
        references=list(references.values()),
        marking=record.marking,
        when=month_of(record.history[0].when),
    )
    pitch = record.stated_pitch_mm or _pitch(radiograph)
    if pitch is not None:
        made = made.with_stated_pitch(*pitch)
    for entry in record.canals:
        used = references[entry.reference].name if entry.reference else None
        canal = Canal(
            tooth=entry.canal.tooth,
            name=names[entry.canal.label],
            path_px=entry.canal.path_px,
            straight="stated by the giver" if entry.canal.straight else "",
            assists=_assists(entry.canal.assists),
        )
        made = made.with_canal(canal, reference=used, terminus=entry.terminus)
    return _with_kept(made, record, names)


def _with_kept(made: Record, record: Record, names: Mapping[str, str]) -> Record:
    """Return the record with kept lengths, their times cut to the month, and a single entry of history."""
    ids = {
        entry.id: made.entry(f"{entry.canal.tooth} {names[entry.canal.label]}").id for entry in record.canals
    }
    known_rules = set(repeat_rules())
    estimates = tuple(_estimate(kept, ids[kept.canal]) for kept in record.estimates if kept.canal in ids)
    newest = list(newest_confirmations(record.confirmations).values())
    confirmations = tuple(
        _confirmation(kept, made, ids[kept.canal], held=kept in newest and holds(vars(record), kept))
        for kept in record.confirmations
        if kept.canal in ids and kept.rule in known_rules
    )
    month = month_of(record.history[0].when)
    history = (made.history[0].model_copy(update={"when": month, "who": None, "what": "copy made to share"}),)
    fields = {name: getattr(made, name) for name in Record.model_fields}
    fields |= {"estimates": estimates, "confirmations": confirmations, "history": history}
    fields |= {"invented": record.invented, "status": confirmation_status(fields)}
    return Record(**fields)


def _estimate(kept: StoredEstimate, key: str) -> StoredEstimate:
    return StoredEstimate(
        canal=key,
        when=month_of(kept.when),
        algorithm=_algorithm(kept.algorithm),
        software=_software(kept.software),
        method=kept.method,
        canal_length=kept.canal_length,
        working_length=kept.working_length,
        terminus=None,
        findings=(),
    )


def _confirmation(kept: StoredConfirmation, made: Record, key: str, *, held: bool) -> StoredConfirmation:
    """Return a confirmation of the copy; it holds there, where the pixels are written anew, if it held before."""
    changed = {
        "canal": key,
        "when": month_of(kept.when),
        "who": None,
        "findings": (),
        "algorithm": None if kept.algorithm is None else _algorithm(kept.algorithm),
        "software": None if kept.software is None else _software(kept.software),
        "marks_sha256": marks_digest(vars(made), made.entry(key)) if held else NO_MARKS,
    }
    return kept.model_copy(update=changed)


def _algorithm(text: str) -> str:
    return matching(text, r"\d{1,4}")


def _software(text: str) -> str:
    return matching(text, r"radlength \d{1,3}(\.\d{1,3}){0,2}")


def matching(text: str, pattern: str) -> str:
    """Return a text that is only what a pattern allows, else that it is not shared."""
    return text if re.fullmatch(pattern, text, re.ASCII) else "not shared"


def month_of(when: datetime) -> datetime:
    """Return the first moment of the month of a time."""
    return when.replace(day=1, hour=0, minute=0, second=0, microsecond=0)


def _reference(old: Reference, number: int, names: Mapping[str, str]) -> Reference:
    """Return a reference under a number, its canal under the name it has in the copy."""
    of_canal = {label.split(" ", 1)[1]: name for label, name in names.items()}
    canal = None if old.canal is None else of_canal.get(old.canal, "another canal")
    return replace(old, name=f"reference {number}", canal=canal, assists=_assists(old.assists))


def _assists(assists: tuple[Assist, ...]) -> tuple[Assist, ...]:
    """Return where a program helped, its method and version only where they are ours."""
    return tuple(
        replace(
            assist,
            method=assist.method if assist.method in METHODS else "not shared",
            version=matching(assist.version, r"\d{1,4}"),
        )
        for assist in assists
    )


def _pitch(radiograph: Radiograph) -> tuple[float, float] | None:
    scale = radiograph.scale
    if scale.meaning != "detector" or scale.row_mm is None or scale.column_mm is None:
        return None
    return scale.row_mm, scale.column_mm


def _same_lengths(record: Record, radiograph: Radiograph, shared: Record, copy: Radiograph) -> None:
    """Refuse a copy that would give another number: a header scale may have no place in it."""
    for entry, other in zip(record.canals, shared.canals, strict=True):
        before = measured_or_why(record, entry, radiograph)[0]
        after = measured_or_why(shared, other, copy)[0]
        if not _same(before, after):
            raise ReportError(
                "the copy would give another length: the scale of the header has no place in it",
                "a canal measured by a reference, or by the detector pitch",
                "measure the canal by a reference first",
                code="share-other-length",
                subject=entry.canal.tooth,
            )


def _same(before: Estimate | None, after: Estimate | None) -> bool:
    """Return whether two results are one; a canal that cannot be measured stays one that cannot."""
    if before is None or after is None:
        return before is after
    old, new = before.canal_length, after.canal_length
    return math.isclose(old.value_mm, new.value_mm, abs_tol=1e-6) and math.isclose(
        old.u_mm, new.u_mm, abs_tol=1e-6
    )


def check_empty(folder: Path) -> None:
    """Make a folder, and refuse one that holds something, or that cannot be made."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError) as exc:
        raise ReportError(
            "a file is in the place of the folder for the shared copy",
            "a new or an empty folder",
            "choose another name",
            code="share-not-a-folder",
            subject=str(folder),
        ) from exc
    if any(folder.iterdir()):
        raise ReportError(
            "the folder for the shared copy holds something",
            "a new or an empty folder",
            "choose another name",
            code="share-not-empty",
            subject=str(folder),
        )


def _readme(record: Record) -> str:
    return "\n".join(
        [
            "A shared copy of one radiograph and the marks on it, made by radlength.",
            f"Status: {record.status}.",
            CAUTION,
            "",
            "Left out: names and paths of files, everything in the image file but its grey values, who and when",
            "(months stay), words that were typed, findings kept with old lengths. Names of canals and references are",
            "codes where they were not the usual ones.",
            "The grey values are unchanged: whoever holds the original can recognise it, also by the pixel hash.",
            LOOK,
            "",
        ]
    )
