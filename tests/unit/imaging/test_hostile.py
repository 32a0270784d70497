"""PNG, JPEG and TIFF files made to deceive a decoder, and files damaged where a decoder only whispers."""

import os
import struct
import tracemalloc

import numpy as np
import pytest
import tifffile
from helpers.image_files import EXIF_TURNED, noise, pillow_file, png_grey, tiff_file, zlib_zeros
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from radlength.errors import ImageError, RadlengthError
from radlength.imaging import Radiograph, limits, read_radiograph

GREY = noise()
ROWS = [bytes(range(row, row + 30)) for row in range(20)]
JPEG = pillow_file(GREY, "JPEG", quality=90)
PROGRESSIVE = pillow_file(GREY, "JPEG", quality=90, progressive=True)


def codes(radiograph):
    return [finding.code for finding in radiograph.findings]


@pytest.mark.parametrize("data", [JPEG, PROGRESSIVE], ids=["baseline", "progressive"])
def test_a_jpeg_cut_off_and_closed_again_is_refused_in_silence(read_bytes, capfd, data):
    with pytest.raises(ImageError, match="the file is damaged: it is cut off; export it again"):
        read_bytes(data[: len(data) * 2 // 3] + b"\xff\xd9")
    assert capfd.readouterr() == ("", "")


def test_bytes_that_belong_to_nothing_are_said_and_not_printed(read_bytes, capfd):
    untidy = read_bytes(JPEG[:-2] + b"\x12" * 20 + b"\xff\xd9")
    np.testing.assert_array_equal(untidy.stored, read_bytes(JPEG).stored)
    assert codes(untidy) == ["image-untidy"]
    assert capfd.readouterr().err == ""


def test_what_follows_the_end_of_a_jpeg_is_no_part_of_it(read_bytes):
    assert read_bytes(JPEG + b"junk \xff\xd9" * 9).pixel_sha256 == read_bytes(JPEG).pixel_sha256


def test_a_progressive_jpeg_has_the_values_of_its_decoder(read_bytes, tmp_path):
    (tmp_path / "oracle.jpg").write_bytes(PROGRESSIVE)
    oracle = np.asarray(Image.open(tmp_path / "oracle.jpg"))
    np.testing.assert_allclose(read_bytes(PROGRESSIVE).stored.astype(int), oracle, atol=1)


def test_a_jpeg_of_endless_scans_is_refused(read_bytes):
    start = JPEG.index(b"\xff\xda")
    scan = JPEG[start:-2]
    with pytest.raises(ImageError, match="it has more than 200 scans"):
        read_bytes(JPEG[:start] + scan * 202 + b"\xff\xd9")


@pytest.mark.parametrize(
    ("precision", "size", "words"),
    [
        pytest.param(12, (64, 96), "has 12-bit samples; 8 bit", id="12-bit"),
        pytest.param(8, (60_000, 60_000), "declares 60000 x 60000 pixels", id="bomb"),
        pytest.param(8, (0, 96), "declares 0 x 96 pixels", id="no-rows"),
    ],
)
def test_a_jpeg_is_judged_by_its_frame_header(read_bytes, precision, size, words):
    at = JPEG.index(b"\xff\xc0")
    header = struct.pack(">BHH", precision, *size)
    with pytest.raises(ImageError, match=words):
        read_bytes(JPEG[: at + 4] + header + JPEG[at + 9 :])


def test_a_png_that_holds_fewer_rows_than_it_declares_is_refused(read_bytes):
    with pytest.raises(ImageError, match="the file is damaged: it cannot be decoded"):
        read_bytes(png_grey(ROWS[:9], shape=(20, 30)))


def test_chunks_that_make_no_picture_never_reach_the_decoder(read_bytes):
    bomb = b"Comment\0\0" + zlib_zeros(200_000_000)
    tracemalloc.start()
    radiograph = read_bytes(png_grey(ROWS, (b"zTXt", bomb), (b"iCCP", bomb)))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert radiograph.stored.tolist() == [list(row) for row in ROWS]
    assert peak < 20_000_000


def test_the_exif_chunk_of_a_png_turns_it(read_bytes):
    plain, turned = read_bytes(png_grey(ROWS)), read_bytes(png_grey(ROWS, (b"eXIf", EXIF_TURNED)))
    assert turned.facts.orientation == 6
    np.testing.assert_array_equal(turned.stored, np.rot90(plain.stored, -1))
    assert turned.pixel_sha256 != plain.pixel_sha256


def test_one_transparent_grey_of_a_png_is_said(read_bytes):
    assert codes(read_bytes(png_grey(ROWS, (b"tRNS", b"\0\x05")))) == ["image-transparent"]


def test_only_the_first_frame_of_an_animation_is_read_and_said(read_bytes):
    data = pillow_file(GREY, "PNG", save_all=True, append_images=[Image.fromarray(255 - GREY)])
    radiograph = read_bytes(data)
    np.testing.assert_array_equal(radiograph.stored, GREY)
    assert codes(radiograph) == ["image-frames"]


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16], ids=["8-bit", "16-bit"])
@pytest.mark.parametrize(
    "options",
    [
        pytest.param({"compression": "zlib"}, id="deflate"),
        pytest.param({"compression": "zlib", "predictor": True}, id="deflate-predictor"),
        pytest.param({"compression": "packbits"}, id="packbits"),
        pytest.param({"tile": (16, 16)}, id="tiles"),
        pytest.param({"bigtiff": True}, id="bigtiff"),
        pytest.param({"byteorder": ">"}, id="big-endian"),
        pytest.param({"photometric": "miniswhite", "compression": "zlib"}, id="min-is-white"),
    ],
)
def test_every_lossless_tiff_holds_the_same_values(read_bytes, dtype, options):
    values = noise(dtype=dtype)
    if options.get("compression") == "packbits":
        data = pillow_file(values, "TIFF", compression="packbits")
    else:
        data = tiff_file(values, **options)
    radiograph = read_bytes(data)
    np.testing.assert_array_equal(radiograph.stored, values)
    assert radiograph.stored.dtype == dtype


