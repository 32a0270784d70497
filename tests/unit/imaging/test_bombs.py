"""Small files that ask for much: refused, or read, in a capped process that ends soon.

Time is not asserted beyond the alarm of the process, which leaves a loaded machine plenty; before it was guarded, each
of the quick ones took from half a minute to days.
"""

import sys

import numpy as np
import pytest
from helpers import bombs
from helpers.image_files import dicom_file, pillow_file, png_chunk

from radlength.errors import ImageError

MEGABYTES, SECONDS = 700, 60
TEXT = png_chunk(b"zTXt", b"a\0\0" + bombs.zeros(100_000_000))
THUMBNAIL = (254, bombs.LONG, 1, 1)
ASKED = bombs.tiff_page(100, 100, offsets=(0x3FFFFFFF, 8), counts=(0x3FFFFFFF, 8))
GIANT_TAG = sorted([*bombs.tiff_page(10, 10), (700, 1, 0xFFFFFFF0, 8)])

REFUSED = {
    "png-huge": (lambda: bombs.png(30_000, 30_000, packed=b""), "image-size"),
    "png-four-16-bit-channels": (
        lambda: bombs.png(10_000, 10_000, bits=16, kind=6, packed=b""),
        "image-size",
    ),
    "png-many-chunks": (lambda: bombs.png(9, 9, more=png_chunk(b"teXt", b"") * 200_000), "image-damaged"),
    "tiff-huge": (lambda: bombs.tiff(bombs.tiff_page(30_000, 30_000), bytes(100)), "image-size"),
    "tiff-one-strip-for-all-deflate": (
        lambda: bombs.tiff_same_strip(5000, 5000, bombs.zeros(40_000_000), 8),
        "image-damaged",
    ),
    "tiff-one-strip-for-all-packbits": (
        lambda: bombs.tiff_same_strip(5000, 5000, b"\x81\0" * 200_000, 32773),
        "image-damaged",
    ),
    "tiff-one-strip-for-all": (
        lambda: bombs.tiff_same_strip(5000, 5000, bytes(1_000_000), 1),
        "image-damaged",
    ),
    "tiff-tiles-of-a-pixel": (lambda: bombs.tiff_tiny_tiles(1000), "image-damaged"),
    "tiff-many-pages": (lambda: bombs.tiff_of_pages(200_000), "image-pages"),
    "tiff-page-follows-itself": (lambda: bombs.tiff([THUMBNAIL], next_page=8), "image-pages"),
    "tiff-image-follows-itself": (
        lambda: bombs.tiff(bombs.tiff_page(10, 10), bytes(100), next_page=108),
        "image-pages",
    ),
    "tiff-tags-beyond-the-end": (
        lambda: bombs.tiff(bombs.tiff_page(10, 10), bytes(100), count=65_535),
        "image-damaged",
    ),
    "tiff-a-billion-strips": (lambda: bombs.tiff(ASKED, bytes(100)), "image-damaged"),
    "tiff-hundred-bytes-for-81-megapixels": (
        lambda: bombs.tiff(bombs.tiff_page(9000, 9000), bytes(100)),
        "image-damaged",
    ),
    "jpeg-scans-over-much": (lambda: bombs.jpeg_of_scans(190, 9990), "image-damaged"),
    "jpeg-fill-bytes": (lambda: b"\xff\xd8" + b"\xff" * 30_000_000, "image-damaged"),
    "jpeg-many-segments": (lambda: b"\xff\xd8" + b"\xff\xfe\0\2" * 500_000, "image-damaged"),
    "dicom-many-elements": (lambda: bombs.dicom_of_elements(300_000), "image-size"),
    "dicom-many-items": (lambda: bombs.dicom_of_items(400_000, undefined=True), "image-damaged"),
    "dicom-deep": (lambda: bombs.dicom_nested(100_000), "image-damaged"),
    "dicom-zeros": (lambda: bombs.dicom_deflated(bytes(40_000_000)), "image-size"),
}

READ = {
    "png-zipped-words": lambda: bombs.png(20, 20, more=TEXT * 5),
    "png-more-than-it-declares": lambda: bombs.png(20, 20, packed=bombs.zeros(100_000_000)),
    "tiff-giant-tag": lambda: bombs.tiff(GIANT_TAG, bytes(100)),
    "dicom-items-of-known-length": lambda: bombs.dicom_of_items(150_000, undefined=False),
    "dicom-values": lambda: bombs.dicom_of_values(150_000),
}
"""What surrounds the picture is not looked at; the picture itself is sound."""


capped = pytest.mark.skipif(sys.platform == "win32", reason="needs fork and limits of a process")


