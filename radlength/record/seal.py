"""The last line of a file of ours: the hash of all before it, so that a damaged digit is not read as a length."""

from __future__ import annotations

import hashlib
import re

from radlength.errors import RecordError

KEY = "sha256"
_END = b"\n}\n"
_SEAL = re.compile(rb',\n "sha256": "([0-9a-f]{64})"\n}\n\Z')


def seal(data: bytes) -> bytes:
    r"""Return the bytes of a JSON object, which end in ``\n}\n``, with the hash of what they hold as the last member.

    Examples
    --------
    >>> sealed = seal(b'{\n "length_mm": 21.5\n}\n')
    >>> sealed.decode().splitlines()[2][:20]
    ' "sha256": "cabf07c4'
    >>> unseal(sealed, name="x", kind="record")
    b'{\n "length_mm": 21.5\n}\n'
    """
    head = data.removesuffix(_END)
    digest = hashlib.sha256(head).hexdigest()
    return head + f',\n "{KEY}": "{digest}"'.encode() + _END


def unseal(data: bytes, *, name: str, kind: str) -> bytes:
    """Return the bytes without the hash; those that never had one (older files) as they are.

    Raises
    ------
    RecordError
        The hash differs, or something was written after or around it.
    """
    found = _SEAL.search(data)
    if found is None and f'"{KEY}": "'.encode() not in data[-200:]:
        return data
    if found is None or hashlib.sha256(data[: found.start()]).hexdigest().encode() != found[1]:
        raise RecordError(
            "the file was damaged, or changed by another program: its own hash differs",
            "a file as radlength wrote it; it is left untouched",
            f'restore it from a copy; whoever changed it on purpose takes the line "{KEY}" (and the comma before) out',
            code=f"{kind}-damaged",
            subject=name,
        )
    return data[: found.start()] + _END
