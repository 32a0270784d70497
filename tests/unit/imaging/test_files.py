"""PNG, JPEG and TIFF: what is read, what is said, what is refused."""

import io
import struct
import zlib

import numpy as np
import pytest
import tifffile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from radlength.errors import ImageError, RadlengthError
from radlength.imaging import Radiograph, pixel_hash, read_radiograph

GREY8 = np.arange(20 * 30, dtype=np.uint16).reshape(20, 30).astype(np.uint8)
GREY16 = (np.arange(20 * 30, dtype=np.uint16) * 97).reshape(20, 30)


def png(array, **options):
    out = io.BytesIO()
    Image.fromarray(array).save(out, "PNG", **options)
    return out.getvalue()


def jpeg(array, **options):
    out = io.BytesIO()
    Image.fromarray(array).save(out, "JPEG", quality=95, **options)
    return out.getvalue()


def tiff(array, **options):
    out = io.BytesIO()
    tifffile.imwrite(out, array, **options)
    return out.getvalue()


def exif(orientation):
    tags = Image.Exif()
    tags[0x0112] = orientation
    return tags


def chunk(kind, body):
    return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))


@pytest.fixture
def read(tmp_path):
    def read_bytes(data, name="tooth.png"):
        path = tmp_path / name
        path.write_bytes(data)
        return read_radiograph(path)

    return read_bytes


@pytest.mark.parametrize("values", [GREY8, GREY16], ids=["8-bit", "16-bit"])
@pytest.mark.parametrize("write", [png, tiff], ids=["png", "tiff"])
def test_lossless_values_are_kept_as_they_are(read, write, values):
    radiograph = read(write(values))
    np.testing.assert_array_equal(radiograph.stored, values)
    assert radiograph.stored.dtype == values.dtype
    assert radiograph.pixel_sha256 == pixel_hash(values)
    assert radiograph.hash_rule == "stored-samples"
    assert not radiograph.stored.flags.writeable
    assert radiograph.scale.meaning == "none"


def test_the_content_decides_and_not_the_suffix(read):
    assert read(tiff(GREY16), "tooth.png").facts.format == "tiff"


def test_the_hash_binds_values_not_files(read):
    one, two = read(png(GREY8), "a.png"), read(tiff(GREY8.astype(np.uint16)), "b.tif")
    assert one.pixel_sha256 == two.pixel_sha256
    assert read(png(GREY8[:, ::-1].copy()), "c.png").pixel_sha256 != one.pixel_sha256


def test_a_colour_picture_is_made_grey_and_said(read):
    colour = np.zeros((4, 5, 3), np.uint8)
    colour[..., 0] = 200
    radiograph = read(png(colour))
    assert radiograph.stored[0, 0] == 60  # 0.299 × 200, ITU-R BT.601
    assert [finding.code for finding in radiograph.findings] == ["image-colour"]


def test_equal_channels_are_grey_without_a_word(read):
    radiograph = read(png(np.repeat(GREY8[..., None], 3, axis=2)))
    np.testing.assert_array_equal(radiograph.stored, GREY8)
    assert radiograph.findings == ()


def test_transparency_is_said(read):
    layered = np.dstack([GREY8, GREY8, GREY8, np.full_like(GREY8, 128)])
    assert "image-transparent" in [finding.code for finding in read(png(layered)).findings]


def test_a_palette_is_resolved(read):
    image = Image.fromarray(GREY8).convert("P")
    out = io.BytesIO()
    image.save(out, "PNG")
    assert read(out.getvalue()).shape == GREY8.shape


@pytest.mark.parametrize("orientation", range(1, 9))
def test_exif_orientation_is_undone(read, orientation):
    blocks = np.kron(np.array([[10, 90, 170], [50, 130, 240]], np.uint8), np.ones((16, 16), np.uint8))
    oriented = {
        1: blocks,
        2: blocks[:, ::-1],
        3: blocks[::-1, ::-1],
        4: blocks[::-1],
        5: blocks.T,
        6: np.rot90(blocks, 1),
        7: blocks[::-1, ::-1].T,
        8: np.rot90(blocks, -1),
    }[orientation]
    radiograph = read(jpeg(np.ascontiguousarray(oriented), exif=exif(orientation)))
    assert radiograph.facts.orientation == orientation
    assert radiograph.shape == (32, 48)
    np.testing.assert_allclose(radiograph.stored[8::16, 8::16], [[10, 90, 170], [50, 130, 240]], atol=4)


def test_a_jpeg_is_bound_by_its_frame_and_orientation_but_not_its_comments(read):
    plain = read(jpeg(GREY8))
    assert plain.hash_rule == "encoded-frame"
    assert plain.facts.lossy
    assert read(jpeg(GREY8, comment=b"seen")).pixel_sha256 == plain.pixel_sha256
    assert read(jpeg(GREY8, exif=exif(3))).pixel_sha256 != plain.pixel_sha256
    assert read(jpeg(255 - GREY8)).pixel_sha256 != plain.pixel_sha256


@pytest.mark.parametrize(
    "data",
    [
        pytest.param(png(GREY8, dpi=(600, 600)), id="png"),
        pytest.param(jpeg(GREY8, dpi=(600, 600)), id="jpeg"),
        pytest.param(tiff(GREY8, resolution=(600, 600), resolutionunit="INCH"), id="tiff"),
    ],
)
def test_dots_per_inch_are_never_a_scale(read, data):
    radiograph = read(data)
    assert radiograph.scale.meaning == "none"
    assert radiograph.scale.row_mm is None
    assert [(f.code, f.severity) for f in radiograph.findings] == [("resolution-tag", "note")]


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF"])
def test_pixels_that_a_file_says_are_not_square_are_a_question(read, kind):
    """Pillow writes the tags: 300 dots per inch along a row, 600 down a column; the same each way says nothing."""

    def codes(dpi):
        out = io.BytesIO()
        Image.fromarray(GREY8).save(out, kind, dpi=dpi)
        return [finding.code for finding in read(out.getvalue()).findings]

    assert "resolution-unequal" in codes((300, 600))
    assert "resolution-unequal" not in codes((300, 300))