@capped
@pytest.mark.parametrize(("bomb", "code"), REFUSED.values(), ids=REFUSED.keys())
def test_a_bomb_is_refused_with_little_memory_and_soon(bounded_reader, bomb, code):
    ended = bounded_reader.read(bomb(), megabytes=MEGABYTES, seconds=SECONDS)
    print(ended)
    assert ended.how == code


@capped
@pytest.mark.parametrize("reader", ["image", "dicom"])
@pytest.mark.parametrize(
    "bomb",
    [
        pytest.param(lambda: bombs.dicom_of_items(1_000_000, undefined=False), id="items"),
        pytest.param(lambda: bombs.dicom_of_values(10_000_000), id="values"),
    ],
)
def test_what_would_become_objects_by_the_million_is_refused(bounded_reader, reader, bomb):
    ended = bounded_reader.read(bomb(), reader, megabytes=MEGABYTES, seconds=SECONDS)
    print(ended)
    assert ended.how == "image-size"


@capped
@pytest.mark.parametrize("bomb", READ.values(), ids=READ.keys())
def test_a_bomb_beside_a_picture_is_not_touched(bounded_reader, bomb):
    ended = bounded_reader.read(bomb(), megabytes=MEGABYTES, seconds=SECONDS)
    print(ended)
    assert ended.how == "read"


@pytest.mark.skipif(sys.platform != "linux", reason="address space is capped on Linux only")
@pytest.mark.parametrize(
    ("planted", "how"),
    [
        pytest.param("hungry", "error-MemoryError", id="memory"),
        pytest.param("endless", "signal-14", id="time"),
        pytest.param("aborting", "signal-6", id="crash"),
        pytest.param("leaking", "error-KeyError", id="other-error"),
        pytest.param("lying", "error-WrongNumberError", id="wrong-number"),
    ],
)
def test_the_capped_process_catches_a_planted_reader(bounded_reader, planted, how):
    ended = bounded_reader.read(bombs.png(40, 30), f"planted-{planted}", megabytes=100, seconds=2)
    assert ended.how == how
    assert not ended.refused


def small_bomb(name):
    return {
        "png-chunks": lambda: bombs.png(9, 9, more=png_chunk(b"teXt", b"") * 30),
        "png-values": lambda: bombs.png(10_000, 10_000, kind=2, packed=b""),
        "tiff-chunks": lambda: bombs.tiff_tiny_tiles(6),
        "tiff-over-each-other": lambda: bombs.tiff_same_strip(40, 15, bytes(400), 1),
        "jpeg-segments": lambda: b"\xff\xd8\xff\xff\xff" + b"\xff\xfe\0\2" * 30,
        "jpeg-scans": lambda: bombs.jpeg_of_scans(5, 9990),
        "dicom-elements": lambda: bombs.dicom_of_elements(30),
    }[name]()


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("png-chunks", "it has more than 20 chunks"),
        ("png-values", "declares 10000 x 10000 pixels of 3 values"),
        ("tiff-chunks", "it has more than 20 strips or tiles"),
        ("tiff-over-each-other", "its strips or tiles lie over each other, or beyond its end"),
        ("jpeg-segments", "it has more than 20 segments"),
        ("jpeg-scans", "it goes over the picture more often than any picture needs"),
        ("dicom-elements", "holds more elements than an image has; one periapical image"),
    ],
)
def test_the_refusal_says_what_there_was_too_much_of(read_bytes, monkeypatch, name, words):
    for place in ("png._MOST_CHUNKS", "tiff._MOST_CHUNKS", "jpeg._MOST_SEGMENTS", "dicom_file.MOST_READS"):
        monkeypatch.setattr(f"radlength.imaging.{place}", 20)
    monkeypatch.setattr("radlength.imaging.jpeg._MOST_SCANNED", 100_000_000)
    with pytest.raises(ImageError, match=words):
        read_bytes(small_bomb(name))


def test_a_long_header_value_is_forgotten_and_the_picture_is_read(read_bytes):
    plain = read_bytes(dicom_file())
    assert read_bytes(bombs.dicom_of_values(40_000)).pixel_sha256 == plain.pixel_sha256
    with_items = read_bytes(bombs.dicom_of_items(130_000, undefined=False))
    assert with_items.facts.tooth_codes == ()


def test_a_header_value_of_usual_length_is_read(read_bytes):
    assert read_bytes(bombs.dicom_of_values(2)).scale.row_mm == 1.0


def test_colour_in_many_rows_is_made_grey_as_in_few(read_bytes):
    colour = np.random.default_rng(3).integers(0, 255, (600, 8, 3), dtype=np.uint8)
    tall = read_bytes(pillow_file(colour, "PNG")).stored
    parts = [read_bytes(pillow_file(colour[row : row + 100], "PNG")).stored for row in range(0, 600, 100)]
    np.testing.assert_array_equal(tall, np.vstack(parts))
