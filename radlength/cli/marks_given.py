"""Marks given as options: into a record, keeping what is not given again."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from radlength.clean import clean
from radlength.cli.marks_file import record_from_marks
from radlength.cli.points import parse_points, plain_number, refuse_swapped
from radlength.errors import RecordError, ScaleError
from radlength.imaging import Radiograph
from radlength.length import Canal, Terminus
from radlength.record import CanalEntry, Record, check_binding, load_record, record_path
from radlength.scale import Reference

REFERENCE = {"length_mm": "reference_length", "limit_mm": "reference_limit", "canal": "reference_canal"}
"""Fields of a reference and the options that give them as they are."""
TERMINUS = {"offset_mm": "offset_mm", "table": "terminus_table", "observation": "observation"}
"""Fields of a terminus and the options that give them."""


def record_with_marks(given: Mapping[str, Any], radiograph: Radiograph) -> Record:
    """Return the image's record, or a new one, with the marks that the options of ``radlength mark`` give.

    Raises
    ------
    RadlengthError
        A mark that is impossible, a canal that does not exist, or a record that is another image's.
    """
    image, records, who = given["image"], given["records"], given["who"]
    for typed, option in ((given["path"], "--path"), (given["reference_path"], "--reference-path")):
        if typed is not None:
            refuse_swapped(parse_points(typed, subject=option), radiograph.shape, subject=option)
    there = record_path(image, records).exists()
    if given["from_file"] is not None:
        if there:
            raise RecordError(
                "there is a record already; marks from a file would replace it",
                remedy="move it away, or add canals one by one",
                code="record-exists",
                subject=image.name,
            )
        return record_from_marks(given["from_file"], radiograph, who=who)
    kept = there or given["rebind"]
    record = load_record(image, records_dir=records) if kept else Record.new(radiograph, who=who)
    record = _bound(record, radiograph, given)
    record = _with_settings(record, given)
    record = _with_reference(record, given)
    return _with_canal(record, given)


def _bound(record: Record, radiograph: Radiograph, given: Mapping[str, Any]) -> Record:
    """Return a record whose marks belong to these pixels: they do already, or somebody says so on purpose."""
    try:
        check_binding(record, radiograph)
    except RecordError:
        if not given["rebind"]:
            raise
        return record.rebind(radiograph, who=given["who"])
    return record


def _with_settings(record: Record, given: Mapping[str, Any]) -> Record:
    who, ends = given["who"], given["end_sd"]
    spread = {"apex_mm": given["apex_sd"], "stop_mm": ends, "tip_mm": ends, "path_mm": given["path_sd"]}
    changed = {name: value for name, value in spread.items() if value is not None}
    if changed:
        record = record.with_marking(replace(record.marking, **changed), who=who)
    if given["pitch_mm"] is not None:
        row, column = _pitch(given["pitch_mm"])
        record = record.with_stated_pitch(row, column, who=who)
    return record


def _pitch(text: str) -> tuple[float, float]:
    """Return the pitch down and across; a comma stands between two numbers, never in one."""
    parts = [part.strip() for part in text.split(",")]
    try:
        row, column = map(plain_number, parts * 2 if len(parts) == 1 else parts)
        whole = len(parts) == 2 and parts[0].isdigit()
    except ValueError:
        whole = True
    if whole:
        raise ScaleError(
            f"{text!r} as a pixel pitch",
            "millimetres, one number or two: 0.025, or 0.025,0.03 down and across",
            "write decimals with a point",
            code="pitch-not-numbers",
            subject="--pitch-mm",
        )
    return row, column


def _with_reference(record: Record, given: Mapping[str, Any]) -> Record:
    changed = {field: given[key] for field, key in REFERENCE.items() if given[key] is not None}
    if given["placement"] is not None:
        changed["placement"] = given["placement"].value
    if given["reference_path"] is not None:
        changed["path_px"] = parse_points(given["reference_path"], subject="--reference-path")
    if not changed:
        return record
    old = _known_reference(record, given)
    reference = _new_reference(record, given, changed) if old is None else _changed(old, given, changed)
    return record if reference == old else record.with_reference(reference, who=given["who"])


def _new_reference(record: Record, given: Mapping[str, Any], stated: dict[str, Any]) -> Reference:
    name = given["reference_name"] or f"reference {len(record.references) + 1}"
    if "length_mm" not in stated:
        raise ScaleError(
            "no length is given for this new reference",
            f"--reference-length; known references: {_names(record)}",
            "give its length in millimetres, or the name of one that is marked",
            code="reference-length",
            subject=clean(name),
        )
    if stated.get("placement", "in_canal") == "in_canal":
        stated = {"canal": given["canal"]} | stated
    return Reference(**stated, name=name)


def _changed(old: Reference, given: Mapping[str, Any], stated: dict[str, Any]) -> Reference:
    """Return a known reference with what is stated; what is not given again stays, and no default takes its place."""
    placement = stated.get("placement", old.placement)
    if placement == "beside":
        stated = {"canal": None} | stated
    elif given["canal"] is not None and ("path_px" in stated or old.canal is None):
        stated = {"canal": given["canal"]} | stated
    if "path_px" in stated:
        stated["assists"] = ()
    return replace(old, **stated)


def _known_reference(record: Record, given: Mapping[str, Any]) -> Reference | None:
    """Return the reference the options speak of: by its name, that of the canal, or the only one; ``None``: a new one.

    Raises
    ------
    RecordError
        Something is to be changed, and nothing says of which reference.
    """
    name, old = given["reference_name"], None
    if name is None and given["reference_path"] is not None:
        return None
    if name is None and given["canal"] is not None:
        old = _known(record, given)
        name = old.reference if old else None
    elif name is None and len(record.references) == 1:
        name = record.references[0].name
    found = next((one for one in record.references if one.name == name), None)
    if found is None and given["reference_path"] is None:
        raise RecordError(
            "nothing says which reference is to be changed" if name is None else "there is no such reference",
            f"one of: {_names(record)}",
            "name it with --reference-name, or mark a new one with --reference-path and --reference-length",
            code="reference-unknown",
            subject="reference" if name is None else clean(name),
        )
    if found is not None and old is not None:
        _refuse_anothers(found, old.canal)
    return found


def _refuse_anothers(found: Reference, canal: Canal) -> None:
    """Refuse to change the instrument of one canal by the name of another that only borrows it.

    Raises
    ------
    RecordError
        It lies in another canal.
    """
    if found.placement == "in_canal" and not found.lies_in(canal.label):
        raise RecordError(
            f"it is measured by {clean(found.name)}, which lies in canal {clean(found.canal or '')}",
            "an instrument is changed by its own name or by the canal it lies in",
            "name it with --reference-name, or mark the one in this canal with --reference-path and "
            "--reference-length",
            code="reference-anothers",
            subject=clean(canal.label),
        )


def _names(record: Record) -> str:
    return ", ".join(clean(one.name) for one in record.references) or "none is marked"


def _with_canal(record: Record, given: Mapping[str, Any]) -> Record:
    if given["canal"] is None:
        return record
    old = _known(record, given)
    if old is None and given["path"] is None:
        return record
    canal = _canal(record, given, old)
    reference = _reference_name(record, given, old)
    terminus = _terminus(given, old)
    record = _told_apart(record, canal, reference, given)
    if old is not None and (old.canal, old.reference, old.terminus) == (canal, reference, terminus):
        return record
    return record.with_canal(canal, reference=reference, terminus=terminus, who=given["who"])


def _told_apart(record: Record, canal: Canal, reference: str | None, given: Mapping[str, Any]) -> Record:
    """Return a record whose instrument names its tooth too, where a canal of that name on another tooth borrows it.

    It lies in the canal that it is marked with, else in the one that it measured first; where it measured canals of
    several teeth before, nothing tells.
    """
    lent = next((one for one in record.references if one.name == reference), None)
    if lent is None or lent.canal != canal.name:
        return record
    measured = [
        one.canal for one in record.canals if (one.reference, one.canal.name) == (reference, canal.name)
    ]
    marked = given["reference_path"] is not None
    if not (marked or len(measured) == 1) or all(one.tooth == canal.tooth for one in measured):
        return record
    owner = canal if marked else measured[0]
    return record.with_reference(replace(lent, canal=owner.label), who=given["who"])


def _known(record: Record, given: Mapping[str, Any]) -> CanalEntry | None:
    """Return the canal the options speak of, where the record has it already."""
    label = given["canal"] if given["tooth"] is None else f"{given['tooth']} {given['canal']}"
    names = [name for entry in record.canals for name in (entry.canal.label, entry.canal.name)]
    only_a_reference = given["reference_path"] is not None and not any(
        given[key] for key in TERMINUS.values()
    )
    if label not in names and (given["path"] is not None or only_a_reference):
        return None
    return record.entry(label)


def _canal(record: Record, given: Mapping[str, Any], old: CanalEntry | None) -> Canal:
    start = given["reference_point"] or (old.canal.reference_point if old else "")
    known = old.canal.straight if old else ""
    straight = known if given["straight"] is None else given["straight"]
    if given["path"] is None and old is not None:
        return replace(old.canal, reference_point=start, straight=straight)
    return Canal(
        tooth=given["tooth"],
        name=given["canal"],
        path_px=parse_points(given["path"], subject="--path"),
        reference_point=start,
        straight=straight,
    )


def _reference_name(record: Record, given: Mapping[str, Any], old: CanalEntry | None) -> str | None:
    if given["reference_name"] is not None:
        return str(given["reference_name"])
    if old is not None and given["reference_path"] is None:
        return old.reference
    return record.references[-1].name if record.references else None


def _terminus(given: Mapping[str, Any], old: CanalEntry | None) -> Terminus | None:
    stated = {name: given[key] for name, key in TERMINUS.items() if given[key] is not None}
    if stated:
        return Terminus(**stated)
    return old.terminus if old else None
