"""Sending until the archive has everything, or says why not: the same UIDs on every try, and a look afterwards."""

from __future__ import annotations

import contextlib
import time
import warnings
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from radlength.dicom.archive_model import Archive, Item, Outcome, read_items
from radlength.dicom.errors import ArchiveError
from radlength.imaging.dicom_file import open_dicom

Look = Literal["content", "listed", "no"]
"""After sending: fetch everything back and compare, ask whether it is listed, or believe the archive."""


@dataclass(frozen=True, slots=True)
class Sent:
    """What came of sending.

    Parameters
    ----------
    outcomes
        One for each file, in the order given.
    checked
        SOP Instance UIDs that were found in the archive afterwards as they were sent.
    look
        How that was checked.
    tries
        How often the archive was called.
    """

    outcomes: tuple[Outcome, ...]
    checked: frozenset[str]
    look: Look
    tries: int

    @property
    def stored(self) -> tuple[Outcome, ...]:
        """Files that the archive has: it said so and, where it was checked, it was found to be so."""
        said = (one for one in self.outcomes if one.state == "stored")
        return tuple(one for one in said if self.look == "no" or one.item.sop_instance in self.checked)

    @property
    def complete(self) -> bool:
        """Whether the archive has every file."""
        return len(self.stored) == len(self.outcomes)

    @property
    def words(self) -> str:
        """``stored n of m``."""
        return f"stored {len(self.stored)} of {len(self.outcomes)}"


def send_files(
    paths: Iterable[Path],
    archive: Archive,
    *,
    tries: int = 3,
    wait_s: float = 1.0,
    look: Look = "content",
    told: Callable[[Outcome], None] | None = None,
) -> Sent:
    """Send files to an archive; nothing is deleted, here or there.

    Parameters
    ----------
    paths
        DICOM files.
    archive
        Where to.
    tries
        How often the archive is called before it counts as silent.
    wait_s
        Seconds before the second try, doubled each time.
    look
        How it is checked afterwards.
    told
        Called with every outcome, for a progress bar.

    Returns
    -------
    Sent
        Sending again what was stored already does no harm: the UIDs are the same.

    Raises
    ------
    DicomError
        A file is none; nothing was sent.
    ArchiveError
        The archive refuses us altogether, or was silent at the first try and all others.
    """
    items = read_items(paths)
    known: dict[str, Outcome] = {}
    said: ArchiveError | None = None
    tried = 0
    while tried < tries:
        pending = [item for item in items if _open(known.get(item.sop_instance))]
        if not pending:
            break
        if tried:
            time.sleep(wait_s * 2 ** (tried - 1))
        tried += 1
        said = _try(archive, pending, known, told)
    if said is not None and not known:
        raise said
    outcomes = tuple(
        known.get(item.sop_instance, Outcome(item, "unanswered", "no answer came")) for item in items
    )
    stored = [one.item for one in outcomes if one.state == "stored"]
    return Sent(outcomes, _checked(archive, stored, look), look, tried)


def _open(outcome: Outcome | None) -> bool:
    return outcome is None or outcome.state in ("later", "unanswered")


def _try(
    archive: Archive, items: Sequence[Item], known: dict[str, Outcome], told: Callable[[Outcome], None] | None
) -> ArchiveError | None:
    """Send what is pending once; return the refusal where the archive could not be reached."""
    try:
        for outcome in archive.store(items):
            known[outcome.item.sop_instance] = outcome
            if told is not None and not _open(outcome):
                told(outcome)
    except ArchiveError as exc:
        if exc.code != "archive-silent":
            raise
        return exc
    return None


def _checked(archive: Archive, items: Sequence[Item], look: Look) -> frozenset[str]:
    """Return what is in the archive as it was sent; where the archive cannot say, nothing counts as checked.

    Only the data sets count: an archive may keep an older file under the same UID and still say that it stored.
    """
    if look == "no" or not items:
        return frozenset()
    try:
        held = archive.listed(items)
        if look == "listed":
            return frozenset(held)
    except ArchiveError:
        return frozenset()
    sent = {item.sop_instance: item for item in items if item.sop_instance in held}
    alike: set[str] = set()
    with contextlib.suppress(ArchiveError):  # what came before it stopped was looked at all the same
        for uid, data in archive.again(list(sent.values())):
            if uid in sent and same_content(sent[uid].path.read_bytes(), data):
                alike.add(uid)
    return frozenset(alike)


def same_content(one: bytes, other: bytes) -> bool:
    """Tell whether two files hold the same data set, however it is coded."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            first, second = (open_dicom(data, "file")[0] for data in (one, other))
            return bool(first.to_json_dict() == second.to_json_dict()) or bool(first == second)
    except Exception:  # noqa: BLE001 - what cannot be read is not the same
        return False
