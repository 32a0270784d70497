"""What the commands of a case say when they have written, and what stands below their help."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from radlength.clean import typed
from radlength.cli.talk import console, one_line, print_caution, print_findings, print_json
from radlength.trade.cautions import CAUTION

if TYPE_CHECKING:
    from pathlib import Path

    from radlength.finding import Finding
    from radlength.record.case import Case
    from radlength.record.case_models import ImageAdded


def told(example: str) -> str:
    """Return what stands below a command's help."""
    return f"Example:  {example}\n\n{CAUTION}"


HELP = {
    "case-no-image": "radlength case add image --help",
    "case-no-length": "radlength case add length --help",
}
AGAIN = ("case-image-edited", "case-record-changed")


def with_commands(findings: Sequence[Finding], case: Case, folder: Path) -> list[Finding]:
    """Return findings, each with the command that removes it where there is one.

    A finding itself names none: a window shows it too.
    """
    images = {image.path: add_again(folder, image) for image in case.images}
    commands = (
        images.get(one.subject or "") if one.code in AGAIN else HELP.get(one.code) for one in findings
    )
    return [
        replace(one, remedy=f"{one.remedy.removesuffix('.')}: {command}") if command else one
        for one, command in zip(findings, commands, strict=True)
    ]


def add_again(folder: Path, image: ImageAdded) -> str:
    """Return the command that adds an image of a case again, with all that was said of it."""
    label = f" --label {typed(image.label)}" if image.label else ""
    return (
        f"radlength case add image {typed(folder)} {typed(image.path)} --stage {typed(image.stage)}{label} "
        f"--taken {image.taken} --view {typed(image.view)}"
    )


def say_saved(case: Case, path: Path, what: str, *, as_json: bool, findings: Sequence[Finding] = ()) -> None:
    """Say what was added, with the status of the case and the doubts about it."""
    if as_json:
        number = len(case.events)
        last = case.events[-1].model_dump(mode="json", exclude_none=True) if case.events else None
        told = [finding.as_dict() for finding in findings]
        print_json(
            {"case": str(path), "status": case.status, "number": number, "event": last, "findings": told}
        )
        return
    out = console()
    out.print(one_line(f"{path.parent.name or path.parent}: {what}"))
    out.print(f"The case: {case.status}")
    print_findings(out, findings)
    print_caution(out)
