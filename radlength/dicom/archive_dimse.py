"""An archive spoken to by DIMSE: C-STORE, C-FIND and C-GET, over TLS where asked for.

Every file is offered in its own transfer syntax, nothing is decoded or coded anew on the way.
"""

from __future__ import annotations

import ssl
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from radlength.dicom.archive_address import Address
from radlength.dicom.archive_kinds import (
    DOCUMENTS,
    IMAGES,
    not_everything,
    nothing_of_it,
    wanted_contexts,
)
from radlength.dicom.archive_line import PIECE, connected, hang_up, in_pieces
from radlength.dicom.archive_model import MOST_FOUND, PARTIAL, SHOWN, Item, Level, Outcome, State, check_uid
from radlength.dicom.archive_tls import context_of, knock
from radlength.dicom.errors import ArchiveError
from radlength.dicom.extra import extra_module
from radlength.dicom.source import quietly

if TYPE_CHECKING:
    from pydicom.dataset import Dataset
    from pynetdicom.association import Association
    from pynetdicom.presentation import PresentationContext

MOST_CONTEXTS = 128
"""Presentation contexts of one association (PS3.8 9.3.2.2)."""

FIND = "1.2.840.10008.5.1.4.1.2.2.1"
GET = "1.2.840.10008.5.1.4.1.2.2.3"
NOTHING_TAKEN = "archive-nothing-taken"
_PENDING = (0xFF00, 0xFF01)


