"""Name, password or token for an archive: from the environment or the system's keyring, and kept nowhere else."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import import_module

USER, PASSWORD, TOKEN = "RADLENGTH_ARCHIVE_USER", "RADLENGTH_ARCHIVE_PASSWORD", "RADLENGTH_ARCHIVE_TOKEN"
SERVICE = "radlength-archive"


@dataclass(frozen=True, slots=True)
class Credentials:
    """What opens an archive; never shown."""

    user: str = ""
    password: str = field(default="", repr=False)
    token: str = field(default="", repr=False)

    def __bool__(self) -> bool:
        return bool(self.token or self.user)


def credentials(host: str, environment: Mapping[str, str] | None = None) -> Credentials:
    """Return what the environment gives, else what the keyring holds for the host, else nothing.

    Parameters
    ----------
    host
        The archive's host. In the keyring the service is ``radlength-archive`` and the name ``USER@HOST``, or
        ``token@HOST`` for a token.
    environment
        By default that of the process.

    Examples
    --------
    >>> credentials("archive.example", {"RADLENGTH_ARCHIVE_USER": "a", "RADLENGTH_ARCHIVE_PASSWORD": "secret"})
    Credentials(user='a')
    """
    given = os.environ if environment is None else environment
    if given.get(TOKEN):
        return Credentials(token=given[TOKEN])
    user = given.get(USER, "")
    if user and PASSWORD in given:
        return Credentials(user, given[PASSWORD])
    kept = _kept(f"{user or 'token'}@{host}")
    if kept is None:
        return Credentials(user)
    return Credentials(user, kept) if user else Credentials(token=kept)


def _kept(name: str) -> str | None:
    """Return what the keyring holds, nothing where there is no keyring: then the archive itself will refuse."""
    try:
        kept = import_module("keyring").get_password(SERVICE, name)
    except Exception:  # noqa: BLE001 - every keyring fails in its own way
        return None
    return kept if isinstance(kept, str) and kept else None
