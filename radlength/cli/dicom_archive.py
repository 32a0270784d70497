"""``radlength dicom send``, ``find`` and ``fetch``: an archive, by DIMSE or DICOMweb."""

from __future__ import annotations

from datetime import date as day_of
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.clean import counted
from radlength.cli.options import Debug, Json
from radlength.cli.talk import (
    EXIT_DOMAIN,
    console,
    one_line,
    print_caution,
    print_json,
    said_plainly,
    waiting,
)

if TYPE_CHECKING:
    from radlength.dicom import Archive, Committed, Sent

SEND_EXAMPLE = "radlength dicom send tooth.dcm.radlength-sr.dcm tooth.dcm.radlength-pr.dcm --archive dicom://ARCHIVE@127.0.0.1:4242"
FIND_EXAMPLE = "radlength dicom find --archive https://archive.example/dicom-web --patient-id PHANTOM-7"
FETCH_EXAMPLE = (
    "radlength dicom fetch --archive dicoms://ARCHIVE@archive.example:2762 --study 1.2.3.4 --out fetched"
)

Address = Annotated[
    str,
    typer.Option(
        "--archive",
        help="Its address: dicom://CALLED@host:port, dicoms://CALLED@host:port (TLS) or https://host/path.",
    ),
]
Calling = Annotated[str, typer.Option("--calling", help="Our own application entity title.")]
Authority = Annotated[Path | None, typer.Option("--ca", help="PEM file of the authority to trust.")]
Certificate = Annotated[Path | None, typer.Option("--cert", help="PEM file of our own certificate.")]
Key = Annotated[Path | None, typer.Option("--key", help="PEM file of its key.")]
Timeout = Annotated[
    float, typer.Option("--timeout", min=0.1, max=3600, help="Seconds to wait for an answer.")
]


class LookAfter(StrEnum):
    """How it is checked that the archive has what was sent."""

    content = "content"
    listed = "listed"
    no = "no"


class At(StrEnum):
    """What is looked for."""

    study = "study"
    series = "series"
    image = "image"


