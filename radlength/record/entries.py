"""Canals as entries of a record: each with its id, the reference that measures it, and its terminus."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence

from radlength.errors import RecordError
from radlength.length import Canal, Terminus
from radlength.record.made import made, shown
from radlength.record.models import CanalEntry
from radlength.record.stored import rounded_canal


def new_id() -> str:
    """Return an id that no other entry has: 32 hexadecimal digits, random."""
    return uuid.uuid4().hex


def canal_entry(
    key: str, canal: Canal, reference: str | None, terminus: Terminus | None, *, subject: str
) -> CanalEntry:
    """Return the entry of a canal, its points rounded.

    Raises
    ------
    RecordError
        The name of the reference cannot be kept.
    """
    return made(
        CanalEntry,
        subject=subject,
        id=key,
        canal=rounded_canal(canal),
        reference=reference,
        terminus=terminus,
    )


def new_entries(
    canals: Sequence[Canal],
    *,
    chosen: Mapping[str, str],
    otherwise: str | None,
    terminus: Terminus | None,
    subject: str,
) -> tuple[CanalEntry, ...]:
    """Return an entry for each canal.

    Parameters
    ----------
    canals
        The marks.
    chosen
        Name of the reference by label or name of the canal.
    otherwise
        Name of the reference of a canal that is not in `chosen`.
    terminus
        For every canal.
    subject
        The image, named in the refusal.

    Raises
    ------
    RecordError
        A choice for a canal that is not there.
    """
    known = {text for canal in canals for text in (canal.label, canal.name)}
    for name in chosen:
        if name not in known:
            raise RecordError(
                f"a reference is chosen for canal {shown(name)!r}, which is not there",
                f"one of: {', '.join(canal.label for canal in canals) or 'none is marked'}",
                code="canal-unknown",
                subject=subject,
            )
    return tuple(
        canal_entry(
            new_id(),
            canal,
            chosen.get(canal.label, chosen.get(canal.name, otherwise)),
            terminus,
            subject=subject,
        )
        for canal in canals
    )
