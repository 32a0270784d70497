"""An image that got another name, with its record: refusals tell the new one, and reading changes no byte."""

import pytest
from helpers.records import canal, radiograph, reference, small_record

from radlength.errors import RecordError
from radlength.record import dump_record, load_record, record_path, save_record

OLD, NEW = "Anna Invented.tif", "0001.tif"


@pytest.fixture
def renamed(tmp_path):
    """Return the record of an image whose first name told whose it was."""
    made = save_record(small_record(radiograph(name=OLD)), tmp_path / OLD)
    made.rename(record_path(tmp_path / NEW))
    return load_record(tmp_path / NEW)


EDITS = {
    "no such canal": lambda r: r.entry("DL"),
    "no such reference": lambda r: r.without_reference("ruler"),
    "a pitch too large": lambda r: r.with_stated_pitch(9.0, 9.0),
    "outside the image": lambda r: r.with_canal(canal(path=((0, 0), (1300, 2)))),
    "a reference that is not there": lambda r: r.with_canal(canal(), reference="ruler"),
    "a name too long": lambda r: r.with_reference(reference("x"), who="x" * 501),
    "other size": lambda r: r.rebind(radiograph(rows=20)),
    "after another edit": lambda r: r.with_canal(canal(name="ML")).entry("DL"),
}


@pytest.mark.parametrize("edit", EDITS.values(), ids=EDITS)
def test_no_refusal_tells_the_old_name(renamed, edit):
    with pytest.raises(RecordError) as caught:
        edit(renamed)
    assert caught.value.subject == NEW
    assert OLD not in str(caught.value)


def test_reading_changes_no_byte_of_the_record(renamed, tmp_path):
    assert renamed.image.name == OLD
    assert renamed.image_name == NEW
    assert dump_record(renamed) == record_path(tmp_path / NEW).read_bytes()
