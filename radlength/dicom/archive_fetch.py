"""Instances from an archive into a folder: every file whole or not at all, none replaced."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from pathlib import Path

from radlength.clean import refused
from radlength.dicom.archive_model import PARTIAL, Archive, check_uid
from radlength.dicom.archive_send import same_content
from radlength.dicom.errors import ArchiveError
from radlength.imaging.dicom_file import open_dicom
from radlength.whole_file import is_empty, put_whole


@dataclass(frozen=True, slots=True)
class Fetched:
    """Files of what was asked for: new ones, and those that were there already as they are in the archive.

    What did not come is said in words; nothing where everything came.
    """

    written: tuple[Path, ...]
    there: tuple[Path, ...]
    missing: str = ""


def fetch_files(
    archive: Archive, folder: Path, *, study: str, series: str = "", instance: str = ""
) -> Fetched:
    """Fetch a study, a series or one instance into a folder.

    Raises
    ------
    ArchiveError
        The archive has nothing of it, sends something else, or another file of that name is there.
    """
    for uid in (study, *filter(None, (series, instance))):
        check_uid(uid)
    written: list[Path] = []
    there: list[Path] = []
    missing = ""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for uid, data in archive.fetch(study, series, instance):
            path = folder / f"{check_uid(uid)}.dcm"
            _check(data, uid, study)
            (there if _keep(path, data) else written).append(path)
    except ArchiveError as exc:
        if exc.code != PARTIAL or not (written or there):
            raise
        missing = str(exc)
    except OSError as exc:
        raise ArchiveError(
            f"the files cannot be written: {refused(exc)}", code="archive-folder", subject=folder.name
        ) from exc
    if not (written or there):
        raise ArchiveError(
            "the archive has nothing of it",
            remedy="look with: radlength dicom find --help",
            code="archive-nothing",
        )
    return Fetched(tuple(written), tuple(there), missing)


def _check(data: bytes, uid: str, study: str) -> None:
    """Refuse what is not the instance that was asked for."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            dataset, _ = open_dicom(data, uid)
            right = (str(dataset.SOPInstanceUID), str(dataset.StudyInstanceUID)) == (uid, study)
    except Exception:  # noqa: BLE001 - what cannot be read is not what was asked for
        right = False
    if not right:
        raise ArchiveError(
            "the archive sent something else than was asked for", code="archive-answer", subject=uid
        )


def _keep(path: Path, data: bytes) -> bool:
    """Write a file; return whether it was there already."""
    if path.exists() and not is_empty(path):
        if same_content(path.read_bytes(), data):
            return True
        raise ArchiveError(
            "another file of that name is there",
            remedy="choose another folder; it was left untouched",
            code="archive-in-the-way",
            subject=path.name,
        )
    put_whole(path, data, flush=True)
    return False
