"""From bytes to a pydicom data set, without letting a deflated or crowded one fill the memory."""

from __future__ import annotations

import io
import zlib
from typing import TYPE_CHECKING, Any

from radlength.errors import ImageError

if TYPE_CHECKING:
    from pydicom.uid import UID

MAX_INFLATED_BYTES = 250_000_000
MOST_READS = 200_000
"""Pieces that a file may fall into; each of two reads or more becomes an object a hundred times its size."""

LONGEST_VALUE, LONGEST_SEQUENCE = 65_536, 1_000_000
"""Bytes of header elements that are looked at; the longest sequence that shows anything holds tables of 16 bit."""

LARGEST_SEQUENCE = 20_000_000
"""Bytes of a sequence in any DICOM file: what lies in it is taken apart when somebody asks for it."""

_PIXELS = 0x7FE00010
_BINARY = frozenset({"OB", "OD", "OF", "OL", "OV", "OW", "OB or OW", "UN"})
_ITEM = (b"\xfe\xff\x00\xe0", b"\xff\xfe\xe0\x00")
_PREFIX_END = 132
_DEFLATED = "1.2.840.10008.1.2.1.99"
_EXPLICIT = b"\x02\x00\x10\x00UI\x14\x001.2.840.10008.1.2.1\0"


def open_dicom(data: bytes, name: str) -> tuple[Any, str]:
    """Return the data set and the transfer syntax that the file states (implicit little endian where none).

    Raises
    ------
    ImageError
        A deflated data set that inflates beyond 250 MB or is cut off, or one of too many elements or values.
    """
    import pydicom

    syntax = ""
    start = _deflated_start(data)
    if start is not None:
        syntax = _DEFLATED
        data = bytes(128) + b"DICM" + _EXPLICIT + _inflate(data[start:], name)
    dataset = pydicom.dcmread(_Counted(data), force=True)
    _check_parts(dataset)
    if "TransferSyntaxUID" not in dataset.file_meta:
        dataset.file_meta.TransferSyntaxUID = _guessed_syntax(*dataset.original_encoding)
    return dataset, syntax or str(dataset.file_meta.TransferSyntaxUID)


def forget_bulk(dataset: Any) -> None:
    """Take elements out of a data set that no header of an image needs to be so long, before anything reads them."""
    for element in list(dataset.elements()):
        raw = element.value
        most = LONGEST_SEQUENCE if _holds_items(element) else LONGEST_VALUE
        if element.tag != _PIXELS and isinstance(raw, bytes) and len(raw) > most:
            del dataset[element.tag]


def _check_parts(dataset: Any) -> None:
    """Refuse values and items that would become objects by the million as soon as somebody looks at them."""
    for element in dataset.elements():
        raw = element.value
        if not isinstance(raw, bytes) or len(raw) <= MOST_READS or _kind(element) in _BINARY:
            continue
        if _holds_items(element):
            many = len(raw) > LARGEST_SEQUENCE or max(map(raw.count, _ITEM)) > MOST_READS
        else:
            many = raw.count(b"\\") > MOST_READS
        if many:
            raise _crowded()


def _holds_items(element: Any) -> bool:
    return _kind(element) == "SQ"


def _kind(element: Any) -> str:
    """Return the value representation, of the dictionary where the file does not say it."""
    from pydicom.datadict import dictionary_has_tag, dictionary_VR

    if element.VR not in ("UN", None):
        return str(element.VR)
    return str(dictionary_VR(element.tag)) if dictionary_has_tag(element.tag) else "UN"


def _crowded() -> ImageError:
    return ImageError(
        "holds more elements than an image has",
        "one periapical image",
        "export it again",
        code="image-size",
    )


class _Counted(io.BytesIO):
    """Bytes that may be read so many times."""

    reads = 0

    def read(self, size: int | None = -1, /) -> bytes:
        """Return the next bytes.

        Raises
        ------
        ImageError
            It is asked too often.
        """
        self.reads += 1
        if self.reads > MOST_READS:
            raise _crowded()
        return super().read(size)


def _guessed_syntax(implicit: bool | None, little: bool | None) -> UID:
    from pydicom.uid import ExplicitVRBigEndian, ExplicitVRLittleEndian, ImplicitVRLittleEndian

    if implicit is not False:
        return ImplicitVRLittleEndian
    return ExplicitVRLittleEndian if little else ExplicitVRBigEndian


def _deflated_start(data: bytes) -> int | None:
    """Return where a deflated data set starts, or ``None`` where pydicom would not inflate.

    The meta group is read as pydicom reads it: as explicit, and again as implicit where that cannot be.
    """
    for implicit in (False, True):
        stream = _Counted(data)
        stream.seek(_PREFIX_END if data[128:_PREFIX_END] == b"DICM" else 0)
        try:
            deflated = _says_deflated(stream, implicit=implicit)
        except NotImplementedError:
            continue
        return stream.tell() if deflated else None
    return None


def _says_deflated(stream: io.BytesIO, *, implicit: bool) -> bool:
    from pydicom.filereader import read_dataset

    meta = read_dataset(stream, implicit, True, stop_when=_beyond_meta)
    for element in list(meta.elements())[:1]:
        _ = meta[element.tag]
    return str(meta.get("TransferSyntaxUID", "")) == _DEFLATED


def _beyond_meta(tag: Any, _vr: str | None, _length: int) -> bool:
    return int(tag) >> 16 != 2


def _inflate(deflated: bytes, name: str) -> bytes:
    inflater = zlib.decompressobj(-zlib.MAX_WBITS)
    inflated = inflater.decompress(deflated, MAX_INFLATED_BYTES + 1)
    if len(inflated) > MAX_INFLATED_BYTES:
        raise ImageError(
            f"inflates to more than {MAX_INFLATED_BYTES // 1_000_000} MB",
            "one periapical image",
            code="image-size",
            subject=name,
        )
    if not inflater.eof:
        raise ImageError(
            "the file is damaged: its deflated part is cut off",
            "",
            "export it again",
            code="image-damaged",
            subject=name,
        )
    return inflated
