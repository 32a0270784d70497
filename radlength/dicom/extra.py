"""Libraries of the extras ``dicom`` and ``archive``: loaded when they are needed, and named where they are missing."""

from __future__ import annotations

from importlib import import_module
from types import ModuleType
from typing import Literal

from radlength.dicom.errors import DicomError

_FOR = {"dicom": "writing DICOM documents", "archive": "an archive"}


def extra_module(name: str, extra: Literal["dicom", "archive"] = "dicom") -> ModuleType:
    """Return a module of an extra.

    Raises
    ------
    DicomError
        It is not installed, with the command that installs it.

    Examples
    --------
    >>> extra_module("json").__name__
    'json'
    """
    try:
        return import_module(name)
    except ImportError as exc:
        raise DicomError(
            f"{_FOR[extra]} needs {name.partition('.')[0]}, which is not installed",
            remedy=f'pip install "radlength[{extra}]"',
            code="dicom-extra",
        ) from exc
