"""TLS to an archive: always verified, and told apart from silence where it fails."""

from __future__ import annotations

import contextlib
import socket
import ssl

from radlength.dicom.archive_address import Address
from radlength.dicom.errors import ArchiveError

COMPLAINT_S = 0.15


def context_of(address: Address) -> ssl.SSLContext:
    """Return a context that verifies the archive's certificate and name; there is no way to switch that off.

    Raises
    ------
    ArchiveError
        A certificate file is none.
    """
    try:
        context = ssl.create_default_context(cafile=str(address.ca) if address.ca else None)
        context.minimum_version = ssl.TLSVersion.TLSv1_2
        if address.certificate is not None:
            context.load_cert_chain(address.certificate, address.key)
    except (ssl.SSLError, OSError, ValueError) as exc:
        raise ArchiveError(
            "a certificate file cannot be used", "PEM files", code="archive-certificate", subject=str(address)
        ) from exc
    return context


def knock(address: Address, context: ssl.SSLContext | None, timeout_s: float) -> None:
    """Open a connection and close it again.

    Raises
    ------
    OSError
        Nobody answers.
    ArchiveError
        The archive's certificate is not trusted, or it does not speak TLS with us.
    """
    with socket.create_connection((address.host, address.port), timeout=timeout_s) as plain:
        if context is None:
            return
        try:
            with context.wrap_socket(plain, server_hostname=address.host) as secured:
                _listen(secured)
        except ssl.SSLCertVerificationError as exc:
            raise untrusted(address, exc.verify_message) from exc
        except (ssl.SSLError, ConnectionResetError) as exc:
            raise ArchiveError(
                "the archive does not speak TLS with us",
                "TLS 1.2 or newer, and a certificate of ours where it asks for one",
                code="archive-tls",
                subject=str(address),
            ) from exc


def _listen(secured: ssl.SSLSocket) -> None:
    """Wait a moment for a complaint: with TLS 1.3 an archive asks for our certificate after the handshake."""
    secured.settimeout(COMPLAINT_S)
    with contextlib.suppress(TimeoutError):
        secured.recv(1)


def untrusted(address: Address, why: str) -> ArchiveError:
    """Return the refusal of a certificate that is not trusted."""
    return ArchiveError(
        f"the archive's certificate is not trusted ({why}); nothing was sent",
        "a certificate of an authority this machine knows",
        "name the authority's file with --ca FILE; verification is never switched off",
        code="archive-untrusted",
        subject=str(address),
    )
