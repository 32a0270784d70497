"""``radlength batch``: one job on every image of a tree."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from enum import StrEnum
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from radlength.clean import counted
from radlength.cli.options import Debug, Json
from radlength.cli.outputs import refuse_file_name
from radlength.cli.talk import EXIT_FINDING, console, one_line, print_caution, print_json, said_plainly

if TYPE_CHECKING:
    from radlength.batch import Batch
    from radlength.batch.run import Runner

EXAMPLE = "radlength batch clinic-2026 --job estimate --out results"
SHOWN = 20
"""Images with a problem that are named on the terminal; all are in the table."""


class Job(StrEnum):
    """What to do with every image."""

    estimate = "estimate"
    check = "check"
    quality = "quality"
    report = "report"
    dicom = "dicom"


def batch(
    out: Annotated[
        Path, typer.Option(metavar="DIR", help="Tables, files, and what a killed batch resumes from.")
    ],
    folder: Annotated[
        Path | None, typer.Argument(metavar="DIR", help="A tree of images with their records.")
    ] = None,
    job: Annotated[Job | None, typer.Option(help="What to do with every image.")] = None,
    validation: Annotated[
        int | None,
        typer.Option(
            metavar="SCENES", min=1, help="Instead: the validation study, so many simulated scenes a stratum."
        ),
    ] = None,
    seed: Annotated[int, typer.Option(min=0, help="Of the study; state it with its figures.")] = 0,
    workers: Annotated[int, typer.Option(min=1, help="Processes on this machine.", show_default="cores")] = (
        os.cpu_count() or 1
    ),
    scheduler: Annotated[
        str | None,
        typer.Option(
            metavar="URL",
            envvar="DASK_SCHEDULER_ADDRESS",
            help="An existing Dask scheduler, tls://host:port.",
        ),
    ] = None,
    scheduler_file: Annotated[
        Path | None, typer.Option(metavar="FILE", help="The file a Dask scheduler writes with its address.")
    ] = None,
    plain: Annotated[
        bool, typer.Option("--plain", help="Allow a scheduler without TLS on another machine.")
    ] = False,
    send_images: Annotated[
        bool, typer.Option("--send-images", help="Send bytes, where workers cannot see the folder.")
    ] = False,
    parquet: Annotated[
        bool, typer.Option("--parquet", help="Also write the table as Apache Parquet.")
    ] = False,
    records: Annotated[
        Path | None, typer.Option(metavar="DIR", help="A tree of records of the same shape.")
    ] = None,
    strict: Annotated[
        bool, typer.Option("--strict", help="Exit with 3 where an image has a problem.")
    ] = False,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Do one job on every image of a tree; a bad image is one line that says why.

    Records and images are never changed; the documents of dicom are written beside them. Links are not followed; each
    is a line that says so. Run it again after a kill: what is done is not done again.
    """
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.batch import run_batch

        _no_contradiction(
            {"--scheduler": scheduler, "--scheduler-file": scheduler_file},
            "name the scheduler once (DASK_SCHEDULER_ADDRESS stands for --scheduler)",
        )
        if validation is not None:
            _no_contradiction(
                {
                    "--validation": validation,
                    "DIR": folder,
                    "--job": job,
                    "--records": records,
                    "--send-images": send_images or None,
                    "--parquet": parquet or None,
                },
                "the study simulates its own images",
            )
        refuse_file_name(out, "tables")
        runner = _runner(workers, scheduler, scheduler_file, plain=plain)
        if validation is not None:
            _study(validation, seed, runner, out, as_json=as_json)
            return
        if folder is None or job is None:
            message = "say DIR and --job, or --validation SCENES"
            raise typer.BadParameter(message)
        with _progress("images") as tell:
            done = run_batch(
                folder,
                job.value,
                out,
                runner=runner,
                records_root=records,
                send_images=send_images,
                tell=tell,
            )
        if parquet:
            _parquet(done, out)
        _say(done, out, as_json=as_json)
        if strict and done.failed:
            raise typer.Exit(EXIT_FINDING)


def _no_contradiction(options: dict[str, object], why: str) -> None:
    """Refuse options that go together with none of the others: nothing that was typed is passed over."""
    given = [name for name, value in options.items() if value is not None]
    if len(given) > 1:
        message = f"{' and '.join((', '.join(given[:-1]), given[-1]))} do not go together: {why}"
        raise typer.BadParameter(message)


def _study(scenes: int, seed: int, runner: Runner, out: Path, *, as_json: bool) -> None:
    """Run the validation study and keep every estimate of it."""
    from dataclasses import asdict

    from radlength.batch import batch_csv, run_study, study_table
    from radlength.batch.run import written
    from radlength.whole_file import put_whole

    out.mkdir(parents=True, exist_ok=True)
    with _progress("blocks of scenes") as tell:
        rows = run_study(scenes, seed, runner, tell=tell)
    table = out / f"radlength-validation-{seed}.csv"
    with written(out):
        put_whole(
            table, batch_csv([{"image": "simulated", **asdict(row)} for row in rows]).encode("utf-8-sig")
        )
    lines = study_table(rows)
    if as_json:
        print_json({"seed": seed, "scenes": scenes, "simulated": True, "table": lines, "rows": str(table)})
        return
    for line in lines:
        typer.echo(line)
    typer.echo(f"seed {seed}, {scenes} simulated scenes a stratum; every estimate: {one_line(str(table))}")
    print_caution(console())


def _runner(workers: int, scheduler: str | None, scheduler_file: Path | None, *, plain: bool) -> Runner:
    from radlength.batch import on_processes, on_scheduler

    if scheduler is None and scheduler_file is None:
        return partial(on_processes, workers=workers)
    return partial(on_scheduler, address=scheduler, scheduler_file=scheduler_file, plain=plain)


def _parquet(done: Batch, out: Path) -> None:
    from radlength.batch import batch_parquet
    from radlength.batch.run import written
    from radlength.whole_file import put_whole

    with written(out):
        put_whole(out / f"radlength-batch-{done.job}.parquet", batch_parquet(done.rows))


@contextmanager
def _progress(what: str) -> Iterator[Callable[[int, int], None] | None]:
    """Show a bar on a terminal and nothing in a pipe."""
    from rich.console import Console

    told = Console(stderr=True, markup=False)
    if not told.is_terminal:
        yield None
        return
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    with Progress(
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
        console=told,
    ) as bar:
        line = bar.add_task(what, total=None)
        yield lambda done, total: bar.update(line, completed=done, total=total)


def _say(done: Batch, out: Path, *, as_json: bool) -> None:
    told = {"job": done.job, "images": done.images, "failed": done.failed, "resumed": done.resumed}
    table = out / f"radlength-batch-{done.job}.csv"
    if as_json:
        print_json({**told, "table": str(table), "rows": list(done.rows)})
        return
    said = console()
    bad = [str(row["problem"]) for row in done.rows if "problem" in row]
    for problem in bad[:SHOWN]:
        said.print(one_line(problem))
    if len(bad) > SHOWN:
        said.print(f"... and {len(bad) - SHOWN} more, in the table")
    again = f", {done.resumed} of them done before" if done.resumed else ""
    said.print(
        f"{counted(done.images, 'image')}{again}, {done.failed} with a problem. Table: {one_line(str(table))}"
    )
    print_caution(said)
