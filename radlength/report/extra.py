"""Libraries of the ``report`` extra: loaded when a page is made, and named where they are missing."""

from __future__ import annotations

from importlib import import_module
from types import ModuleType

from radlength.errors import ReportError


def extra_module(name: str) -> ModuleType:
    """Return a module of the ``report`` extra.

    Raises
    ------
    ReportError
        It is not installed, with the command that installs it.
    """
    try:
        return import_module(name)
    except ImportError as exc:
        raise ReportError(
            f"a page needs {name.partition('.')[0]}, which is not installed",
            remedy='pip install "radlength[report]"',
            code="report-extra",
        ) from exc
