"""Decode a frame in a process of its own, so that a decoder that ends the process on a damaged frame ends only that.

For decoders that are known to do so; it costs the start of an interpreter, some tenths of a second.
"""

from __future__ import annotations

import io
import os
import subprocess
import sys
from typing import Any

import numpy as np
from numpy.typing import NDArray

LONGEST_S = 120
_CHILD = "from radlength.imaging.apart import serve; serve()"
_KEPT = (
    "Rows", "Columns", "SamplesPerPixel", "PhotometricInterpretation", "BitsAllocated", "BitsStored", "HighBit",
    "PixelRepresentation", "PlanarConfiguration", "PixelData",
)  # fmt: skip


def decode_apart(dataset: Any, plugin: str) -> NDArray[Any]:
    """Return the decoded pixels of a data set, nothing but pixels and their description handed over.

    Parameters
    ----------
    dataset
        A pydicom data set with a transfer syntax.
    plugin
        Name of the decoder, as pydicom calls it.

    Raises
    ------
    ValueError
        The decoder failed, ended its process or took more than two minutes.
    """
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join(part for part in sys.path if part)}
    try:
        done = subprocess.run(  # noqa: S603 - our own interpreter, no words of the file among the arguments
            [sys.executable, "-P", "-c", _CHILD],
            input=plugin.encode() + b"\n" + _stripped(dataset),
            capture_output=True,
            timeout=LONGEST_S,
            env=environment,
            check=True,
        )
    except (subprocess.SubprocessError, OSError) as exc:
        message = f"{plugin} could not decode the frame"
        raise ValueError(message) from exc
    return np.asarray(np.load(io.BytesIO(done.stdout), allow_pickle=False))


def serve() -> None:
    """Answer one request on the standard streams; what decoders print is dropped."""
    kept = os.dup(1)
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 1)
    answer = answered(sys.stdin.buffer.read())
    with os.fdopen(kept, "wb") as out:
        out.write(answer)


def answered(request: bytes) -> bytes:
    """Return the pixels asked for, as a NumPy file."""
    import pydicom

    plugin, _, file = request.partition(b"\n")
    dataset = pydicom.dcmread(io.BytesIO(file))
    dataset.pixel_array_options(decoding_plugin=plugin.decode())
    out = io.BytesIO()
    np.save(out, dataset.pixel_array, allow_pickle=False)
    return out.getvalue()


def _stripped(dataset: Any) -> bytes:
    from pydicom.dataset import Dataset, FileMetaDataset
    from pydicom.uid import UID, SecondaryCaptureImageStorage

    bare = Dataset()
    bare.file_meta = FileMetaDataset()
    bare.file_meta.TransferSyntaxUID = dataset.file_meta.TransferSyntaxUID
    bare.file_meta.MediaStorageSOPClassUID = bare.SOPClassUID = SecondaryCaptureImageStorage
    bare.file_meta.MediaStorageSOPInstanceUID = bare.SOPInstanceUID = UID("2.25.1")
    for keyword in _KEPT:
        if keyword in dataset:
            bare[keyword] = dataset[keyword]
    out = io.BytesIO()
    bare.save_as(out, enforce_file_format=True)
    return out.getvalue()
