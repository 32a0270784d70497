"""``radlength report``: the annotated picture of a marked image."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from radlength.cli.options import Debug, ImageArgument, Json, Records
from radlength.cli.records import open_marked
from radlength.cli.talk import console, print_caution, print_json, said_plainly

EXAMPLE = "radlength report tooth.png --png tooth-marked.png"


def report(
    image: ImageArgument,
    png: Annotated[Path, typer.Option(help="Where to write the annotated picture.")],
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Draw the marks, lengths and the caution on a picture."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.errors import ReportError
        from radlength.record import measure_record, stated_radiograph
        from radlength.report import annotated_picture, status_words, write_png

        if png.exists() and image.exists() and png.samefile(image):
            raise ReportError(
                "the picture would replace the image",
                remedy="choose another name",
                code="picture-is-image",
                subject=str(png),
            )
        record, radiograph = open_marked(image, records)
        found = [estimate for _, estimate in measure_record(record, radiograph)]
        shown = stated_radiograph(record, radiograph)
        picture = annotated_picture(shown, found, status=status_words(record))
        write_png(png, picture)
        if as_json:
            print_json(
                {
                    "picture": str(png),
                    "status": record.status,
                    "rows": picture.shape[0],
                    "columns": picture.shape[1],
                }
            )
            return
        out = console()
        out.print(f"picture written: {png}", soft_wrap=True)
        print_caution(out)
