"""A copy of a case to give away: what is on a list, and nothing that was typed.

Kept: grey values and marks of the images, tooth numbers, usual names of canals, lengths with their method, landmark,
stage and uncertainty, states of canals, decided numbers. Left out: names and paths of files, days (months stay), who
entered, who decided, reasons, words of reference points and notes, names of rulers and rules that are not ours.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from radlength.errors import ReportError
from radlength.imaging import read_radiograph
from radlength.record import Case, load_record, save_case
from radlength.record.case_files import case_file_findings
from radlength.record.case_images import file_sha256
from radlength.record.case_models import (
    CanalAdded,
    CanalNote,
    Decision,
    FoundInRecord,
    ImageAdded,
    LengthAdded,
    LengthWithdrawn,
    ReferencePoint,
    ViewPair,
)
from radlength.record.record import Record
from radlength.report.share import (
    LOOK,
    README_NAME,
    CanalCodes,
    Shared,
    check_empty,
    matching,
    month_of,
    share_marked,
    write_pixels,
)
from radlength.trade import CAUTION, repeat_rules, terminus_tables

NOT_SHARED = "not shared"
VIEWS = frozenset({"straight", "shifted", "shifted mesial", "shifted distal"})


@dataclass(slots=True)
class _Copy:
    """What the copied events need to know of each other."""

    names: dict[str, str]
    codes: CanalCodes
    images: dict[str, dict[str, Any]] = field(default_factory=dict)
    ids: dict[tuple[str, str], str] = field(default_factory=dict)
    records: dict[str, Record] = field(default_factory=dict)
    rulers: dict[str, str] = field(default_factory=dict)
    paths: dict[int, str] = field(default_factory=dict)


def share_case(case: Case, folder: str | os.PathLike[str], out: Path) -> Shared:
    """Write a copy of a case, its images and their records, without identifying facts.

    Parameters
    ----------
    case, folder
        The case and where it lies.
    out
        A new or empty folder. Its own name is the giver's business.

    Raises
    ------
    ReportError
        The folder holds something, a file of the case is not what it was, or a copy would measure another length.
    """
    home = Path(folder)
    wrong = [
        finding
        for finding in case_file_findings(case, home)
        if finding.severity == "serious" or finding.code == "case-record-changed"
    ]
    if wrong:
        raise ReportError(
            f"a file of the case is not what it was: {wrong[0].sentence}",
            "images and records as the case knows them",
            wrong[0].remedy,
            code="share-files",
            subject=home.name,
        )
    check_empty(out)
    codes = CanalCodes()
    copied = _Copy(_names(case, codes), codes)
    files: list[str] = []
    for number, image in enumerate(case.images, 1):
        files += _share_image(home, out, image, f"shared-{number}.png", copied)
    shared = _copied_case(case, copied)
    files.append(save_case(shared, out).name)
    (out / README_NAME).write_text(_readme(case), encoding="utf-8")
    return Shared(out, (*files, README_NAME))


def _names(case: Case, codes: CanalCodes) -> dict[str, str]:
    """Return the label in the copy of each canal."""
    return {
        canal.label: canal.model_copy(update={"name": codes.name(canal.tooth, canal.name)}).label
        for canal in case.canals
    }


def _share_image(home: Path, out: Path, image: ImageAdded, name: str, copied: _Copy) -> list[str]:
    place = out / name
    radiograph = read_radiograph(home / image.path)
    told: dict[str, Any] = {"path": name, "record_path": None, "record_sha256": None}
    files = [name]
    if image.record_path is None:
        write_pixels(radiograph, place)
    else:
        record = load_record(home / image.path)
        written, shared = share_marked(record, radiograph, place, copied.codes)
        told |= {"record_path": written.name, "record_sha256": file_sha256(written)}
        files.append(written.name)
        copied.records[image.path] = shared
        pairs = zip(record.canals, shared.canals, strict=True)
        copied.ids |= {(image.path, old.id): new.id for old, new in pairs}
    copied.images[image.path] = told | {"file_sha256": file_sha256(place)}
    return files


def _copied_case(case: Case, copied: _Copy) -> Case:
    events = tuple(_copied(event, copied) for event in case.events)
    fields = {name: getattr(case, name) for name in Case.model_fields}
    return Case(**(fields | {"caution": CAUTION, "events": events}))


def _copied(event: Any, copied: _Copy) -> Any:
    fields = _FIELDS[type(event)](event, copied)
    return event.model_copy(update={"entered": month_of(event.entered), "who": None} | fields)


def _image(event: ImageAdded, copied: _Copy) -> dict[str, Any]:
    copied.paths[event.number] = event.path
    gone = {"path": f"not-shared-{event.number}.png", "file_sha256": "0" * 64}
    told = copied.images.get(event.path, gone | {"record_path": None, "record_sha256": None})
    view = event.view if event.view in VIEWS else NOT_SHARED
    label = NOT_SHARED if event.label else ""
    return told | {"view": view, "label": label, "taken": date(event.taken.year, event.taken.month, 1)}


def _canal(event: CanalAdded, copied: _Copy) -> dict[str, Any]:
    new = copied.names[event.label]
    return {"name": new.removeprefix(event.label.removesuffix(event.name))}


def _point(event: ReferencePoint, copied: _Copy) -> dict[str, Any]:
    return {
        "canal": copied.names[event.canal],
        "words": f"reference point {event.number}",
        "why": NOT_SHARED if event.why else None,
    }


def _note(event: CanalNote, copied: _Copy) -> dict[str, Any]:
    other = copied.names[event.other] if event.other else None
    words = NOT_SHARED if event.words else ""
    return {"canal": copied.names[event.canal], "other": other, "words": words}


def _views(_event: ViewPair, _copied_so_far: _Copy) -> dict[str, Any]:
    return {}


def _length(event: LengthAdded, copied: _Copy) -> dict[str, Any]:
    ruler = event.ruler and copied.rulers.setdefault(event.ruler, f"ruler {len(copied.rulers) + 1}")
    locator = event.locator and event.locator.model_copy(
        update={"mark": matching(event.locator.mark, r"-?\d{1,2}([.,]\d{1,2})?")}
    )
    return {
        "canal": copied.names[event.canal],
        "measured": month_of(event.measured),
        "ruler": ruler,
        "locator": locator,
        "rule": event.rule if event.rule in _OURS else None,
        "source": None,
        "verdict": event.verdict if event.verdict in ("accept", "adjust", "repeat") else None,
        "found": _found(event.found, copied),
        "why": NOT_SHARED if event.why else None,
    }


def _withdrawn(_event: LengthWithdrawn, _copied_so_far: _Copy) -> dict[str, Any]:
    return {"why": NOT_SHARED}


def _found(found: FoundInRecord | None, copied: _Copy) -> FoundInRecord | None:
    """Return where the result is kept in the copy; ``None`` where it is not kept there."""
    if found is None:
        return None
    path = copied.paths[found.image]
    key, record = copied.ids.get((path, found.canal)), copied.records.get(path)
    if key is None or record is None:
        return None
    kept = record.estimates if found.result == "estimate" else record.confirmations
    when = month_of(found.when)
    if not any(one.canal == key and one.when == when for one in kept):
        return None
    algorithm = matching(found.algorithm, r"\d{1,4}|not kept with a confirmation")
    return found.model_copy(update={"canal": key, "when": when, "algorithm": algorithm})


def _decision(event: Decision, copied: _Copy) -> dict[str, Any]:
    versions = tuple(matching(text, r"(length|comparison) [\w ]{1,30}") for text in event.algorithms)
    return {
        "canal": copied.names[event.canal],
        "by": "a person who is not named",
        "algorithms": tuple(text if text.split(" ")[-1].isdecimal() else NOT_SHARED for text in versions),
        "software": matching(event.software, r"radlength \d{1,3}(\.\d{1,3}){0,2}"),
        "why": NOT_SHARED if event.why else None,
    }


_OURS = frozenset((*repeat_rules(), *terminus_tables()))
_FIELDS: Mapping[type, Callable[[Any, _Copy], dict[str, Any]]] = {
    ImageAdded: _image,
    CanalAdded: _canal,
    ReferencePoint: _point,
    CanalNote: _note,
    ViewPair: _views,
    LengthAdded: _length,
    LengthWithdrawn: _withdrawn,
    Decision: _decision,
}


def _readme(case: Case) -> str:
    return "\n".join(
        [
            "A shared copy of a case: radiographs, the marks on them, and lengths over time, made by radlength.",
            f"Status: {case.status}.",
            CAUTION,
            "",
            "Left out: names and paths of files, everything in the image files but their grey values, who entered and",
            "who decided, days (months stay), reasons, and every word that was typed.",
            "The grey values are unchanged: whoever holds an original can recognise it, also by its hash.",
            LOOK,
            "",
        ]
    )
