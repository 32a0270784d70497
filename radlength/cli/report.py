"""``radlength report``: the annotated picture, pages and tables of a marked image, and a copy to give away."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.clean import typed
from radlength.cli.options import Debug, ImageArgument, Json, Records, Universal
from radlength.cli.outputs import image_and_record, refuse_endings, refuse_replacing
from radlength.cli.records import open_marked
from radlength.cli.talk import console, print_caution, print_json, said_plainly
from radlength.report.written import write_report

if TYPE_CHECKING:
    from radlength.imaging import Radiograph
    from radlength.record import Record
    from radlength.report import Page, Words

EXAMPLE = "radlength report tooth.png --png tooth-marked.png --pdf tooth.pdf --html tooth.html"

Out = Path | None


def report(
    image: ImageArgument,
    png: Annotated[Out, typer.Option(help="Where to write the annotated picture.")] = None,
    pdf: Annotated[Out, typer.Option(help="One A4 page a tooth.")] = None,
    html: Annotated[Out, typer.Option(help="One file that opens in any browser.")] = None,
    csv: Annotated[Out, typer.Option("--csv", help="Lengths, one line a canal.")] = None,
    json_file: Annotated[Out, typer.Option("--json-file", help="Estimates whole, as JSON.")] = None,
    geojson: Annotated[Out, typer.Option(help="Marks as lines, in pixels.")] = None,
    share: Annotated[
        Out, typer.Option(metavar="DIR", help="A copy of image and marks without identifying facts.")
    ] = None,
    patient: Annotated[str, typer.Option(help="Printed as typed on PDF and HTML. Nothing by default.")] = "",
    quality: Annotated[bool, typer.Option("--quality", help="Also show computed image quality.")] = False,
    font: Annotated[Out, typer.Option(help="TrueType font for signs the PDF's own lacks.")] = None,
    words: Annotated[Out, typer.Option(help="Words in another language, a gettext .mo file.")] = None,
    language: Annotated[str, typer.Option(help="Code of that language.")] = "en",
    universal: Universal = False,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Write marks, lengths and the caution as picture, page or table, or a copy to give away."""
    wanted = {"picture": png, "pdf": pdf, "html": html, "csv": csv, "json": json_file, "geojson": geojson}
    places = {kind: place for kind, place in wanted.items() if place is not None}
    if not places and share is None:
        message = "say what to write: --png, --pdf, --html, --csv, --json-file, --geojson or --share"
        raise typer.BadParameter(message)
    with said_plainly(as_json=as_json, debug=debug):
        if image.is_dir():
            raise _of_a_folder(image)
        read = [(file, name) for file, name in ((font, "font"), (words, "words")) if file is not None]
        refuse_replacing(places, (*image_and_record(image, records), *read))
        refuse_endings(places)
        record, radiograph = open_marked(image, records)
        told: dict[str, Any] = {"status": record.status}
        if png is not None:
            told |= _picture(png, record, radiograph)
            del places["picture"]
        if places:
            from radlength.report import Words, pages, read_words

            spoken = read_words(words, language, universal=universal) if words else Words(universal=universal)
            shown = _quality(record, radiograph) if quality else None
            made = pages(record, radiograph, words=spoken, patient=patient, quality=shown)
            told |= _files(places, made, spoken, font)
        if share is not None:
            told |= _share(share, record, radiograph)
        _say(told, as_json=as_json)


def _of_a_folder(folder: Path) -> Exception:
    from radlength.errors import ReportError

    return ReportError(
        "a folder, not an image",
        "one marked image",
        f"for the pages of a case: radlength case report {typed(folder)} --html case.html",
        code="report-folder",
        subject=folder.name,
    )


def _picture(png: Path, record: Record, radiograph: Radiograph) -> dict[str, Any]:
    from radlength.report import write_png
    from radlength.report.record_picture import record_picture

    picture, unmeasured = record_picture(record, radiograph)
    write_png(png, picture)
    missing = [{"canal": label, "why": why} for label, why in unmeasured]
    return {
        "picture": str(png),
        "rows": picture.shape[0],
        "columns": picture.shape[1],
        "not_measured": missing,
    }


def _quality(record: Record, radiograph: Radiograph) -> Any:
    from radlength.record.quality import image_quality

    return image_quality(radiograph, record)


def _files(
    places: dict[str, Path], made: tuple[Page, ...], words: Words, font: Path | None
) -> dict[str, Any]:
    """Write pages and tables, and return where each is."""
    for kind, place in places.items():
        write_report(place, _content(kind, made, words, font))
    return {kind: str(place) for kind, place in places.items()}


def _content(kind: str, made: tuple[Page, ...], words: Words, font: Path | None) -> bytes:
    from radlength.report import html_report, pdf_report, table_csv, table_geojson, table_json

    if kind == "pdf":
        return pdf_report(made, words, font=font)
    if kind == "html":
        return html_report(made, words).encode()
    table = {"csv": table_csv, "json": table_json, "geojson": table_geojson}[kind]
    return table(made).encode("utf-8-sig" if kind == "csv" else "utf-8")


def _share(folder: Path, record: Record, radiograph: Radiograph) -> dict[str, Any]:
    from radlength.report import share_copy

    shared = share_copy(record, radiograph, folder)
    return {"shared": str(folder), "files": list(shared.files), "reminder": shared.reminder}


def _say(told: dict[str, Any], *, as_json: bool) -> None:
    if as_json:
        print_json(told)
        return
    out = console()
    for kind in ("picture", "pdf", "html", "csv", "json", "geojson", "shared"):
        if kind in told:
            out.print(f"{kind} written: {told[kind]}", soft_wrap=True)
    for missing in told.get("not_measured", ()):
        out.print(f"not measured, not drawn: {missing['canal']}: {missing['why']}", soft_wrap=True)
    if "reminder" in told:
        out.print(told["reminder"])
    print_caution(out)
