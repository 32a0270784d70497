"""Where an archive is: an address that never holds a password.

``dicom://CALLED@host:port`` and ``dicoms://CALLED@host:port`` (over TLS) speak DIMSE; ``https://host/path`` and, on
this machine only where a password is needed, ``http://...`` speak DICOMweb.
"""

from __future__ import annotations

import ipaddress
import re
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import SplitResult, urlsplit

from radlength.dicom.errors import ArchiveError

CALLING = "RADLENGTH"
HOW = "dicom://CALLED@host:port, dicoms://CALLED@host:port, or https://host/path"
_TITLE = re.compile(r"[ -\[\]-~]{1,16}")
_PORTS = {"dicom": 104, "dicoms": 2762, "https": 443, "http": 80}


@dataclass(frozen=True, slots=True)
class Address:
    """An archive and how it is spoken to.

    Parameters
    ----------
    scheme, host, port
        ``"dicom"``, ``"dicoms"``, ``"http"`` or ``"https"``, and where.
    called, calling
        Application entity titles, for DIMSE.
    path
        For DICOMweb, without the slash at its end.
    ca, certificate, key
        PEM files: who is trusted instead of the system's authorities; our own certificate and its key.
    """

    scheme: str
    host: str
    port: int
    called: str = ""
    calling: str = CALLING
    path: str = ""
    ca: Path | None = None
    certificate: Path | None = None
    key: Path | None = None

    @property
    def web(self) -> bool:
        """Whether it is DICOMweb."""
        return self.scheme in ("http", "https")

    @property
    def url(self) -> str:
        """Root of the DICOMweb services."""
        return f"{self.scheme}://{self._host}:{self.port}{self.path}"

    @property
    def local(self) -> bool:
        """Whether it is this machine."""
        try:
            return ipaddress.ip_address(self.host).is_loopback
        except ValueError:
            return self.host == "localhost"

    def __str__(self) -> str:
        return self.url if self.web else f"{self.called}@{self._host}:{self.port}"

    @property
    def _host(self) -> str:
        return f"[{self.host}]" if ":" in self.host else self.host


def parse_address(
    text: str,
    *,
    calling: str = CALLING,
    ca: Path | None = None,
    certificate: Path | None = None,
    key: Path | None = None,
) -> Address:
    """Return an archive's address.

    Raises
    ------
    ArchiveError
        It is none, or a password stands in it.

    Examples
    --------
    >>> str(parse_address("dicom://ARCHIVE@127.0.0.1:4242"))
    'ARCHIVE@127.0.0.1:4242'
    >>> parse_address("https://archive.example/dicom-web/").url
    'https://archive.example:443/dicom-web'
    """
    try:
        parts = urlsplit(text)
        port = parts.port
    except ValueError as exc:
        raise _refused("that is no address of an archive") from exc
    if parts.scheme not in _PORTS or not parts.hostname or port == 0:
        raise _refused("that is no address of an archive")
    web = parts.scheme in ("http", "https")
    if parts.password is not None or (web and parts.username):
        raise ArchiveError(
            "a name or a password stands in the archive's address",
            "the environment or the keyring: there nobody else reads it",
            "set RADLENGTH_ARCHIVE_USER and RADLENGTH_ARCHIVE_PASSWORD",
            code="archive-password",
        )
    return Address(
        scheme=parts.scheme,
        host=parts.hostname,
        port=_PORTS[parts.scheme] if port is None else port,
        called="" if web else _title(parts.username or "", "called"),
        calling=_title(calling, "calling"),
        path=_path(parts, web=web),
        ca=_file(ca),
        certificate=_file(certificate),
        key=_file(key),
    )


def _path(parts: SplitResult, *, web: bool) -> str:
    if parts.query or parts.fragment or (not web and parts.path not in ("", "/")):
        raise _refused("the archive's address has a part that it cannot have")
    return parts.path.rstrip("/")


def _title(text: str, which: str) -> str:
    if not (_TITLE.fullmatch(text) and text.strip()):
        raise ArchiveError(
            f"the {which} application entity title {text[:40]!r}",
            f"1 to 16 plain characters; {HOW}",
            code="archive-title",
        )
    return text.strip()


def _file(path: Path | None) -> Path | None:
    if path is not None and not path.is_file():
        raise ArchiveError("there is no such certificate file", code="archive-certificate", subject=path.name)
    return path


def _refused(wrong: str) -> ArchiveError:
    return ArchiveError(wrong, HOW, code="archive-address")
