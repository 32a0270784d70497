"""``radlength shape preview``: what choices of size and taper would leave of a measured canal and its root."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.cli.options import Canals, Debug, ImageArgument, Json, Records, Strict
from radlength.cli.outputs import image_and_record, refuse_endings, refuse_replacing, write_whole
from radlength.cli.shape_given import named_paths, one_canal, read_text
from radlength.cli.talk import console, exit_for, print_caution, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.length import Estimate
    from radlength.record import Record
    from radlength.shape.preview import Preview
    from radlength.shape.steps import Rule, Step
    from radlength.trade import Instrument

EXAMPLE = 'radlength shape preview tooth.png --option 25/.06 --option "25/.06@2 + 30/.04" --threshold 1 --png shape.png'


def preview(
    image: ImageArgument,
    option: Annotated[
        list[str],
        typer.Option(
            metavar="TEXT",
            help="Instruments as size/taper joined by +, @ how many mm short: '25/.06@2 + 30/.04'. Repeat it.",
        ),
    ],
    table: Annotated[
        list[str] | None,
        typer.Option(metavar="NAME=FILE", help="A variable taper: CSV with mm,diameter_mm from the tip."),
    ] = None,
    before: Annotated[
        str | None, typer.Option(help="A round canal before, as 10/.02, for the volume that is cut.")
    ] = None,
    edge: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME:PATH",
            help="An edge of the root, 'mesial:row,column row,column ...'. Twice at most.",
        ),
    ] = None,
    threshold: Annotated[
        float | None, typer.Option(help="Flag projected thickness below this, in mm. Your own figure.")
    ] = None,
    up_to: Annotated[
        float | None, typer.Option(help="How far from the end of the working length, in mm.")
    ] = None,
    step: Annotated[float, typer.Option(help="Step of the table in mm.")] = 1.0,
    cone: Annotated[
        str | None, typer.Option(help="A cone as size/taper; without it the one that matches.")
    ] = None,
    needle: Annotated[
        str | None, typer.Option(help="A needle by its outer diameter in mm, or its gauge as 30G.")
    ] = None,
    steps: Annotated[
        Path | None, typer.Option(help="Your steps: CSV with step,instrument,set_length_mm,felt.")
    ] = None,
    rules: Annotated[Path | None, typer.Option(help="Your own rules: CSV with felt,then.")] = None,
    png: Annotated[
        Path | None, typer.Option(help="Where to write the picture, options side by side.")
    ] = None,
    plot: Annotated[
        Path | None, typer.Option(help="Where to write diameters and thickness as a plot.")
    ] = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="Where to write the table.")] = None,
    html: Annotated[Path | None, typer.Option(help="Pictures, table and findings as one HTML page.")] = None,
    canal: Canals = None,
    strict: Strict = False,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Lay prepared outlines along a measured canal: diameters, projected thickness left, cone, needle, steps.

    It shows and flags; it never says that enough is left: a projection overstates the true minimum.
    """
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.report.words import status_words
        from radlength.shape.preview import Wanted, make_preview

        record, radiograph, estimate = one_canal(image, records, canal)
        outputs = {"picture": png, "plot": plot, "table": csv, "page": html}
        given = [(path, name) for path, name in ((steps, "steps"), (rules, "rules")) if path is not None]
        refuse_replacing(outputs, (*image_and_record(image, records), *given, *_table_files(table or [])))
        refuse_endings(outputs)
        made = make_preview(
            estimate,
            Wanted(
                options=tuple(option),
                tables=_tables(table or []),
                before=before,
                edges_px=named_paths(edge or [], radiograph.shape, option="--edge"),
                threshold_mm=threshold,
                up_to_mm=up_to,
                step_mm=step,
                cone=cone,
                needle=needle,
                steps=_steps(steps),
                rules=_rules(rules),
            ),
            radiograph=radiograph,
        )
        written = _write(made, estimate, radiograph, status_words(record), png, plot, csv)
        if html:
            written.append(_page(html, made, estimate, radiograph, record))
        if as_json:
            said = {"image": image.name, "status": record.status, "invented": record.invented}
            print_json({**said, **made.as_dict(), "written": [str(path) for path in written]})
        else:
            from radlength.cli.shape_tables import print_preview

            out = console()
            print_preview(out, made, status=status_words(record))
            for path in written:
                out.print(f"written: {path}", soft_wrap=True)
            print_caution(out)
        exit_for(made.findings, strict=strict)


def _page(html: Path, made: Preview, estimate: Estimate, radiograph: Any, record: Record) -> Path:
    from radlength.report.shape_page import shape_page
    from radlength.report.shape_picture import preview_picture
    from radlength.report.shape_plots import preview_plot
    from radlength.report.shape_tables import preview_csv
    from radlength.report.words import status_words

    pictures = [
        (
            "prepared outlines on the image, options side by side",
            preview_picture(radiograph, estimate, made, status=status_words(record)),
        ),
        (
            "diameter and projected thickness over the distance from the end",
            preview_plot(made, status=status_words(record)),
        ),
    ]
    title = f"{made.canal_label}: preview of a preparation"
    page = shape_page(title, pictures, preview_csv(made), made.findings, status=status_words(record))
    return write_whole(html, page)


def _tables(words: list[str]) -> dict[str, Instrument]:
    from radlength.errors import TradeError
    from radlength.shape.options import read_table

    tables = {}
    for word in words:
        name, mark, file = word.partition("=")
        if not (mark and name.strip() and file.strip()):
            raise TradeError(
                f"{word!r} is no table", "--table NAME=FILE", "give both", code="instrument-table"
            )
        tables[name.strip()] = read_table(read_text(Path(file.strip())), name=name.strip())
    return tables


def _table_files(words: list[str]) -> list[tuple[Path, str]]:
    return [(Path(word.partition("=")[2].strip()), "table that is read") for word in words if "=" in word]


def _steps(path: Path | None) -> tuple[Step, ...]:
    from radlength.shape.steps import read_steps

    return read_steps(read_text(path), subject=path.name) if path else ()


def _rules(path: Path | None) -> tuple[Rule, ...]:
    from radlength.shape.steps import read_rules

    return read_rules(read_text(path), subject=path.name) if path else ()


def _write(
    made: Preview,
    estimate: Estimate,
    radiograph: Any,
    status: str,
    png: Path | None,
    plot: Path | None,
    csv: Path | None,
) -> list[Path]:
    from radlength.report.shape_picture import preview_picture
    from radlength.report.shape_plots import preview_plot
    from radlength.report.shape_tables import preview_csv

    written = []
    if png or plot:
        from radlength.report import write_png

        if png:
            written.append(write_png(png, preview_picture(radiograph, estimate, made, status=status)))
        if plot:
            written.append(write_png(plot, preview_plot(made, status=status)))
    if csv:
        written.append(write_whole(csv, preview_csv(made), bom=True))
    return written
