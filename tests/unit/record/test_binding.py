"""Marks belong to pixels: the hash binds them, and binding again is an act that the history keeps."""

from dataclasses import replace

import numpy as np
import pytest
from helpers.records import full_record, radiograph, small_record

from radlength.errors import ImageError, RecordError
from radlength.imaging import FileFacts, Radiograph
from radlength.record import Record, check_binding, measure_entry, measure_record, stated_radiograph

IMAGE = radiograph()
OTHER = radiograph(seed=1)
WORDS = r"these marks were made on another image \(pixel hash differs\)"


def test_the_same_pixels_agree_whatever_the_file_is_called():
    check_binding(small_record(IMAGE), radiograph(name="copy of tooth.tif"))


def test_the_same_values_in_eight_bit_agree():
    small = np.arange(6, dtype=np.uint8).reshape(2, 3)
    record = Record.new(Radiograph.from_array(small))
    check_binding(record, Radiograph.from_array(small.astype(np.uint16)))


@pytest.mark.parametrize(
    "other",
    [
        OTHER,
        replace(IMAGE, pixel_sha256="0" * 64),
        replace(IMAGE, facts=FileFacts(orientation=6)),
        replace(IMAGE, stored=IMAGE.stored[:-1]),
    ],
    ids=["pixels", "hash", "orientation", "rows"],
)
def test_other_pixels_are_refused(other):
    record = small_record(IMAGE)
    with pytest.raises(RecordError, match=WORDS):
        check_binding(record, other)
    with pytest.raises(RecordError, match=WORDS):
        measure_record(record, other)


def test_binding_again_is_kept_in_the_history():
    record = small_record(IMAGE).rebind(OTHER, who="invented person")
    check_binding(record, OTHER)
    last = record.history[-1]
    assert last.what == f"bound to other pixels; before: {IMAGE.pixel_sha256}"
    assert last.who == "invented person"
    assert IMAGE.pixel_sha256 in last.details
    with pytest.raises(RecordError, match=WORDS):
        check_binding(record, IMAGE)


def test_an_image_of_another_size_is_never_bound():
    words = "made on 1300 x 900 pixels, this image has 900 x 1300; an image of the same size"
    with pytest.raises(RecordError, match=words):
        small_record(IMAGE).rebind(radiograph(rows=900, columns=1300))


def test_every_canal_is_measured_with_its_own_marks():
    record = full_record(IMAGE)
    measured = measure_record(record, IMAGE)
    assert [entry.canal.label for entry, _ in measured] == ["46 MB", "46 D"]
    main, borrowed = (estimate for _, estimate in measured)
    assert (main.method, borrowed.method) == ("in_canal", "borrowed")
    assert main.terminus.distance_mm == 1.0
    assert borrowed.working_length.value_mm == pytest.approx(borrowed.canal_length.value_mm - 1.5)
    assert main.marking.apex_mm == 0.2


def test_a_changed_mark_changes_the_number():
    record = small_record(IMAGE)
    entry = record.entry("MB")
    shorter = record.with_canal(
        replace(entry.canal, path_px=entry.canal.path_px[:-1]), reference="file in MB"
    )
    before = measure_entry(record, entry, IMAGE).canal_length.value_mm
    after = measure_entry(shorter, shorter.entry("MB"), IMAGE).canal_length.value_mm
    assert after == pytest.approx(21.0, abs=0.01)
    assert before - after > 0.5


def test_a_stated_pitch_is_the_scale_of_an_image_that_has_none():
    record = small_record(IMAGE)
    assert stated_radiograph(record, IMAGE) is IMAGE
    stated = stated_radiograph(record.with_stated_pitch(0.02, 0.03), IMAGE)
    assert (stated.scale.row_mm, stated.scale.column_mm, stated.scale.meaning) == (0.02, 0.03, "detector")


def test_a_stated_pitch_never_replaces_that_of_the_header():
    image = Radiograph.from_array(IMAGE.stored, row_mm=0.03, column_mm=0.03)
    record = small_record(image).with_stated_pitch(0.02, 0.02)
    with pytest.raises(ImageError, match="the header already states a pixel spacing"):
        measure_record(record, image)
