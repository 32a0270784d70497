"""``radlength dicom``: documents for an archive, reading them back, copies to give away, and the archive itself."""

from __future__ import annotations

import typer

from radlength.trade.cautions import CAUTION

EXAMPLE = "radlength dicom write tooth.dcm"


def commands() -> typer.Typer:
    """Return the group with its commands."""
    from radlength.cli import dicom_archive, dicom_copy, dicom_show, dicom_write

    group = typer.Typer(no_args_is_help=True, help="DICOM documents of lengths and marks, and an archive.")
    for module, name in ((dicom_write, "write"), (dicom_show, "show"), (dicom_copy, "deidentify")):
        group.command(name, epilog=told(module.EXAMPLE))(getattr(module, name))
    group.command("send", epilog=told(dicom_archive.SEND_EXAMPLE))(dicom_archive.send)
    group.command("find", epilog=told(dicom_archive.FIND_EXAMPLE))(dicom_archive.find)
    group.command("fetch", epilog=told(dicom_archive.FETCH_EXAMPLE))(dicom_archive.fetch)
    return group


def told(example: str) -> str:
    """Return what stands below a command's help."""
    return f"Example:  {example}\n\n{CAUTION}"
