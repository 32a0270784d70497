"""From an address to an archive that can be spoken to."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from radlength.dicom.archive_address import CALLING, parse_address
from radlength.dicom.archive_credentials import credentials
from radlength.dicom.archive_model import LEVELS, Archive, check_uid
from radlength.dicom.errors import ArchiveError

UIDS = ("StudyInstanceUID", "SeriesInstanceUID", "SOPInstanceUID")


def open_archive(
    address: str,
    *,
    calling: str = CALLING,
    ca: Path | None = None,
    certificate: Path | None = None,
    key: Path | None = None,
    connect_s: float = 5.0,
    answer_s: float = 30.0,
) -> Archive:
    """Return an archive; nothing is sent yet.

    Parameters
    ----------
    address
        ``dicom://CALLED@host:port``, ``dicoms://CALLED@host:port`` or ``https://host/path``.
    calling
        Our own application entity title.
    ca, certificate, key
        PEM files.
    connect_s, answer_s
        Time-outs in seconds.

    Raises
    ------
    ArchiveError
        The address is none, or a certificate file.
    DicomError
        A library of the extra ``archive`` is missing.
    """
    from radlength.dicom.archive_dimse import DimseArchive
    from radlength.dicom.archive_web import WebArchive

    where = parse_address(address, calling=calling, ca=ca, certificate=certificate, key=key)
    if where.web:
        return WebArchive(where, credentials(where.host), connect_s=connect_s, answer_s=answer_s)
    return DimseArchive(where, connect_s=connect_s, answer_s=answer_s)


def look_up(archive: Archive, level: str, query: Mapping[str, str]) -> list[dict[str, str]]:
    """Return what an archive has: ``"study"``, ``"series"`` or ``"image"``, by keyword and value.

    Raises
    ------
    ArchiveError
        No such level, what is no UID where one is asked for, or the archive does not answer.
    """
    for keyword in UIDS:
        if query.get(keyword):
            check_uid(query[keyword])
    for one in LEVELS:
        if one == level.upper():
            return archive.find(one, query)
    raise ArchiveError(f"no level {level!r}", "study, series or image", code="archive-level")
