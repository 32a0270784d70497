"""``radlength check FOLDER``: every record and every case in a folder and below it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from radlength.clean import counted
from radlength.cli.options import RECORD
from radlength.errors import RadlengthError, RecordError

if TYPE_CHECKING:
    from rich.console import Console

CASE_NAME = "radlength-case.json"


@dataclass(frozen=True, slots=True)
class Checked:
    """One file and what was found.

    Parameters
    ----------
    path
        From the folder that was named.
    kind
        ``"record"`` or ``"case"``.
    verdict
        ``"agrees"``; ``"differs"``: sound, but a number or a file is another one; ``"broken"``: not to be trusted.
    words
        What was found, one sentence each.
    status
        What it says of confirmation.
    """

    path: str
    kind: str
    verdict: str
    words: tuple[str, ...]
    status: str | None = None

    def as_dict(self) -> dict[str, Any]:
        """Return it as plain data."""
        return {
            "path": self.path,
            "kind": self.kind,
            "verdict": self.verdict,
            "found": list(self.words),
            "status": self.status,
        }


def check_tree(folder: Path, records: Path | None) -> tuple[Checked, ...]:
    """Return what was found in a folder and below it, in the order of the paths.

    Parameters
    ----------
    folder
        Where images and cases lie.
    records
        Where the records lie, if not beside their images.

    Raises
    ------
    RecordError
        No record and no case is there.
    """
    found = tuple(_checked(folder, records or folder))
    if not found:
        raise RecordError(
            "no record and no case is in this folder or below it",
            "a folder with marked images",
            "name an image, or another folder",
            code="check-nothing",
            subject=str(folder),
        )
    return found


def _checked(folder: Path, records: Path) -> Iterator[Checked]:
    for path in sorted({*folder.rglob(CASE_NAME), *records.rglob(f"*{RECORD}")}):
        if path.name == CASE_NAME:
            yield _case(folder, path)
        elif not path.name.startswith("."):
            yield _record(folder, records, path)


def _record(folder: Path, records: Path, path: Path) -> Checked:
    from radlength.cli.records import open_marked
    from radlength.record import check_binding
    from radlength.record.compare import compare_record

    relative = path.relative_to(records)
    image = folder / relative.with_name(relative.name.removesuffix(RECORD))
    name = relative.as_posix()
    try:
        if not image.is_file():
            lost = "its image is not there: bring it back"
            if records == folder:
                lost += "; of records that lie apart from their images name the folder with --records"
            return Checked(name, "record", "broken", (lost,))
        record, radiograph = open_marked(image, path.parent)
        check_binding(record, radiograph)
    except RadlengthError as exc:
        return Checked(name, "record", "broken", (str(exc),))
    try:
        rows = compare_record(record, radiograph)
    except RadlengthError as exc:  # sound, and not measurable: as yet, or not any more
        verdict = "differs" if record.estimates else "agrees"
        return Checked(name, "record", verdict, (f"cannot be measured: {exc}",), record.status)
    apart = [row for row in rows if row["verdict"] not in ("agrees", "not estimated yet")]
    words = (
        *(f"{row['canal']}: {row['verdict']}" for row in rows if row["verdict"] != "agrees"),
        *(f"{row['canal']}: not confirmed: {row['not_confirmed']}" for row in rows if "not_confirmed" in row),
    )
    return Checked(name, "record", "differs" if apart else "agrees", words, record.status)


def _case(folder: Path, path: Path) -> Checked:
    from radlength.cli.case_said import with_commands
    from radlength.record.case_files import case_file_findings
    from radlength.record.case_findings import case_findings
    from radlength.record.case_state import canal_state
    from radlength.record.case_store import load_case

    name = path.relative_to(folder).as_posix()
    try:
        case = load_case(path)
        wrong = case_file_findings(case, path.parent)
        states = [canal_state(case, canal.label) for canal in case.canals]
    except RadlengthError as exc:
        return Checked(name, "case", "broken", (str(exc),))
    doubts = [
        *wrong,
        *case_findings(case),
        *(finding for state in states for finding in state.findings if finding.code.startswith("decision-")),
    ]
    words = tuple(
        f"{finding.severity}: {finding}"
        for finding in with_commands(doubts, case, path.parent)
        if finding.severity != "note"
    )
    serious = any(finding.severity == "serious" for finding in wrong)
    verdict = "broken" if serious else "differs" if words else "agrees"
    return Checked(name, "case", verdict, words, case.status)


def tell_tree(out: Console, found: tuple[Checked, ...]) -> None:
    """Print a line a file, what was found below it, and how many of each verdict there are."""
    from rich.text import Text

    from radlength.cli.talk import one_line

    styles = {"agrees": "green", "differs": "yellow", "broken": "bold red"}
    for one in found:
        status = f"  {one.status}" if one.status else ""
        out.print(Text.assemble((one.verdict, styles[one.verdict]), f"  {one_line(one.path)}{status}"))
        for words in one.words:
            out.print(Text(f"    {one_line(words)}"))
    counts = ", ".join(f"{sum(one.verdict == verdict for one in found)} {verdict}" for verdict in styles)
    out.print(f"{counted(len(found), 'file')}: {counts}")