class DimseArchive:
    """An archive spoken to by DIMSE.

    Parameters
    ----------
    address
        Where it is.
    connect_s, answer_s
        Time-outs in seconds: for a connection, and for every answer.
    """

    def __init__(self, address: Address, *, connect_s: float = 5.0, answer_s: float = 30.0) -> None:
        extra_module("pynetdicom", "archive")
        self.address = address
        self._connect_s, self._answer_s = connect_s, answer_s
        self._tls = context_of(address) if address.scheme == "dicoms" else None

    def store(self, items: Sequence[Item]) -> Iterator[Outcome]:
        """Send files; see :class:`~radlength.dicom.archive_model.Archive`."""
        from pynetdicom import _config
        from pynetdicom.presentation import build_context

        _config.STORE_SEND_CHUNKED_DATASET = True  # a file goes as it lies on the disk, never whole in memory
        kinds = list(dict.fromkeys((item.sop_class, item.syntax) for item in items))
        for start in range(0, len(kinds), MOST_CONTEXTS):
            some = kinds[start : start + MOST_CONTEXTS]
            these = [item for item in items if (item.sop_class, item.syntax) in some]
            try:
                with self.associated([build_context(kind, syntax) for kind, syntax in some]) as open_one:
                    yield from self._send(open_one, these)
            except ArchiveError as exc:
                if exc.code != NOTHING_TAKEN:
                    raise
                yield from (Outcome(item, "refused", _not_taken(item)) for item in these)

    def _send(self, open_one: Association, items: Sequence[Item]) -> Iterator[Outcome]:
        accepted = {(c.abstract_syntax, c.transfer_syntax[0]) for c in open_one.accepted_contexts}
        for item in items:
            if (item.sop_class, item.syntax) not in accepted:
                yield Outcome(item, "refused", _not_taken(item))
                continue
            outcome = _stored(open_one, item)
            yield outcome
            if outcome.state == "unanswered":
                return

    def listed(self, items: Sequence[Item]) -> set[str]:
        """Return which of the files the archive lists, asked series by series."""
        held: set[str] = set()
        for study, series in dict.fromkeys((item.study, item.series) for item in items):
            query = {"StudyInstanceUID": study, "SeriesInstanceUID": series}
            held |= {one.get("SOPInstanceUID", "") for one in self._find("IMAGE", query, most=None)}
        return held & {item.sop_instance for item in items}

    def find(self, level: Level, query: Mapping[str, str]) -> list[dict[str, str]]:
        """Return what matches, at most 500."""
        return self._find(level, query, most=MOST_FOUND)

    def _find(self, level: Level, query: Mapping[str, str], *, most: int | None) -> list[dict[str, str]]:
        from pydicom.dataset import Dataset
        from pynetdicom.presentation import build_context

        asked = Dataset()
        asked.SpecificCharacterSet = "ISO_IR 192"
        asked.QueryRetrieveLevel = level
        for keyword in SHOWN[level]:
            setattr(asked, keyword, "")
        with quietly():
            for keyword, value in query.items():
                setattr(asked, keyword, value)
        found: list[dict[str, str]] = []
        with self.associated([build_context(FIND)]) as open_one:
            for status, answer in open_one.send_c_find(asked, FIND):
                if self._status(status) not in (0x0000, *_PENDING):
                    raise self._failed("search", status)
                if answer is not None and (most is None or len(found) < most):
                    with quietly():
                        shown = [element for element in answer if element.keyword in SHOWN[level]]
                        found.append({element.keyword: _plain(element.value) for element in shown})
        return found

    def fetch(self, study: str, series: str = "", instance: str = "") -> Iterator[tuple[str, bytes]]:
        """Yield what a C-GET brings, as files; where it stops, the rest one by one.

        Many archives end a C-GET of a study at the first object of a kind that was not proposed to them.
        """
        got: set[str] = set()
        try:
            for uid, data in self._get([(study, series, instance)]):
                got.add(uid)
                yield uid, data
        except ArchiveError as exc:
            if exc.code != PARTIAL or instance:
                raise
            yield from self._rest(study, series, got, exc)

    def _rest(
        self, study: str, series: str, got: set[str], stopped: ArchiveError
    ) -> Iterator[tuple[str, bytes]]:
        """Yield what a C-GET left out, and say what of it cannot be fetched."""
        try:
            held = self._instances(study, series)
        except ArchiveError:
            raise stopped from None  # it cannot be asked what there is
        left = {uid: one for uid, one in held.items() if uid not in got}
        wanted = {uid: one for uid, one in left.items() if one[1] in ("", *IMAGES, *DOCUMENTS)}
        came: set[str] = set()
        try:
            for uid, data in self._get([(study, one[0], uid) for uid, one in wanted.items()]):
                came.add(uid)
                yield uid, data
        except ArchiveError as exc:
            if exc.code != PARTIAL:
                raise
        from pydicom.uid import UID

        if not held:
            raise nothing_of_it(self.address)
        if not (got or came):
            raise stopped
        kinds = [
            UID(one[1]).name or "a kind it does not tell" for uid, one in left.items() if uid not in came
        ]
        if kinds:
            raise not_everything(kinds, self.address)

    def _instances(self, study: str, series: str) -> dict[str, tuple[str, str]]:
        """Return series and SOP class of every instance that the archive lists, by SOP Instance UID."""
        all_series = [series] if series else self._series(study)
        found: dict[str, tuple[str, str]] = {}
        for one in all_series:
            query = {"StudyInstanceUID": study, "SeriesInstanceUID": one}
            for row in self._find("IMAGE", query, most=None):
                found[row.get("SOPInstanceUID", "")] = (one, row.get("SOPClassUID", ""))
        return found

    def _series(self, study: str) -> list[str]:
        rows = self._find("SERIES", {"StudyInstanceUID": study}, most=None)
        return [row.get("SeriesInstanceUID", "") for row in rows]

    def again(self, items: Sequence[Item]) -> Iterator[tuple[str, bytes]]:
        """Yield files that were sent as the archive holds them."""
        return self._get([(item.study, item.series, item.sop_instance) for item in items])

    def _get(self, wanted: Sequence[tuple[str, str, str]]) -> Iterator[tuple[str, bytes]]:
        """Yield what one C-GET after the other brings, all over one association."""
        from pynetdicom import evt
        from pynetdicom.presentation import build_context, build_role

        got: list[tuple[str, bytes]] = []

        def keep(event: Any) -> int:
            got.append((str(event.request.AffectedSOPInstanceUID), event.encoded_dataset()))
            return 0x0000

        roles = [build_role(kind, scp_role=True) for kind in (*IMAGES, *DOCUMENTS)]
        handlers = [(evt.EVT_C_STORE, keep)]
        with self.associated([build_context(GET), *wanted_contexts()], roles, handlers) as open_one:
            if not any(context.abstract_syntax == GET for context in open_one.accepted_contexts):
                raise ArchiveError(
                    "the archive does not let us fetch (no C-GET)",
                    remedy="use its DICOMweb address",
                    code="archive-no-get",
                    subject=str(self.address),
                )
            stopped: list[Any] = []
            for one in wanted:
                for status, _ in open_one.send_c_get(_asked(*one), GET):
                    if self._status(status) not in (0x0000, *_PENDING) or _left_out(status):
                        stopped.append(status)
                    yield from got
                    got.clear()
                yield from got
                got.clear()
        if stopped:
            some = int(stopped[0].Status) in (0x0000, 0xB000)
            raise self._failed("fetch everything" if some else "fetch", stopped[0], PARTIAL)

    def _status(self, status: Any) -> int:
        if not status or "Status" not in status:
            raise self._silent()
        return int(status.Status)

    def _failed(self, what: str, status: Any, code: str = "archive-failed") -> ArchiveError:
        return ArchiveError(
            f"the archive could not {what}: status {int(status.Status):04X}",
            code=code,
            subject=str(self.address),
        )

    def _silent(self) -> ArchiveError:
        return ArchiveError(
            "the archive did not answer",
            remedy="check address, network and firewall, then try again",
            code="archive-silent",
            subject=str(self.address),
        )

    @contextmanager
    def associated(
        self,
        contexts: list[PresentationContext],
        roles: list[Any] | None = None,
        handlers: list[Any] | None = None,
    ) -> Iterator[Association]:
        """Open an association, and release it at the end; Ctrl-C, or who takes no more of it, aborts it at once.

        Raises
        ------
        ArchiveError
            The archive does not answer, does not accept us, or is not the one its certificate should name.
        """
        from pynetdicom import AE, evt

        self._knock()
        ae = AE(ae_title=self.address.calling)
        ae.connection_timeout = ae.acse_timeout = self._connect_s
        ae.dimse_timeout = ae.network_timeout = self._answer_s
        tls: tuple[ssl.SSLContext, str] | None = (self._tls, self.address.host) if self._tls else None
        try:
            open_one = ae.associate(
                self.address.host,
                self.address.port,
                contexts=contexts,
                ae_title=self.address.called,
                ext_neg=roles,
                evt_handlers=[(evt.EVT_CONN_OPEN, connected, [self._answer_s]), *(handlers or [])],
                tls_args=tls,
                max_pdu=PIECE,
            )
            if not open_one.is_established:
                raise self._closed(open_one)
            in_pieces(open_one)
            try:
                yield open_one
            except Exception:
                open_one.release()
                raise
            open_one.release()
        except (KeyboardInterrupt, GeneratorExit):  # an archive that goes on giving hears no request to end
            hang_up(ae)
            raise

    def _closed(self, tried: Association) -> ArchiveError:
        if tried.rejected_contexts:
            return ArchiveError(
                "the archive takes and gives nothing of what was proposed",
                remedy="ask who keeps it which services it offers",
                code=NOTHING_TAKEN,
                subject=str(self.address),
            )
        if tried.is_rejected:
            return ArchiveError(
                "the archive did not accept us",
                f"it must know {self.address.calling} and be called {self.address.called}",
                "ask who keeps it",
                code="archive-rejected",
                subject=str(self.address),
            )
        return self._silent()

    def _knock(self) -> None:
        """Open and close a connection first: what is wrong with it can be told, and pynetdicom would leave it open."""
        try:
            knock(self.address, self._tls, self._connect_s)
        except OSError as exc:
            raise self._silent() from exc


