"""A pitch that no receptor has is refused wherever it is stated: to an image, and to its record."""

import pytest
from helpers.records import radiograph, small_record

from radlength.errors import ImageError, RecordError


@pytest.mark.parametrize(
    ("row_mm", "column_mm", "code"),
    [
        (0.004, 0.02, "pitch-out-of-range"),
        (0.02, 0.21, "pitch-out-of-range"),
        (float("nan"), 0.02, "pitch-out-of-range"),
        (0.1, 0.02, "pitch-unequal"),
        (0.02, 0.061, "pitch-unequal"),
    ],
)
def test_a_pitch_of_no_receptor_is_refused_by_image_and_record(row_mm, column_mm, code):
    with pytest.raises(ImageError) as of_image:
        radiograph().with_stated_pitch(row_mm, column_mm)
    with pytest.raises(RecordError) as of_record:
        small_record().with_stated_pitch(row_mm, column_mm)
    assert of_image.value.code == of_record.value.code == code


@pytest.mark.parametrize("pitch", [(0.005, 0.005), (0.2, 0.2), (0.02, 0.06), (0.06, 0.02)])
def test_the_ends_of_what_is_allowed_are_taken(pitch):
    assert small_record().with_stated_pitch(*pitch).stated_pitch_mm == pitch
    found = radiograph().with_stated_pitch(*pitch).scale
    assert (found.row_mm, found.column_mm) == pitch
