"""An archive spoken to by DICOMweb (PS3.18): STOW-RS, QIDO-RS and WADO-RS.

The bytes of a file are sent as they are. Redirections are not followed: a password would go along.
"""

from __future__ import annotations

import base64
import json
import re
import secrets
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from radlength.clean import counted
from radlength.dicom.archive_address import Address
from radlength.dicom.archive_credentials import Credentials
from radlength.dicom.archive_model import MOST_FOUND, PARTIAL, SHOWN, Item, Level, Outcome, check_uid
from radlength.dicom.archive_parts import parts_of
from radlength.dicom.archive_tls import untrusted
from radlength.dicom.errors import ArchiveError
from radlength.dicom.extra import extra_module

if TYPE_CHECKING:
    import requests

MOST_BYTES = 500_000_000
"""An answer is read up to this."""

_LEVELS: dict[Level, str] = {"STUDY": "studies", "SERIES": "series", "IMAGE": "instances"}
_JSON = "application/dicom+json"
_DICOM = 'multipart/related; type="application/dicom"; transfer-syntax=*'
_FAILED = "00081198"
_TAG = re.compile("[0-9A-Fa-f]{8}")
ROOT = "the root of its DICOMweb services, as https://archive.example/dicom-web"
_LATER = (408, 425, 429, 500, 502, 503, 504)


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer, read whole: status, Content-Type, bytes."""

    status: int
    kind: str
    content: bytes

    @property
    def rows(self) -> list[Any]:
        """What a DICOM JSON answer lists; nothing where it is none."""
        try:
            data = json.loads(self.content)
        except ValueError:
            return []
        return data if isinstance(data, list) else [data]

    @property
    def foreign(self) -> bool:
        """Whether something else than an archive answers: it says something, and that is no JSON or XML."""
        if not self.content.strip():
            return False
        try:
            json.loads(self.content)
        except ValueError:
            return "xml" not in self.kind.partition(";")[0] or "html" in self.kind
        return False


class WebArchive:
    """An archive spoken to by DICOMweb.

    Parameters
    ----------
    address
        Where it is.
    credentials
        What opens it; sent over https, or to this machine itself.
    connect_s, answer_s
        Time-outs in seconds: for a connection, and between two pieces of an answer.
    """

    def __init__(
        self,
        address: Address,
        credentials: Credentials | None = None,
        *,
        connect_s: float = 5.0,
        answer_s: float = 30.0,
    ) -> None:
        library = extra_module("requests", "archive")
        self.address = address
        self._timeout = (connect_s, answer_s)
        self._errors = library.exceptions
        self._session: requests.Session = library.Session()
        self._session.trust_env = False
        self._session.verify = str(address.ca) if address.ca else True
        if address.certificate is not None:
            key = address.key or address.certificate
            self._session.cert = (str(address.certificate), str(key))
        self._known = bool(credentials)
        if credentials:
            self._let_in(credentials)

    def _let_in(self, credentials: Credentials) -> None:
        if self.address.scheme == "http" and not self.address.local:
            raise ArchiveError(
                "a password would go over the network unprotected",
                "https, or http to this machine itself",
                "use the https address of the archive",
                code="archive-open",
                subject=str(self.address),
            )
        if credentials.token:
            self._session.headers["Authorization"] = f"Bearer {credentials.token}"
        else:
            pair = base64.b64encode(f"{credentials.user}:{credentials.password}".encode()).decode()
            self._session.headers["Authorization"] = f"Basic {pair}"

    def store(self, items: Sequence[Item]) -> Iterator[Outcome]:
        """Send files, one request each; see :class:`~radlength.dicom.archive_model.Archive`."""
        for number, item in enumerate(items):
            try:
                outcome = self._store(item)
            except ArchiveError as exc:
                if exc.code != "archive-silent" or number == 0:
                    raise
                outcome = Outcome(item, "unanswered", exc.wrong)
            yield outcome
            if outcome.state == "unanswered":
                return

    def _store(self, item: Item) -> Outcome:
        boundary = secrets.token_hex(16)
        head = f"--{boundary}\r\nContent-Type: application/dicom\r\n\r\n".encode()
        body = head + item.path.read_bytes() + f"\r\n--{boundary}--\r\n".encode()
        kind = f'multipart/related; type="application/dicom"; boundary={boundary}'
        answer = self._ask("POST", "/studies", data=body, headers={"Content-Type": kind, "Accept": _JSON})
        if answer.status in _LATER:
            return Outcome(item, "later", f"the archive answers {answer.status}")
        reason = _failure(answer, item.sop_instance)
        if answer.status in (200, 202) and answer.foreign:
            return Outcome(item, "refused", f"what answers is no archive: {ROOT}")
        if answer.status in (200, 202) and not reason:
            return Outcome(item, "stored")
        return Outcome(item, "refused", reason or f"the archive answers {answer.status}")

    def listed(self, items: Sequence[Item]) -> set[str]:
        """Return which of the files the archive lists."""
        held: set[str] = set()
        for study, series in dict.fromkeys((item.study, item.series) for item in items):
            place = f"/studies/{check_uid(study)}/series/{check_uid(series)}/instances"
            held |= {one.get("SOPInstanceUID", "") for one in self._search(place, {}, pages=True)}
        return held & {item.sop_instance for item in items}

    def find(self, level: Level, query: Mapping[str, str]) -> list[dict[str, str]]:
        """Return what matches, at most 500."""
        found = self._search(f"/{_LEVELS[level]}", query)
        return [{key: value for key, value in one.items() if key in SHOWN[level]} for one in found]

    def _search(self, place: str, query: Mapping[str, str], *, pages: bool = False) -> list[dict[str, str]]:
        found: list[dict[str, str]] = []
        while True:
            window = (
                {"limit": str(MOST_FOUND), "offset": str(len(found))} if pages else {"limit": str(MOST_FOUND)}
            )
            answer = self._ask("GET", place, params={**query, **window}, headers={"Accept": _JSON})
            if answer.status == 204 or (answer.status == 404 and "/" in place[1:]):
                return found
            if answer.status == 404 or (answer.status == 200 and answer.foreign):
                raise ArchiveError(
                    "what answers at this address is no archive",
                    ROOT,
                    code="archive-address",
                    subject=str(self.address),
                )
            self._check(answer, "search")
            some = [_row(one) for one in answer.rows if isinstance(one, dict)]
            new = [one for one in some if one not in found] if pages else some[:MOST_FOUND]
            found += new
            if not pages or len(some) < MOST_FOUND or not new:
                return found

    def fetch(self, study: str, series: str = "", instance: str = "") -> Iterator[tuple[str, bytes]]:
        """Yield the instances of a study or series, one request each, or a single one."""
        if instance and series:
            yield instance, self._instance(study, series, instance)
            return
        place = (
            f"/studies/{check_uid(study)}" + (f"/series/{check_uid(series)}" if series else "") + "/instances"
        )
        query = {"SOPInstanceUID": check_uid(instance)} if instance else {}
        rows = self._search(place, query, pages=True)
        yield from self._each(
            [(study, one.get("SeriesInstanceUID", series), one.get("SOPInstanceUID", "")) for one in rows]
        )

    def again(self, items: Sequence[Item]) -> Iterator[tuple[str, bytes]]:
        """Yield files that were sent as the archive holds them."""
        return self._each([(item.study, item.series, item.sop_instance) for item in items])

    def _each(self, wanted: Sequence[tuple[str, str, str]]) -> Iterator[tuple[str, bytes]]:
        """Yield instances; one that the archive does not give keeps none of the others back."""
        stopped: list[ArchiveError] = []
        for one in wanted:
            try:
                data = self._instance(*one)
            except ArchiveError as exc:
                if exc.code != "archive-failed":
                    raise
                stopped.append(exc)
            else:
                yield one[2], data
        if stopped:
            many = f"{counted(len(stopped), 'instance')} of {len(wanted)}"
            raise ArchiveError(
                f"not everything came, {many} did not: {stopped[0].wrong}",
                code=PARTIAL,
                subject=str(self.address),
            )

    def _instance(self, study: str, series: str, instance: str) -> bytes:
        place = f"/studies/{check_uid(study)}/series/{check_uid(series)}/instances/{check_uid(instance)}"
        answer = self._ask("GET", place, headers={"Accept": _DICOM})
        self._check(answer, "fetch")
        parts = parts_of(answer.kind, answer.content)
        if len(parts) != 1:
            raise ArchiveError(
                f"the archive sent {len(parts)} files where one was asked for",
                code="archive-answer",
                subject=str(self.address),
            )
        return parts[0]

    def _check(self, answer: Answer, what: str) -> None:
        if answer.status not in (200, 206):
            raise ArchiveError(
                f"the archive could not {what}: it answers {answer.status}",
                code="archive-failed",
                subject=str(self.address),
            )

    def _ask(self, method: str, place: str, **options: Any) -> Answer:
        """Return an answer, read whole.

        Raises
        ------
        ArchiveError
            There is none, it does not let us in, or it leads elsewhere.
        """
        url = self.address.url + place
        try:
            response = self._session.request(
                method, url, timeout=self._timeout, allow_redirects=False, stream=True, **options
            )
            answer = _read(response, str(self.address))
        except self._errors.SSLError as exc:
            raise untrusted(self.address, "verification failed") from exc
        except (self._errors.RequestException, OSError) as exc:
            raise ArchiveError(
                "the archive did not answer",
                remedy="check address, network and firewall, then try again",
                code="archive-silent",
                subject=str(self.address),
            ) from exc
        if answer.status in (401, 403):
            raise self._closed(answer.status)
        if 300 <= answer.status < 400:
            raise ArchiveError(
                "the archive leads to another address, which is not followed",
                "its own address",
                code="archive-elsewhere",
                subject=str(self.address),
            )
        return answer

    def _closed(self, status: int) -> ArchiveError:
        if not self._known:
            wrong = "the archive asks for a name and a password, or a token"
        elif status == 403:
            wrong = "the archive knows us and does not allow this"
        else:
            wrong = "the archive does not accept this name and password, or this token"
        return ArchiveError(
            wrong,
            "RADLENGTH_ARCHIVE_USER and RADLENGTH_ARCHIVE_PASSWORD, or RADLENGTH_ARCHIVE_TOKEN",
            "set them in the environment, or keep them in the keyring",
            code="archive-closed",
            subject=str(self.address),
        )


def _read(response: requests.Response, subject: str) -> Answer:
    """Read an answer up to a bound."""
    content = bytearray()
    with response:
        for piece in response.iter_content(1 << 18):
            content += piece
            if len(content) > MOST_BYTES:
                raise ArchiveError(
                    f"the archive's answer is larger than {MOST_BYTES // 1_000_000} MB",
                    code="archive-answer",
                    subject=subject,
                )
    return Answer(response.status_code, response.headers.get("Content-Type", ""), bytes(content))


def _failure(answer: Answer, uid: str) -> str:
    """Return why the archive did not store the instance, or nothing (PS3.18 10.5, PS3.3 C.12.1.1.9)."""
    for one in answer.rows:
        for item in _values(one, _FAILED):
            row = _row(item)
            if row.get("ReferencedSOPInstanceUID", uid) == uid:
                return f"failure reason {row.get('FailureReason', 'not said')}"
    return ""


def _values(item: object, tag: str) -> list[Any]:
    """Return the values of one attribute of a DICOM JSON object, none where it is not one."""
    element = item.get(tag) if isinstance(item, dict) else None
    values = element.get("Value") if isinstance(element, dict) else None
    return values if isinstance(values, list) else []


def _row(item: object) -> dict[str, str]:
    """Return the plain values of a DICOM JSON object by keyword (PS3.18 F.2)."""
    from pydicom.datadict import keyword_for_tag

    row = {}
    for tag in item if isinstance(item, dict) else ():
        keyword = keyword_for_tag(int(tag, 16)) if isinstance(tag, str) and _TAG.fullmatch(tag) else ""
        plain = [_text(value) for value in _values(item, tag) if not _nested(value)]
        if keyword and plain:
            row[keyword] = "\\".join(plain)
    return row


def _nested(value: object) -> bool:
    return isinstance(value, list) or (isinstance(value, dict) and "Alphabetic" not in value)


def _text(value: object) -> str:
    return str(value.get("Alphabetic", "")) if isinstance(value, dict) else str(value)