def _left_out(status: Any) -> bool:
    """Tell whether a C-GET that says it is done left something out (PS3.4 C.4.3.1.4)."""
    done = int(status.Status) not in _PENDING
    return done and int(status.get("NumberOfFailedSuboperations") or 0) > 0


def _asked(study: str, series: str, instance: str) -> Dataset:
    """Return the keys of a C-GET."""
    from pydicom.dataset import Dataset

    asked = Dataset()
    asked.QueryRetrieveLevel = "IMAGE" if instance else "SERIES" if series else "STUDY"
    for keyword, uid in (
        ("StudyInstanceUID", study),
        ("SeriesInstanceUID", series),
        ("SOPInstanceUID", instance),
    ):
        if uid:
            setattr(asked, keyword, check_uid(uid))
    return asked


def _stored(open_one: Association, item: Item) -> Outcome:
    from pydicom.uid import UID

    try:
        answer = open_one.send_c_store(item.path)
    except (RuntimeError, OSError):
        return Outcome(item, "unanswered", "the connection was lost")
    except (ValueError, AttributeError, TypeError) as exc:
        syntax = UID(item.syntax).name
        return Outcome(item, "refused", f"it cannot be sent as {syntax}: {type(exc).__name__}")
    if not answer or "Status" not in answer:
        return Outcome(item, "unanswered", "no answer came")
    return Outcome(item, *_meaning(int(answer.Status)))


def _meaning(status: int) -> tuple[State, str]:
    """Return what a status of C-STORE means (PS3.4 B.2.3)."""
    if status == 0x0000:
        return "stored", ""
    if status in (0xB000, 0xB006, 0xB007):
        return "stored", f"with the remark {status:04X}: the archive may have changed something"
    if 0xA700 <= status <= 0xA7FF:
        return "later", f"the archive is out of resources ({status:04X})"
    return "refused", f"status {status:04X}"


def _not_taken(item: Item) -> str:
    from pydicom.uid import UID

    return f"the archive does not take {UID(item.sop_class).name} as {UID(item.syntax).name}"


def _plain(value: Any) -> str:
    if value is None:
        return ""
    return "\\".join(map(str, value)) if isinstance(value, list | tuple) else str(value)
