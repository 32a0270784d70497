"""``radlength case report``: a page a tooth, tables, and a copy of the case to give away."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.cli.case_options import CaseFolder
from radlength.cli.options import Debug, Json, Universal
from radlength.cli.outputs import refuse_endings
from radlength.cli.talk import console, print_caution, print_json, said_plainly
from radlength.report.written import write_report

if TYPE_CHECKING:
    from radlength.record import Case

EXAMPLE = "radlength case report tooth46 --pdf case.pdf --html case.html"

Out = Path | None


def report(
    folder: CaseFolder,
    pdf: Annotated[Out, typer.Option(help="One A4 page a tooth.")] = None,
    html: Annotated[Out, typer.Option(help="One file that opens in any browser.")] = None,
    csv: Annotated[Out, typer.Option("--csv", help="Lengths, one line each.")] = None,
    json_file: Annotated[Out, typer.Option("--json-file", help="Canals whole, as JSON.")] = None,
    share: Annotated[
        Out, typer.Option(metavar="DIR", help="A copy of the case without identifying facts.")
    ] = None,
    patient: Annotated[str, typer.Option(help="Printed as typed on PDF and HTML. Nothing by default.")] = "",
    font: Annotated[Out, typer.Option(help="TrueType font for signs the PDF's own lacks.")] = None,
    words: Annotated[Out, typer.Option(help="Words in another language, a gettext .mo file.")] = None,
    language: Annotated[str, typer.Option(help="Code of that language.")] = "en",
    universal: Universal = False,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Write a case as page or table: time line, canals, decision; or a copy to give away."""
    places = {"pdf": pdf, "html": html, "csv": csv, "json": json_file}
    wanted = {kind: place for kind, place in places.items() if place is not None}
    if not wanted and share is None:
        message = "say what to write: --pdf, --html, --csv, --json-file or --share"
        raise typer.BadParameter(message)
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.record.case_store import load_case
        from radlength.report import Words, read_words

        case = load_case(folder)
        spoken = read_words(words, language, universal=universal) if words else Words(universal=universal)
        _refuse_own_files(wanted, folder, case)
        refuse_endings(wanted)
        told: dict[str, Any] = {"status": case.status}
        for kind, place in wanted.items():
            write_report(place, _content(kind, case, folder, spoken, patient, font))
            told[kind] = str(place)
        if share is not None:
            from radlength.report import share_case

            shared = share_case(case, folder, share)
            told |= {"shared": str(share), "files": list(shared.files), "reminder": shared.reminder}
        _say(told, as_json=as_json)


def _refuse_own_files(wanted: dict[str, Path], folder: Path, case: Case) -> None:
    from radlength.errors import ReportError
    from radlength.record.case_store import case_path

    own = [case_path(folder)]
    own += [folder / path for image in case.images for path in (image.path, image.record_path) if path]
    for kind, place in wanted.items():
        if any(place.exists() and one.exists() and place.samefile(one) for one in own):
            raise ReportError(
                f"the {kind} would replace a file of the case",
                remedy="choose another name",
                code="report-is-case",
                subject=str(place),
            )


def _content(kind: str, case: Case, folder: Path, words: Any, patient: str, font: Path | None) -> bytes:
    from radlength.report import case_csv, case_html, case_json, case_pages, case_pdf

    if kind == "csv":
        return case_csv(case).encode("utf-8-sig")
    if kind == "json":
        return case_json(case).encode()
    made = case_pages(case, folder, words=words, patient=patient)
    return case_pdf(made, words, font=font) if kind == "pdf" else case_html(made, words).encode()


def _say(told: dict[str, Any], *, as_json: bool) -> None:
    if as_json:
        print_json(told)
        return
    out = console()
    for kind in ("pdf", "html", "csv", "json", "shared"):
        if kind in told:
            out.print(f"{kind} written: {told[kind]}", soft_wrap=True)
    if "reminder" in told:
        out.print(told["reminder"])
    print_caution(out)
