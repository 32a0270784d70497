"""What *Save Selected Layers* of napari does with layers of marks: it writes the session, never data of a layer.

``NAME.radlength.json`` beside the image is the record itself, saved as by the button; elsewhere it is a copy of the
record as the marks stand, with its whole history. ``.geojson`` holds the marks as lines in pixels, for other programs.
"""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

from napari_radlength._convert import SESSION_KEY
from napari_radlength._reporting import check_place, write_report
from radlength.errors import MarkError, RadlengthError, RecordError
from radlength.record import dump_record, record_path
from radlength.session import Session

SUFFIX = ".radlength.json"


def write_marks(path: str, layer_data: list[tuple[Any, dict[str, Any], str]]) -> list[str]:
    """Write the session that layers show.

    Parameters
    ----------
    path
        Where, ending in ``.radlength.json`` or ``.geojson``.
    layer_data
        Layers as napari hands them over; only which session they show is taken from them.

    Returns
    -------
    list
        What was written; nothing where it was refused, and a warning says why.
    """
    try:
        return [str(_write(Path(path), _session_of(layer_data)))]
    except RadlengthError as exc:
        warnings.warn(str(exc), UserWarning, stacklevel=2)
        return []


def _session_of(layer_data: list[tuple[Any, dict[str, Any], str]]) -> Session:
    found = [settings.get("metadata", {}).get(SESSION_KEY) for _, settings, _ in layer_data]
    sessions = {id(one): one for one in found if isinstance(one, Session)}
    if len(sessions) != 1 or len(found) != sum(isinstance(one, Session) for one in found):
        raise MarkError(
            "not layers of the marks of one image",
            "layers that the dock Working length made",
            "select the layer with the points of the canal, then save",
            code="writer-layers",
        )
    (session,) = sessions.values()
    return session


def _write(place: Path, session: Session) -> Path:
    image = session.radiograph.path
    if image is None:
        raise RecordError(
            "the image is not a file, so it has no record",
            remedy="open an image from a file",
            code="record-homeless",
            subject=session.radiograph.name,
        )
    if place.suffix.lower() == ".geojson":
        content = _lines(session)
        check_place(place, image, session.records_dir)
        write_report(place, content)
        return place
    if not place.name.endswith(SUFFIX):
        raise RecordError(
            "not the name of a record",
            f"a name that ends in {SUFFIX}, or in .geojson for the marks as lines",
            code="writer-name",
            subject=place.name,
        )
    if place.absolute() == record_path(image, session.records_dir).absolute():
        return session.save()
    return _copy(place, session)


def _copy(place: Path, session: Session) -> Path:
    _refuse_open(session)
    if place.exists():
        raise RecordError(
            "a record is there already",
            "a new name: a copy replaces nothing",
            code="writer-exists",
            subject=place.name,
        )
    write_report(place, dump_record(session.to_record()))
    return place


def _lines(session: Session) -> bytes:
    from radlength.report import pages, table_geojson

    _refuse_open(session)
    return table_geojson(pages(session.to_record(), session.radiograph)).encode()


def _refuse_open(session: Session) -> None:
    if session.proposal is not None:
        raise MarkError(
            "a proposal is shown that is not accepted",
            remedy="accept it or drop it, then save",
            code="proposal-open",
            subject=session.radiograph.name,
        )
