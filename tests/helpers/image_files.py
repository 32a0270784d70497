"""Bytes of small image files, for tests that break them."""

import io
import struct
import zlib

import numpy as np
import tifffile
from PIL import Image
from pydicom.dataset import Dataset, FileMetaDataset
from pydicom.uid import ExplicitVRBigEndian, ExplicitVRLittleEndian

PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"
EXIF_TURNED = b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0\x06\0\0"
"""An EXIF block that says orientation 6."""

DICOM_VALUES = (np.arange(64 * 96, dtype=np.uint16) % 4096).reshape(64, 96)


def noise(shape=(64, 96), dtype=np.uint8):
    return np.random.default_rng(7).integers(0, np.iinfo(dtype).max, shape, dtype=dtype)


def pillow_file(array, kind, **options):
    out = io.BytesIO()
    Image.fromarray(array).save(out, kind, **options)
    return out.getvalue()


def tiff_file(array, **options):
    out = io.BytesIO()
    tifffile.imwrite(out, array, **options)
    return out.getvalue()


def png_chunk(kind, body):
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


def png_grey(rows, *extras, shape=None):
    """A PNG of a list of rows of bytes, with extra chunks before the pixels."""
    height, width = shape or (len(rows), len(rows[0]))
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    packed = zlib.compress(b"".join(b"\0" + bytes(row) for row in rows))
    chunks = [(b"IHDR", header), *extras, (b"IDAT", packed), (b"IEND", b"")]
    return PNG_SIGNATURE + b"".join(png_chunk(kind, body) for kind, body in chunks)


def zlib_zeros(count):
    packer = zlib.compressobj(9)
    step = bytes(10_000_000)
    return b"".join(packer.compress(step) for _ in range(count // len(step))) + packer.flush()


def dicom_dataset(values=DICOM_VALUES, syntax=ExplicitVRLittleEndian, **changes):
    """An invented intra-oral image; a change of ``None`` takes an attribute away."""
    ds = Dataset()
    ds.file_meta = FileMetaDataset()
    ds.file_meta.TransferSyntaxUID = syntax
    ds.file_meta.MediaStorageSOPClassUID = ds.SOPClassUID = "1.2.840.10008.5.1.4.1.1.1.3"
    ds.file_meta.MediaStorageSOPInstanceUID = ds.SOPInstanceUID = "2.25.1234"
    ds.PatientName = "Nobody^Invented"
    ds.Modality = "IO"
    ds.Rows, ds.Columns = values.shape[:2]
    ds.SamplesPerPixel, ds.PhotometricInterpretation = 1, "MONOCHROME2"
    ds.BitsAllocated, ds.BitsStored, ds.HighBit, ds.PixelRepresentation = 16, 12, 11, 0
    ds.ImagerPixelSpacing = [0.02, 0.02]
    ds.PixelData = values.astype(">u2" if syntax == ExplicitVRBigEndian else "<u2").tobytes()
    ds["PixelData"].VR = "OW"
    for keyword, value in changes.items():
        if value is None:
            delattr(ds, keyword)
        else:
            setattr(ds, keyword, value)
    return ds


def dicom_file(ds=None):
    out = io.BytesIO()
    (ds if ds is not None else dicom_dataset()).save_as(out, enforce_file_format=True)
    return out.getvalue()