def send(
    files: Annotated[list[Path], typer.Argument(metavar="FILE", help="DICOM files.")],
    archive: Address,
    look: Annotated[
        LookAfter,
        typer.Option("--check", help="Afterwards: fetch back and compare, ask for a list, or nothing."),
    ] = LookAfter.content,
    promise: Annotated[
        int | None,
        typer.Option(
            "--commit",
            metavar="PORT",
            min=1,
            max=65535,
            help="Also ask for storage commitment (DIMSE); the archive may answer at this port of ours.",
        ),
    ] = None,
    tries: Annotated[int, typer.Option(min=1, max=20, help="How often a silent archive is called.")] = 3,
    calling: Calling = "RADLENGTH",
    ca: Authority = None,
    cert: Certificate = None,
    key: Key = None,
    timeout: Timeout = 30.0,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Send files to an archive and look whether it has them. Nothing is deleted, here or there.

    A password comes from the environment (RADLENGTH_ARCHIVE_USER and RADLENGTH_ARCHIVE_PASSWORD, or
    RADLENGTH_ARCHIVE_TOKEN) or from the keyring, service radlength-archive. Exit 1 where not everything was stored.
    """
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.dicom import send_files

        way = _open(archive, calling, ca, cert, key, timeout)
        with waiting(f"sending {counted(len(files), 'file')}"):
            sent = send_files(files, way, tries=tries, look=look.value)
        promised = _promised(way, sent, promise, timeout)
        _told(sent, promised, as_json=as_json)
    if not sent.complete or (promised is not None and len(promised.kept) < len(sent.outcomes)):
        raise typer.Exit(EXIT_DOMAIN)


def find(
    archive: Address,
    level: Annotated[At, typer.Option(help="What to look for.")] = At.study,
    patient_id: Annotated[str | None, typer.Option(help="Patient ID.")] = None,
    patient_name: Annotated[str | None, typer.Option(help="Patient's name; * stands for anything.")] = None,
    date: Annotated[str | None, typer.Option(help="Study date, 20260102 or 20260101-20260131.")] = None,
    accession: Annotated[str | None, typer.Option(help="Accession number.")] = None,
    study: Annotated[str | None, typer.Option(help="Study Instance UID.")] = None,
    series: Annotated[str | None, typer.Option(help="Series Instance UID.")] = None,
    calling: Calling = "RADLENGTH",
    ca: Authority = None,
    cert: Certificate = None,
    key: Key = None,
    timeout: Timeout = 30.0,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Look for studies, series or images in an archive."""
    keys = {
        "PatientID": patient_id,
        "PatientName": patient_name,
        "StudyDate": date,
        "AccessionNumber": accession,
        "StudyInstanceUID": study,
        "SeriesInstanceUID": series,
    }
    query = {keyword: value for keyword, value in keys.items() if value}
    if not query:
        raise typer.BadParameter(
            "say what to look for: --patient-id, --patient-name, --date, --accession or --study"
        )
    if date is not None and not _is_date(date):
        raise typer.BadParameter(f"--date {date}: a day as 20260102, or a range as 20260101-20260131")
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.dicom import look_up
        from radlength.dicom.archive_model import MOST_FOUND

        found = look_up(_open(archive, calling, ca, cert, key, timeout), level.value, query)
        if as_json:
            print_json({"found": found, "perhaps_more": len(found) >= MOST_FOUND})
            return
        out = console()
        for row in found:
            out.print(
                one_line("  ".join(f"{name}={value}" for name, value in row.items() if value)), soft_wrap=True
            )
        more = "; no more are shown, narrow the search" if len(found) >= MOST_FOUND else ""
        out.print(f"{len(found)} found{more}")
        print_caution(out)


def _is_date(text: str) -> bool:
    """Tell whether a text is a day or a range of days as DICOM writes them (PS3.4 C.2.2.2.5)."""
    days = text.split("-")
    given = [day for day in days if day]
    try:
        real = [len(day) == 8 and day.isdecimal() and bool(day_of.fromisoformat(day)) for day in given]
    except ValueError:
        return False
    return bool(given) and len(days) <= 2 and all(real)


def fetch(
    archive: Address,
    study: Annotated[str, typer.Option(help="Study Instance UID.")],
    out: Annotated[Path, typer.Option(metavar="DIR", help="Folder for the files; none in it is replaced.")],
    series: Annotated[str, typer.Option(help="Only this series.")] = "",
    instance: Annotated[str, typer.Option(help="Only this instance; needs --series.")] = "",
    calling: Calling = "RADLENGTH",
    ca: Authority = None,
    cert: Certificate = None,
    key: Key = None,
    timeout: Timeout = 30.0,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Fetch a study, a series or one instance from an archive. Exit 1 where not everything came."""
    if instance and not series:
        raise typer.BadParameter("--instance needs --series")
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.dicom import fetch_files

        way = _open(archive, calling, ca, cert, key, timeout)
        with waiting("fetching"):
            got = fetch_files(way, out, study=study, series=series, instance=instance)
        if as_json:
            print_json(
                {
                    "written": [str(path) for path in got.written],
                    "there": [str(path) for path in got.there],
                    "missing": got.missing,
                }
            )
        else:
            told = console()
            for path in got.written:
                told.print(f"written: {path}", soft_wrap=True)
            told.print(f"{len(got.written)} fetched, {len(got.there)} were there already")
            if got.missing:
                told.print(one_line(got.missing))
            print_caution(told)
    if got.missing:
        raise typer.Exit(EXIT_DOMAIN)


def _open(
    archive: str, calling: str, ca: Path | None, cert: Path | None, key: Path | None, timeout: float
) -> Archive:
    from radlength.dicom import open_archive

    return open_archive(
        archive,
        calling=calling,
        ca=ca,
        certificate=cert,
        key=key,
        connect_s=min(timeout, 10.0),
        answer_s=timeout,
    )


def _promised(way: Archive, sent: Sent, port: int | None, timeout: float) -> Committed | None:
    if port is None:
        return None
    from radlength.dicom import commit

    return commit(way, [one.item for one in sent.outcomes], port=port, wait_s=timeout)


def _told(sent: Sent, promised: Committed | None, *, as_json: bool) -> None:
    rows: list[dict[str, Any]] = [
        {
            "file": str(one.item.path),
            "sop_instance": one.item.sop_instance,
            "state": one.state,
            "checked": one.item.sop_instance in sent.checked,
            "why": one.why,
        }
        for one in sent.outcomes
    ]
    if as_json:
        print_json(
            {
                "summary": sent.words,
                "check": sent.look,
                "tries": sent.tries,
                "committed": promised.words if promised else None,
                "files": rows,
            }
        )
        return
    out = console()
    for row in rows:
        if row["state"] != "stored":
            out.print(one_line(f"{row['file']}: {row['state']}, {row['why']}"), soft_wrap=True)
        elif sent.look != "no" and not row["checked"]:
            out.print(
                one_line(
                    f"{row['file']}: the archive said it stored it, but does not give it back as it was sent"
                ),
                soft_wrap=True,
            )
        elif row["why"]:
            out.print(one_line(f"{row['file']}: stored {row['why']}"), soft_wrap=True)
    out.print(sent.words)
    if promised is not None:
        out.print(promised.words)
    print_caution(out)