def test_lzw_is_read_in_grey_and_colour(read_bytes):
    np.testing.assert_array_equal(read_bytes(pillow_file(GREY, "TIFF", compression="tiff_lzw")).stored, GREY)
    colour = np.dstack([GREY, GREY // 2, 255 - GREY])
    luma = np.rint(colour @ np.array([0.299, 0.587, 0.114]))  # ITU-R BT.601
    read = read_bytes(pillow_file(colour, "TIFF", compression="tiff_lzw"))
    np.testing.assert_allclose(read.stored, luma, atol=1)
    assert codes(read) == ["image-colour"]


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("values", [GREY, GREY.astype(np.uint16) * 257], ids=["8 bit", "16 bit"])
def test_the_orientation_of_lzw_is_undone_once(read_bytes, values, orientation):
    """Pillow writes the file; TIFF 6.0, tag 274, as numpy turns it. OpenCV turns such a file by itself."""
    upright = {
        1: values,
        2: values[:, ::-1],
        3: values[::-1, ::-1],
        4: values[::-1],
        5: values.T,
        6: np.rot90(values, -1),
        7: values[::-1, ::-1].T,
        8: np.rot90(values),
    }[orientation]
    read = read_bytes(pillow_file(values, "TIFF", compression="tiff_lzw", tiffinfo={274: orientation}))
    np.testing.assert_array_equal(read.stored, upright)
    assert read.facts.orientation == orientation


@pytest.mark.parametrize(
    ("kind", "count", "value"),
    [(3, 0, 6), (3, 3, 8), (3, 5, 8), (5, 1, 8), (1, 1, 6), (3, 1, 9)],
    ids=["none", "three", "five", "fraction", "byte", "no-such-turn"],
)
def test_an_orientation_of_lzw_that_is_none_changes_no_pixel(read_bytes, kind, count, value):
    """TIFF 6.0, tag 274, is one SHORT of 1 to 8; three of them, or a fraction, point into the pixels here."""
    data = pillow_file(GREY, "TIFF", compression="tiff_lzw", tiffinfo={274: 6})
    entry = data.index(struct.pack("<HHI", 274, 3, 1))
    broken = data[:entry] + struct.pack("<HHII", 274, kind, count, value) + data[entry + 12 :]
    read = read_bytes(broken)
    turned = np.rot90(GREY, -1) if read.facts.orientation == 6 else GREY
    np.testing.assert_array_equal(read.stored, turned)


def test_separate_colour_planes_are_put_together(read_bytes):
    planes = np.stack([GREY, GREY // 2, 255 - GREY])
    separate = read_bytes(tiff_file(planes, photometric="rgb", planarconfig="separate"))
    together = read_bytes(tiff_file(np.moveaxis(planes, 0, -1).copy(), photometric="rgb"))
    np.testing.assert_array_equal(separate.stored, together.stored)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        pytest.param(
            pillow_file(GREY, "TIFF", compression="jpeg"), "is compressed as JPEG, which is not read", id="jpeg"
        ),
        pytest.param(
            pillow_file(GREY, "TIFF", compression="tiff_lzw", tiffinfo={262: 0}),
            "is compressed as LZW, which is not read",
            id="lzw-min-is-white",
        ),
        pytest.param(pillow_file(GREY > 99, "TIFF"), "of 1 bits", id="one-bit"),
        pytest.param(tiff_file(GREY.astype(np.complex64)), "holds complex64 values", id="complex"),
        pytest.param(
            tiff_file(noise((5, 32, 32)), photometric="minisblack", volumetric=True, tile=(16, 16, 16)),
            "8 or 16 bit unsigned grey or RGB",
            id="volume",
        ),
        pytest.param(tiff_file(GREY)[:-100], "damaged", id="cut"),
        pytest.param(tiff_file(GREY, compression="zlib", metadata=None)[:-100], "damaged", id="cut-deflate"),
    ],
)  # fmt: skip
def test_a_tiff_that_cannot_be_measured_is_refused(read_bytes, data, words):
    with pytest.raises(ImageError, match=words):
        read_bytes(data)


def test_a_strip_that_inflates_beyond_its_page_is_refused_before_it_fills_the_memory(read_bytes, tmp_path):
    path = tmp_path / "strip.tif"
    tifffile.imwrite(path, GREY, compression="zlib", rowsperstrip=64, metadata=None)
    with tifffile.TiffFile(path) as file:
        order = file.byteorder
        offset, count = (file.pages[0].tags[tag].valueoffset for tag in ("StripOffsets", "StripByteCounts"))
    data, bomb = bytearray(path.read_bytes()), zlib_zeros(400_000_000)
    data[offset : offset + 4] = struct.pack(order + "I", len(data))
    data[count : count + 4] = struct.pack(order + "I", len(bomb))
    tracemalloc.start()
    with pytest.raises(ImageError, match="it inflates to more than it declares"):
        read_bytes(bytes(data) + bomb)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 50_000_000


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.png")
    with pytest.raises(ImageError, match=r"pipe\.png: it is not a file; check the path"):
        read_radiograph(tmp_path / "pipe.png")


def test_a_file_too_large_is_not_read(read_bytes, monkeypatch):
    monkeypatch.setattr(limits, "MAX_FILE_BYTES", 100)
    with pytest.raises(ImageError, match="GB, at most 1 GB is read"):
        read_bytes(JPEG)


def test_a_name_that_no_file_can_have():
    with pytest.raises(ImageError, match="there is no such file"):
        read_radiograph("tooth\0.png")


def test_an_array_stays_its_owners():
    values = GREY.copy()
    radiograph = Radiograph.from_array(values)
    values[0, 0] = 255 - values[0, 0]
    assert radiograph.stored[0, 0] == GREY[0, 0]
    assert not radiograph.stored.flags.writeable


@pytest.mark.parametrize(
    "sides",
    [{"row_mm": 0.02}, {"row_mm": 0.02, "column_mm": 0.0}, {"row_mm": float("nan"), "column_mm": 0.02}],
    ids=["one-side", "zero", "not-a-number"],
)
def test_half_a_pixel_size_is_refused(sides):
    with pytest.raises(ImageError, match="both sides, each more than 0"):
        Radiograph.from_array(GREY, **sides)


def test_a_radiograph_introduces_itself_in_one_line():
    radiograph = Radiograph.from_array(GREY, row_mm=0.02, column_mm=0.02)
    assert repr(radiograph) == "Radiograph('array.tif', 64 x 96, array, detector scale)"


SMALL = noise((16, 24))
WHOLE = [
    png_grey(ROWS),
    pillow_file(SMALL, "JPEG"),
    pillow_file(SMALL, "JPEG", progressive=True),
    tiff_file(SMALL, compression="zlib"),
    pillow_file(SMALL, "TIFF", compression="tiff_lzw"),
    tiff_file(SMALL.astype(np.uint16), byteorder=">", bigtiff=True),
]


@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    base=st.sampled_from(WHOLE),
    edits=st.lists(st.tuples(st.integers(0, 4000), st.integers(0, 255)), min_size=1, max_size=4),
    suffix=st.sampled_from(["png", "jpg", "tif", "dcm", "txt"]),
)
def test_mutated_files_of_any_suffix_raise_nothing_but_refusals(read_bytes, base, edits, suffix):
    data = bytearray(base)
    for place, value in edits:
        data[place % len(data)] = value
    try:
        radiograph = read_bytes(bytes(data), f"tooth.{suffix}")
    except RadlengthError:
        return
    assert radiograph.display().shape == radiograph.shape
