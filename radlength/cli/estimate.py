"""``radlength estimate``: measure the canals of a marked image."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from radlength.cli.options import Canals, Debug, ImageArgument, Json, Records, Rounding, Strict
from radlength.cli.records import open_marked
from radlength.cli.talk import (
    console,
    exit_for,
    print_caution,
    print_findings,
    print_json,
    said_plainly,
    waiting,
)
from radlength.errors import RadlengthError

if TYPE_CHECKING:
    from radlength.imaging import Radiograph
    from radlength.length import Estimate
    from radlength.quantity import Direction
    from radlength.record import CanalEntry, Record

EXAMPLE = "radlength estimate tooth.png --canal MB --round down"


def estimate(
    image: ImageArgument,
    canal: Canals = None,
    rounding: Annotated[
        Rounding | None, typer.Option("--round", help="Also the stop setting, to 0.5 mm in that direction.")
    ] = None,
    monte_carlo: Annotated[
        bool, typer.Option("--monte-carlo", help="Check the interval by Monte Carlo.")
    ] = False,
    seed: Annotated[int, typer.Option(help="Seed of the Monte Carlo.")] = 0,
    save: Annotated[bool, typer.Option("--save/--no-save", help="Keep the result in the record.")] = True,
    strict: Strict = False,
    records: Records = None,
    as_json: Json = False,
    debug: Debug = False,
) -> None:
    """Measure canal length and working length along the curve, with their interval."""
    with said_plainly(as_json=as_json, debug=debug):
        from radlength.record import save_record

        direction: Direction | None = rounding.value if rounding else None
        record, radiograph = open_marked(image, records)
        measured = _measure(record, radiograph, canal)
        if save:
            for entry, found in measured:
                record = record.with_estimate(entry.id, found)
            save_record(record, image, records_dir=records)
        extra = [
            _monte_carlo(found, record, radiograph, seed) if monte_carlo else None for _, found in measured
        ]
        if as_json:
            _as_json(image, record, radiograph, measured, extra, direction)
        else:
            _as_text(record, radiograph, measured, extra, direction)
        exit_for([f for _, found in measured for f in found.findings], strict=strict)


def _measure(record: Record, radiograph: Radiograph, canal: str | None) -> list[tuple[CanalEntry, Estimate]]:
    from radlength.errors import RecordError
    from radlength.record import measure_entry

    entries = [record.entry(canal)] if canal is not None else list(record.canals)
    if not entries:
        raise RecordError(
            "no canal is marked",
            remedy="mark one: radlength mark --help",
            code="canal-none",
            subject=radiograph.name,
        )
    measured = []
    for entry in entries:
        try:
            measured.append((entry, measure_entry(record, entry, radiograph)))
        except RadlengthError as exc:
            if len(entries) == 1:
                raise
            raise _of_one(exc, entry, entries) from exc
    return measured


def _of_one(exc: RadlengthError, entry: CanalEntry, entries: list[CanalEntry]) -> RadlengthError:
    """Return why one of several canals cannot be measured, with its name and the way to the others."""
    others = ", ".join(one.canal.label for one in entries if one is not entry)
    remedy = f"{exc.remedy}, or measure the others one by one with --canal: {others}".removeprefix(", or ")
    wrong = f"{entry.canal.label}: {exc.wrong}"
    return type(exc)(wrong, exc.allowed, remedy, code=exc.code, subject=exc.subject)


def _monte_carlo(found: Estimate, record: Record, radiograph: Radiograph, seed: int) -> dict[str, Any]:
    from radlength.length.simulate import simulate_length
    from radlength.record import stated_radiograph

    with waiting("Monte Carlo"):
        result = simulate_length(found, radiograph=stated_radiograph(record, radiograph), seed=seed)
    return {
        "mean_mm": result.mean,
        "u_mm": result.u,
        "low_mm": result.low,
        "high_mm": result.high,
        "trials": result.trials,
        "settled": result.settled,
        "seed": seed,
    }


def _as_json(
    image: Path,
    record: Record,
    radiograph: Radiograph,
    measured: list[tuple[CanalEntry, Estimate]],
    extra: list[dict[str, Any] | None],
    direction: Direction | None,
) -> None:
    from radlength.length import narrower

    results = []
    for (_, found), monte_carlo in zip(measured, extra, strict=True):
        data = found.as_dict()
        data["status"] = record.status
        data["would_narrow"] = [way.as_dict() for way in narrower(found)]
        if direction:
            data["stop_setting_mm"] = found.stop_setting_mm(direction=direction)
            data["rounding"] = direction
        if monte_carlo:
            data["monte_carlo"] = monte_carlo
        results.append(data)
    findings = [finding.as_dict() for finding in radiograph.findings]
    print_json(
        {
            "image": image.name,
            "status": record.status,
            "invented": record.invented,
            "findings": findings,
            "estimates": results,
        }
    )


def _as_text(
    record: Record,
    radiograph: Radiograph,
    measured: list[tuple[CanalEntry, Estimate]],
    extra: list[dict[str, Any] | None],
    direction: Direction | None,
) -> None:
    from radlength.cli.tables import print_estimate
    from radlength.report.words import status_words

    out = console()
    print_findings(out, radiograph.findings)
    for (_, found), monte_carlo in zip(measured, extra, strict=True):
        print_estimate(out, found, direction=direction, status=status_words(record))
        if monte_carlo:
            out.print()
            out.print(
                f"Monte Carlo, {monte_carlo['trials']} draws through the clicks: canal length, 95 % interval "
                f"{monte_carlo['low_mm']:.2f}–{monte_carlo['high_mm']:.2f} mm, u {monte_carlo['u_mm']:.2f} mm"
            )
    print_caution(out)
