"""What the commands of a case say when they have written, and what stands below their help."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from radlength.cli.talk import console, one_line, print_caution, print_findings, print_json
from radlength.trade.cautions import CAUTION

if TYPE_CHECKING:
    from pathlib import Path

    from radlength.finding import Finding
    from radlength.record.case import Case


def told(example: str) -> str:
    """Return what stands below a command's help."""
    return f"Example:  {example}\n\n{CAUTION}"


COMMANDS = {
    "case-no-image": "radlength case add image --help",
    "case-no-length": "radlength case add length --help",
    "case-image-edited": "radlength case add image --help",
    "case-record-changed": "radlength case add image --help",
}
"""The command that does what a finding of a case asks for. A finding itself names none: a window shows it too."""


def with_commands(findings: Iterable[Finding]) -> list[Finding]:
    """Return findings, each with the command that removes it where there is one."""
    return [
        replace(one, remedy=f"{one.remedy.removesuffix('.')}: {COMMANDS[one.code]}")
        if one.code in COMMANDS
        else one
        for one in findings
    ]


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
