"""Storage commitment: the archive is asked to say that it keeps what was sent, and answers when it has looked.

Source: PS3.4 annex J. The answer comes over the same association, or over one that the archive opens to us; for that
a port is opened while waiting, and closed again.
"""

from __future__ import annotations

import queue
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from radlength.dicom.archive_dimse import NOTHING_TAKEN, DimseArchive
from radlength.dicom.archive_model import Archive, Item
from radlength.dicom.errors import ArchiveError
from radlength.dicom.stamp import new_uid

if TYPE_CHECKING:
    from pydicom.dataset import Dataset

PUSH_MODEL = "1.2.840.10008.1.20.1"
WELL_KNOWN = "1.2.840.10008.1.20.1.1"
REQUEST = 1
"""Action Type ID (PS3.4 J.3.2.1)."""


@dataclass(frozen=True, slots=True)
class Committed:
    """What an archive commits itself to keep, and what it does not, by SOP Instance UID."""

    kept: frozenset[str]
    failed: frozenset[str]
    asked: int

    @property
    def words(self) -> str:
        """``committed n of m``."""
        return f"committed {len(self.kept)} of {self.asked}"


def commit(archive: Archive, items: Sequence[Item], *, port: int, wait_s: float = 30.0) -> Committed:
    """Ask an archive to commit itself to keep files.

    Parameters
    ----------
    archive
        An archive spoken to by DIMSE.
    items
        What it should have.
    port
        Our own port, which the archive must know, for an answer over an association of its own.
    wait_s
        How long an answer is waited for, in seconds.

    Raises
    ------
    ArchiveError
        The archive offers no storage commitment, refuses, or does not answer in time.
    """
    if not isinstance(archive, DimseArchive):
        raise _failed("storage commitment is asked by DIMSE", "dicom://CALLED@host:port", archive)
    answers: queue.Queue[Dataset] = queue.Queue()

    def heard(event: Any) -> tuple[int, None]:
        answers.put(event.event_information)
        return 0x0000, None

    asked = _asked(items)
    with _listening(archive, port, heard):
        _ask(archive, asked, heard)
        answer = _answer(answers, str(asked.TransactionUID), wait_s)
    if answer is None:
        raise _failed(
            f"no answer about keeping came within {wait_s:g} s",
            f"the archive must know {archive.address.calling} at port {port}",
            archive,
        )
    wanted = {item.sop_instance for item in items}
    return Committed(
        frozenset(_uids(answer, "ReferencedSOPSequence") & wanted),
        frozenset(_uids(answer, "FailedSOPSequence") & wanted),
        len(items),
    )


def _asked(items: Sequence[Item]) -> Dataset:
    from pydicom.dataset import Dataset

    asked, references = Dataset(), []
    for item in items:
        reference = Dataset()
        reference.ReferencedSOPClassUID, reference.ReferencedSOPInstanceUID = (
            item.sop_class,
            item.sop_instance,
        )
        references.append(reference)
    asked.TransactionUID = new_uid()
    asked.ReferencedSOPSequence = references
    return asked


def _ask(archive: DimseArchive, asked: Dataset, heard: Any) -> None:
    from pynetdicom import evt
    from pynetdicom.presentation import build_context

    try:
        with archive.associated(
            [build_context(PUSH_MODEL)], None, [(evt.EVT_N_EVENT_REPORT, heard)]
        ) as open_one:
            status, _ = open_one.send_n_action(asked, REQUEST, PUSH_MODEL, WELL_KNOWN)
    except ArchiveError as exc:
        if exc.code != NOTHING_TAKEN:
            raise
        raise _failed("the archive offers no storage commitment", "", archive) from exc
    if not status or "Status" not in status or int(status.Status) != 0x0000:
        raise _failed("the archive refuses the request for storage commitment", "", archive)


@contextmanager
def _listening(archive: DimseArchive, port: int, heard: Any) -> Iterator[None]:
    """Accept associations about storage commitment from the archive while waiting."""
    from pynetdicom import AE, evt

    ae = AE(ae_title=archive.address.calling)
    ae.add_supported_context(PUSH_MODEL, scu_role=True, scp_role=True)
    ae.require_called_aet = True
    ae.require_calling_aet = [archive.address.called]
    here = "127.0.0.1" if archive.address.local else ""
    try:
        server = ae.start_server((here, port), block=False, evt_handlers=[(evt.EVT_N_EVENT_REPORT, heard)])
    except OSError as exc:
        raise _failed(f"port {port} cannot be opened: {exc.strerror or exc}", "a free port", archive) from exc
    try:
        yield
    finally:
        if server is not None:
            server.shutdown()


def _answer(answers: queue.Queue[Dataset], transaction: str, wait_s: float) -> Dataset | None:
    """Return the answer to our own request; others are none of ours."""
    end = time.monotonic() + wait_s
    while (left := end - time.monotonic()) > 0:
        try:
            answer = answers.get(timeout=left)
        except queue.Empty:
            return None
        if str(answer.get("TransactionUID", "")) == transaction:
            return answer
    return None


def _uids(answer: Dataset, keyword: str) -> set[str]:
    return {str(item.get("ReferencedSOPInstanceUID", "")) for item in answer.get(keyword) or ()}


def _failed(wrong: str, allowed: str, archive: Archive) -> ArchiveError:
    where = str(archive.address) if isinstance(archive, DimseArchive) else None
    return ArchiveError(wrong, allowed, code="archive-commitment", subject=where)
