"""``radlength shape curvature``: how much a marked canal bends, by every usual method."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from radlength.cli.options import Canals, Debug, ImageArgument, Json, Records, Strict
from radlength.cli.outputs import image_and_record, refuse_endings, refuse_replacing, write_whole
from radlength.cli.shape_given import limited, one_canal
from radlength.cli.talk import console, exit_for, print_caution, print_json, said_plainly, waiting

EXAMPLE = 'radlength shape curvature tooth.png --canal MB --from-mm 8 --rule "Schneider 1971"'


def curvature(
    image: ImageArgument,
    from_mm: Annotated[
        float, typer.Option("--from-mm", help="Where the canal begins: mm from the reference point along it.")
    ] = 0.0,
    step: Annotated[float, typer.Option(help="Step of the profile in mm.")] = 0.5,
    rule: Annotated[
        str | None, typer.Option(help="Classes: 'Schneider 1971' or 'moderate from 10, severe from 26'.")
    ] = None,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the draws behind the intervals.")] = 0,
    plot: Annotated[Path | None, typer.Option(help="Where to write the profile as a plot, PNG.")] = None,
    csv: Annotated[Path | None, typer.Option("--csv", help="Where to write the profile.")] = None,
    html: Annotated[Path | None, typer.Option(help="Pictures, table and findings as one HTML page.")] = None,
    canal: Canals = None,
    strict: Strict = False,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Measure the bend of a canal in the plane of the image: Schneider, Weine, Pruett, access angle, profile."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.report.words import status_words
        from radlength.shape.curvature import measure_curvature
        from radlength.trade import curvature_rule

        limited("--step", step, 0.05, 5.0, "mm")
        chosen = curvature_rule(rule) if rule else None
        record, radiograph, estimate = one_canal(image, records, canal)
        outputs = {"plot": plot, "table": csv, "page": html}
        refuse_replacing(outputs, image_and_record(image, records))
        refuse_endings(outputs)
        with waiting("drawing the marks again"):
            found = measure_curvature(
                estimate.canal,
                estimate.reference,
                radiograph=radiograph,
                marking=estimate.marking,
                from_mm=from_mm,
                step_mm=step,
                rule=chosen,
                seed=seed,
            )
        written = []
        status = status_words(record)
        if plot:
            from radlength.report import write_png
            from radlength.report.shape_plots import curvature_plot

            written.append(write_png(plot, curvature_plot(found, status=status)))
        if csv:
            from radlength.report.shape_tables import curvature_csv

            written.append(write_whole(csv, curvature_csv(found), bom=True))
        if html:
            from radlength.report.shape_page import shape_page
            from radlength.report.shape_plots import curvature_plot
            from radlength.report.shape_tables import curvature_csv

            pictures = [("curvature along the canal", curvature_plot(found, status=status))]
            page = shape_page(
                f"{found.label}: curvature", pictures, curvature_csv(found), found.findings, status=status
            )
            written.append(write_whole(html, page))
        if as_json:
            said = {"image": image.name, "status": record.status, "invented": record.invented}
            print_json({**said, **found.as_dict(), "written": [str(path) for path in written]})
        else:
            from radlength.cli.shape_tables import print_curvature

            out = console()
            print_curvature(out, found, status=status)
            for path in written:
                out.print(f"written: {path}", soft_wrap=True)
            print_caution(out)
        exit_for(found.findings, strict=strict)