def test_min_is_white_keeps_its_values_and_is_shown_inverted(read):
    radiograph = read(tiff(GREY8, photometric="miniswhite"))
    np.testing.assert_array_equal(radiograph.stored, GREY8)
    assert radiograph.facts.photometric == "MONOCHROME1"
    assert radiograph.display()[0, 0] > radiograph.display()[0, 29]


def test_a_thumbnail_is_not_a_second_page(read, tmp_path):
    path = tmp_path / "thumb.tif"
    with tifffile.TiffWriter(path) as file:
        file.write(GREY16)
        file.write(GREY8[::4, ::4], subfiletype=1)
    np.testing.assert_array_equal(read_radiograph(path).stored, GREY16)


def test_several_pages_are_refused(read):
    with pytest.raises(ImageError, match=r"has several pages; one image; export the page"):
        read(tiff(np.stack([GREY8, GREY8]), photometric="minisblack"))


@pytest.mark.parametrize(
    ("data", "words"),
    [
        pytest.param(b"", "the file is empty", id="empty"),
        pytest.param(
            b"hello, this is text",
            "not an image of a known kind; PNG, JPEG, TIFF or DICOM; export it as one",
            id="text",
        ),
        pytest.param(png(GREY8)[:-20], "damaged: it is cut off", id="png-cut"),
        pytest.param(png(GREY8)[:40] + b"\0" + png(GREY8)[41:], "damaged", id="png-flipped"),
        pytest.param(jpeg(GREY8)[:-40], "damaged: it is cut off", id="jpeg-cut"),
        pytest.param(tiff(GREY8)[:200], "damaged|no page", id="tiff-cut"),
        pytest.param(tiff(GREY8.astype(np.float32)), "holds float32 values", id="float"),
        pytest.param(tiff(GREY8.astype(np.int16)), "holds int16 values", id="signed"),
        pytest.param(png(GREY8 > 100), "has 1-bit grey values; 8 or 16 bit; export the image", id="one-bit"),
        pytest.param(
            tiff(GREY8, photometric="palette", colormap=np.zeros((3, 256), np.uint16)),
            "1 a pixel, as numbers of a table of colours; .*; export it in grey",
            id="palette",
        ),
        pytest.param(
            png(GREY8)[:-13] + b"\0" + png(GREY8)[-12:], r"checksum of a part \(IDAT\) is", id="sum"
        ),
    ],
)
def test_what_cannot_be_read_is_refused_with_a_sentence(read, data, words):
    with pytest.raises(ImageError, match=words):
        read(data)


def test_a_bomb_is_refused_by_its_declared_size(read):
    header = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 0, 0, 0, 0)
    bomb = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", b"") + chunk(b"IEND", b"")
    with pytest.raises(ImageError, match=r"declares 60000 x 60000 pixels"):
        read(bomb)


def test_missing_files_and_folders(tmp_path):
    with pytest.raises(ImageError, match="there is no such file; check the path"):
        read_radiograph(tmp_path / "none.png")
    with pytest.raises(ImageError, match="it is a folder, not a file"):
        read_radiograph(tmp_path)


@pytest.mark.parametrize(
    "array",
    [np.zeros((2, 2, 3), np.uint8), np.zeros((3, 3)), np.zeros((0, 3), np.uint8)],
    ids=["colour", "float", "empty"],
)
def test_only_grey_arrays_become_radiographs(array):
    with pytest.raises(ImageError, match="one grey image"):
        Radiograph.from_array(array)


def test_a_stated_pitch_needs_room_and_reason():
    radiograph = Radiograph.from_array(GREY8)
    assert radiograph.with_stated_pitch(0.02, 0.03).scale.column_mm == 0.03
    with pytest.raises(ImageError, match=r"0\.005 to 0\.2 mm"):
        radiograph.with_stated_pitch(2.0, 2.0)
    with pytest.raises(ImageError, match="already states a pixel spacing"):
        radiograph.with_stated_pitch(0.02, 0.02).with_stated_pitch(0.02, 0.02)


@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    start=st.sampled_from(
        [b"", b"\x89PNG\r\n\x1a\n", b"\xff\xd8", b"II*\0", b"MM\0*", b"\0" * 128 + b"DICM"]
    ),
    rest=st.binary(max_size=300),
)
def test_arbitrary_bytes_raise_nothing_but_refusals(read, start, rest):
    words = "read"
    try:
        read(start + rest)
    except RadlengthError as exc:
        words = str(exc)
    assert words


@settings(max_examples=200, suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    base=st.sampled_from([png(GREY8), jpeg(GREY8), tiff(GREY16)]),
    edits=st.lists(st.tuples(st.integers(0, 10_000), st.integers(0, 255)), min_size=1, max_size=5),
    cut=st.one_of(st.none(), st.integers(1, 400)),
)
def test_mutated_files_raise_nothing_but_refusals(read, base, edits, cut):
    data = bytearray(base)
    for place, value in edits:
        data[place % len(data)] = value
    try:
        radiograph = read(bytes(data[:cut]))
    except RadlengthError:
        return
    assert radiograph.stored.ndim == 2
