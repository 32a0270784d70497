"""Image files as some programs write them: read as others read them, doubted, or refused; never quietly otherwise."""

import io
import os
import struct
import subprocess
import sys

import numpy as np
import pytest
import tifffile
from helpers.image_files import noise, pillow_file, tiff_file
from PIL import Image, ImageOps

from radlength.errors import ImageError

GREY = noise()
OUTLINE = np.dstack([GREY, GREY, GREY])


def damaged_lzw():
    """An LZW file with one wrong bit, which Pillow's decoder refuses too."""
    whole = pillow_file(noise((300, 400)), "TIFF", compression="tiff_lzw")
    for place in range(1000, 30_000, 13):
        broken = bytearray(whole)
        broken[place] ^= 64
        try:
            Image.open(io.BytesIO(broken)).load()
        except OSError:
            return bytes(broken)
    raise AssertionError


def test_lzw_that_its_decoder_finds_wrong_is_refused(read_bytes, capfd):
    data = damaged_lzw()
    capfd.readouterr()
    with pytest.raises(ImageError, match="damaged: a part of the picture cannot be decoded"):
        read_bytes(data, "tooth.tif")
    assert capfd.readouterr().err == ""


def test_it_is_refused_where_the_log_of_the_decoder_is_silenced(tmp_path):
    (tmp_path / "tooth.tif").write_bytes(damaged_lzw())
    code = "from radlength.imaging import read_radiograph; read_radiograph('tooth.tif')"
    done = subprocess.run(
        [sys.executable, "-c", code],
        cwd=tmp_path,
        env=os.environ | {"OPENCV_LOG_LEVEL": "SILENT"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert "a part of the picture cannot be decoded" in done.stderr


def test_lzw_with_transparent_places_is_refused_and_without_is_read(read_bytes):
    """Pillow writes transparency that stands by itself; OpenCV would multiply the grey by it."""
    clear = pillow_file(np.dstack([OUTLINE, np.full_like(GREY, 255)]), "TIFF", compression="tiff_lzw")
    np.testing.assert_array_equal(read_bytes(clear).stored, GREY)
    part = pillow_file(np.dstack([OUTLINE, GREY]), "TIFF", compression="tiff_lzw")
    with pytest.raises(ImageError, match="transparent places, whose grey the decoder darkens"):
        read_bytes(part)


def test_a_tiff_that_does_not_say_what_is_white_is_a_question(read_bytes):
    """TIFF 6.0, tag 262, has no default; libtiff takes 0 as black where it must show such a file."""
    data = tiff_file(GREY, metadata=None)
    entry = data.index(struct.pack("<HH", 262, 3))
    read = read_bytes(data[:entry] + struct.pack("<H", 261) + data[entry + 2 :])
    np.testing.assert_array_equal(read.stored, GREY)
    assert read.facts.photometric == "MONOCHROME2"
    assert [finding.code for finding in read.findings] == ["image-polarity"]


STRIPS = noise((320, 200))


def changed(data, tag, change):
    """A TIFF file with another first value of an entry (or its only one, where the entry holds it itself)."""
    with tifffile.TiffFile(io.BytesIO(data)) as file:
        found = file.pages[0].tags[tag]
        place, size = found.valueoffset, {3: 2, 4: 4}[int(found.dtype)]
    place += size if found.count > 1 else 0
    return data[:place] + change.to_bytes(size, "little") + data[place + size :]


@pytest.mark.parametrize(
    ("tag", "change"),
    [("StripByteCounts", 0), ("StripOffsets", 0), ("RowsPerStrip", 20), ("RowsPerStrip", 39)],
    ids=["without length", "without place", "half a strip", "a row less"],
)
@pytest.mark.parametrize(
    "data",
    [
        pytest.param(tiff_file(STRIPS, metadata=None, rowsperstrip=40, compression="zlib"), id="deflate"),
        pytest.param(pillow_file(STRIPS, "TIFF", compression="packbits", tiffinfo={278: 40}), id="packbits"),
        pytest.param(pillow_file(STRIPS, "TIFF", compression="tiff_lzw", tiffinfo={278: 40}), id="lzw"),
    ],
)
def test_strips_that_do_not_make_up_the_picture_are_refused(read_bytes, data, tag, change):
    """Otherwise what follows moves up: a length across would be short, and nothing would say so."""
    np.testing.assert_array_equal(read_bytes(data).stored, STRIPS)
    with pytest.raises(ImageError, match="damaged"):
        read_bytes(changed(data, tag, change))


@pytest.mark.parametrize("tag", ["StripByteCounts", "StripOffsets"])
def test_a_strip_that_is_missing_is_refused_uncompressed_too(read_bytes, tag):
    data = tiff_file(STRIPS, metadata=None, rowsperstrip=40)
    with pytest.raises(ImageError, match="its strips or tiles do not make up the picture"):
        read_bytes(changed(data, tag, 0))


@pytest.mark.parametrize("tag", ["TileByteCounts", "TileOffsets"])
def test_a_tile_that_is_missing_is_refused(read_bytes, tag):
    data = tiff_file(STRIPS, metadata=None, tile=(64, 64))
    with pytest.raises(ImageError, match="its strips or tiles do not make up the picture"):
        read_bytes(changed(data, tag, 0))


@pytest.mark.parametrize("planes", ["contig", "separate"])
@pytest.mark.parametrize("shape", [{"rowsperstrip": 40}, {"tile": (64, 64)}], ids=["strips", "tiles"])
@pytest.mark.parametrize("compression", [None, "zlib"])
def test_colour_in_strips_and_tiles_is_whole(read_bytes, planes, shape, compression):
    axis = 0 if planes == "separate" else -1
    data = tiff_file(
        np.stack([STRIPS] * 3, axis),
        metadata=None,
        photometric="rgb",
        planarconfig=planes,
        compression=compression,
        **shape,
    )
    np.testing.assert_array_equal(read_bytes(data).stored, STRIPS)


def exif(kind, orientation):
    block = struct.pack("<2sHIHHHI", b"II", 42, 8, 1, 274, kind, 1)
    block += struct.pack(
        {3: "<HH", 4: "<I"}[kind], *((orientation, 0) if kind == 3 else (orientation,))
    ) + bytes(4)
    body = b"Exif\0\0" + block
    return b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body


@pytest.mark.parametrize(
    "blocks",
    [exif(4, 6), exif(3, 6) + exif(3, 1), exif(3, 6) + exif(4, 3)],
    ids=["long number", "two blocks", "two of different kind"],
)
def test_a_turn_that_others_read_is_undone(read_bytes, blocks):
    """EXIF wants a short number in one block; Pillow and OpenCV read the first block, and long numbers too."""
    plain = pillow_file(GREY, "JPEG", quality=95)
    data = plain[:2] + blocks + plain[2:]
    theirs = ImageOps.exif_transpose(Image.open(io.BytesIO(data)))
    read = read_bytes(data, "tooth.jpg")
    assert read.facts.orientation == 6
    np.testing.assert_array_equal(read.stored, np.asarray(theirs))
