"""``radlength demo``: two bundled images measured from the marks that come with them."""

from __future__ import annotations

import csv
import shutil
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

from radlength.clean import typed
from radlength.cli.options import Debug, Json
from radlength.cli.talk import console, print_caution, print_findings, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.finding import Finding
    from radlength.length import Estimate
    from radlength.record import Record

EXAMPLE = "radlength demo --out my-demo"
IMAGES = ("invented-premolar.png", "tooth036-projection.png")
TOLD = {
    "invented-premolar.png": "An invented case, simulated: a curved canal with an instrument of known length in it.",
    "tooth036-projection.png": "A real extracted tooth: projection of a micro-CT scan with its own 1 mm bar.",
}


class Measured(NamedTuple):
    """One canal of a bundled image."""

    record: Record
    estimate: Estimate
    doubts: tuple[Finding, ...]


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
        done = [measured for name in IMAGES for measured in _measure(out, name)]
        table = _write_table(out / "lengths.csv", done)
        if as_json:
            estimates = [_json(measured) for measured in done]
            print_json({"folder": str(out), "table": table.name, "estimates": estimates})
        else:
            _tell(out, done)


def _measure(out: Path, name: str) -> list[Measured]:
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
    return [Measured(record, found, radiograph.findings) for found in estimates]


def _json(measured: Measured) -> dict[str, Any]:
    record, found, doubts = measured
    return {
        "image": record.image.name,
        "invented": record.invented,
        "image_findings": [doubt.as_dict() for doubt in doubts],
        **found.as_dict(),
        "status": record.status,
    }


def _write_table(path: Path, done: list[Measured]) -> Path:
    from radlength.trade import CAUTION

    lengths = ("value_mm", "low_mm", "high_mm")
    header = ["image", "tooth", "canal"]
    header += [f"{what}_{part}" for what in ("canal_length", "working_length") for part in lengths]
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow([*header, "terminus", "method", "findings", "status", "caution"])
        for record, found, _ in done:
            row: list[object] = [record.image.name, found.canal.tooth, found.canal.name]
            for quantity in (found.canal_length, found.working_length):
                row += [f"{getattr(quantity, part):.3f}" if quantity else "" for part in lengths]
            terminus = found.terminus.words if found.terminus else ""
            codes = " ".join(finding.code for finding in found.findings)
            writer.writerow([*row, terminus, found.method, codes, record.status, CAUTION])
    return path


def _tell(out: Path, done: list[Measured]) -> None:
    from radlength.cli.tables import print_estimate, strong
    from radlength.report import status_words

    text = console()
    for record, found, doubts in done:
        text.print(strong(record.image.name))
        text.print(TOLD[record.image.name])
        print_estimate(text, found, direction="down", status=status_words(record), brief=True)
        print_findings(text, doubts)
        text.print()
    text.print(f"Written into {out}/:", soft_wrap=True)
    for name in IMAGES:
        stem = Path(name).stem
        text.print(f"  {stem}-marked.png   the picture to look at", soft_wrap=True)
        text.print(f"  {name}.radlength.json   the record", soft_wrap=True)
        text.print(f"  {stem}.marks.json   the marks", soft_wrap=True)
    text.print("  lengths.csv   the table")
    text.print("\nNext, change a mark in a .marks.json file and run the demo again, or:")
    shown = typed(out / IMAGES[0])
    for command in ("check", "estimate --monte-carlo", "view"):
        text.print(f"  radlength {command} {shown}", soft_wrap=True)
    text.print('  (view is a window: pip install "radlength[napari]")')
    print_caution(text)
