"""The parts of a multipart answer (RFC 2046 5.1), as bytes."""

from __future__ import annotations

import re
from email.message import Message

_END_OF_HEAD = b"\r\n\r\n"
_LENGTH = re.compile(rb"content-length:\s*(\d+)", re.IGNORECASE)


def parts_of(content_type: str, body: bytes) -> list[bytes]:
    r"""Return the parts of an answer; an answer that is not multipart is its own only part.

    Examples
    --------
    >>> parts_of('multipart/related; boundary="x"', b"--x\r\nA: b\r\n\r\nhello\r\n--x--\r\n")
    [b'hello']
    >>> parts_of("application/dicom", b"hello")
    [b'hello']
    """
    head = Message()
    head["Content-Type"] = content_type
    boundary = head.get_boundary()
    if head.get_content_maintype() != "multipart" or not boundary:
        return [body] if body else []
    mark, parts, at = b"--" + boundary.encode(), list[bytes](), 0
    while True:
        at = body.find(mark, at)
        if at < 0 or body[at + len(mark) : at + len(mark) + 2] == b"--":
            return parts
        start = body.find(_END_OF_HEAD, at)
        if start < 0:
            return parts
        stated = _LENGTH.search(body[at:start])
        start += len(_END_OF_HEAD)
        end = body.find(b"\r\n" + mark, start + (int(stated[1]) if stated else 0))
        if end < 0:
            return parts
        parts.append(body[start:end])
        at = end + 2
