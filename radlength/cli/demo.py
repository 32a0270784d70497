"""``radlength demo``: two bundled images measured from the marks that come with them."""

from __future__ import annotations

import csv
import shutil
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.cli.options import Debug, Json
from radlength.cli.talk import console, print_caution, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.length import Estimate
    from radlength.record import Record

EXAMPLE = "radlength demo --out my-demo"
IMAGES = ("invented-premolar.png", "tooth036-projection.png")
TOLD = {
    "invented-premolar.png": "an invented case: a curved canal with an instrument of known length in it",
    "tooth036-projection.png": "a real extracted tooth: projection of a micro-CT scan with its own 1 mm bar",
}


def demo(
    out: Annotated[Path, typer.Option(help="Folder for images, records, pictures and table.")] = Path(
        "radlength-demo"
    ),
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Measure two bundled images and write record, picture and table. Needs no window.

    The marks are copied beside the images; edit one there and run the demo again to see the number follow.
    """
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.errors import ReportError

        if out.exists() and not out.is_dir():
            raise ReportError(
                "the demo folder is a file",
                remedy="choose another with --out",
                code="demo-folder",
                subject=str(out),
            )
        out.mkdir(parents=True, exist_ok=True)
        done = [(record, found) for name in IMAGES for record, found in _measure(out, name)]
        table = _write_table(out / "lengths.csv", done)
        if as_json:
            print_json(
                {"folder": str(out), "table": table.name, "estimates": [_json(*item) for item in done]}
            )
        else:
            _tell(out, done)


def _measure(out: Path, name: str) -> list[tuple[Record, Estimate]]:
    """Copy an image and its marks unless they are there, measure, write record and picture."""
    from radlength.cli.marks_file import record_from_marks
    from radlength.imaging import read_radiograph
    from radlength.record import load_record, measure_record, record_path, save_record, stated_radiograph
    from radlength.report import annotated_picture, status_words, write_png

    marks = f"{Path(name).stem}.marks.json"
    for file in (name, marks):
        if not (out / file).exists():
            with resources.as_file(resources.files("radlength").joinpath("demo", file)) as source:
                shutil.copyfile(source, out / file)
    radiograph = read_radiograph(out / name)
    before = load_record(out / name) if record_path(out / name).exists() else None
    record = record_from_marks(out / marks, radiograph, record=before)
    measured = measure_record(record, radiograph)
    for entry, found in measured:
        record = record.with_estimate(entry.id, found)
    save_record(record, out / name)
    shown = stated_radiograph(record, radiograph)
    estimates = [found for _, found in measured]
    picture = annotated_picture(shown, estimates, status=status_words(record))
    write_png(out / f"{Path(name).stem}-marked.png", picture)
    return [(record, found) for found in estimates]


def _json(record: Record, found: Estimate) -> dict[str, Any]:
    return {"image": record.image.name, "invented": record.invented, **found.as_dict()}


def _write_table(path: Path, done: list[tuple[Record, Estimate]]) -> Path:
    from radlength.trade import CAUTION

    lengths = ("value_mm", "low_mm", "high_mm")
    header = ["image", "tooth", "canal"]
    header += [f"{what}_{part}" for what in ("canal_length", "working_length") for part in lengths]
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow([*header, "terminus", "method", "findings", "status", "caution"])
        for record, found in done:
            row: list[object] = [record.image.name, found.canal.tooth, found.canal.name]
            for quantity in (found.canal_length, found.working_length):
                row += [f"{getattr(quantity, part):.3f}" if quantity else "" for part in lengths]
            terminus = found.terminus.words if found.terminus else ""
            codes = " ".join(finding.code for finding in found.findings)
            writer.writerow([*row, terminus, found.method, codes, record.status, CAUTION])
    return path


def _tell(out: Path, done: list[tuple[Record, Estimate]]) -> None:
    from radlength.cli.tables import print_estimate
    from radlength.report import status_words

    text = console()
    for record, found in done:
        text.print(f"\n[bold]{record.image.name}[/]: {TOLD[record.image.name]}")
        print_estimate(text, found, direction="down", status=status_words(record))
    text.print(f"\nWritten into {out}/:", soft_wrap=True)
    for name in IMAGES:
        stem = Path(name).stem
        text.print(
            f"  look at {stem}-marked.png; record {name}.radlength.json; marks {stem}.marks.json",
            soft_wrap=True,
        )
    text.print("  lengths.csv: the table")
    text.print(
        "\nNext: edit a mark in a .marks.json file and run the demo again: number, interval and picture follow."
    )
    text.print(f"      radlength check {out}/{IMAGES[0]}", soft_wrap=True)
    text.print(f"      radlength estimate {out}/{IMAGES[0]} --monte-carlo", soft_wrap=True)
    text.print(
        f'      radlength view {out}/{IMAGES[0]}      (window: pip install "radlength\\[napari]")',
        soft_wrap=True,
    )
    print_caution(text)
