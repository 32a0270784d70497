"""Records on disk: replaced whole or not at all, and never over bytes that nobody has read."""

import errno
import json
import os
import stat
import sys
from pathlib import Path

import pytest
from helpers.records import as_bytes, full_record, radiograph, raw, small_record

from radlength.errors import RecordError
from radlength.record import dump_record, load_record, record_path, save_record
from radlength.record import store as store_module
from radlength.uncertainty import Marking

RECORD = full_record()
POSIX = pytest.mark.skipif(sys.platform == "win32", reason="rights and locks of a folder are of POSIX")


@pytest.fixture
def image(tmp_path):
    return tmp_path / "tooth.tif"


def names(folder):
    return sorted(path.name for path in folder.iterdir())


def test_a_record_lies_beside_its_image_and_formats_never_share_one(tmp_path):
    assert record_path("a/tooth.png") == Path("a/tooth.png.radlength.json")
    assert record_path("a/tooth.dcm") != record_path("a/tooth.png")
    assert record_path("/media/tooth.dcm", tmp_path) == tmp_path / "tooth.dcm.radlength.json"


@pytest.mark.parametrize("path", ["", "/", "a\0b.png"], ids=["empty", "root", "null"])
def test_a_path_that_names_no_file_is_refused(path):
    with pytest.raises(RecordError, match="the path of the image names no file"):
        record_path(path)
    with pytest.raises(RecordError, match="names no file"):
        load_record(path)
    with pytest.raises(RecordError, match="names no file"):
        save_record(RECORD, path)


def test_what_is_saved_is_what_is_loaded(image):
    path = save_record(RECORD, image)
    assert path == record_path(image)
    assert path.read_bytes() == dump_record(RECORD)
    assert load_record(image) == RECORD
    assert names(image.parent) == ["tooth.tif.radlength.json"]


def test_a_record_in_another_folder(image, tmp_path):
    folder = tmp_path / "records"
    folder.mkdir()
    save_record(RECORD, image, records_dir=folder)
    assert names(folder) == ["tooth.tif.radlength.json"]
    assert load_record(image, records_dir=folder).model_dump() == RECORD.model_dump()
    with pytest.raises(RecordError, match="there is no record of this image"):
        load_record(image)


def test_edit_and_save_again_and_again(image):
    record = small_record()
    for number in range(1, 4):
        save_record(record, image)
        record = record.with_marking(Marking(apex_mm=number / 10))
    save_record(record)
    assert len(load_record(image).history) == 4


def test_a_loaded_record_knows_where_it_came_from(image):
    save_record(RECORD, image)
    save_record(load_record(image).with_marking(Marking()))
    assert len(load_record(image).history) == len(RECORD.history) + 1


def test_a_record_without_an_image_file_asks_for_one():
    with pytest.raises(RecordError, match="does not know its image file; give the path"):
        save_record(small_record(radiograph()))


def test_the_second_of_two_writers_is_told_and_nothing_is_lost(image):
    save_record(small_record(), image)
    first, second = load_record(image), load_record(image)
    save_record(first.with_marking(Marking(apex_mm=0.1), who="first"))
    kept = record_path(image).read_bytes()
    with pytest.raises(RecordError, match="changed by somebody else since it was read; nothing was written"):
        save_record(second.with_marking(Marking(apex_mm=0.2), who="second"))
    assert record_path(image).read_bytes() == kept
    assert load_record(image).history[-1].who == "first"


def test_a_record_that_was_not_read_is_never_overwritten(image):
    save_record(RECORD, image)
    with pytest.raises(RecordError, match="there is a record on disk that was not read"):
        save_record(small_record(), image)
    assert load_record(image).model_dump() == RECORD.model_dump()


@pytest.mark.parametrize(
    ("there", "words"),
    [
        (b"{", "not JSON"),
        (b"", "not JSON"),
        (as_bytes(raw(RECORD) | {"version": 7}), r"record version 7 is newer"),
    ],
    ids=["half", "empty", "newer"],
)
def test_what_cannot_be_read_is_kept_and_never_replaced(image, there, words):
    save_record(small_record(), image)
    record = load_record(image)
    record_path(image).write_bytes(there)
    for writer in (record, small_record()):
        with pytest.raises(RecordError, match=words):
            save_record(writer, image)
        assert record_path(image).read_bytes() == there
    with pytest.raises(RecordError, match=words):
        load_record(image)


@pytest.mark.parametrize("part", ["history", "estimates"])
def test_history_and_results_on_disk_are_only_added_to(image, part):
    save_record(RECORD, image)
    record = load_record(image)
    shortened = record.model_copy(update={part: getattr(record, part)[1:]})
    with pytest.raises(
        RecordError, match=f"the {part} on disk would lose what is in it; entries are only added"
    ):
        save_record(shortened)
    assert load_record(image) == record


def test_what_could_not_be_read_again_is_not_written(image):
    broken = RECORD.model_copy(update={"history": ()})
    with pytest.raises(RecordError, match="the history is empty"):
        save_record(broken, image)
    assert names(image.parent) == []


def test_a_record_removed_meanwhile_is_written_anew(image):
    save_record(RECORD, image)
    record = load_record(image)
    record_path(image).unlink()
    save_record(record)
    assert load_record(image) == record


def failing(code):
    def fail(*_args, **_kwargs):
        raise OSError(code, os.strerror(code))

    return fail


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS, errno.EACCES], ids=errno.errorcode.get)
@pytest.mark.parametrize("step", ["open", "fsync", "replace"])
def test_a_disk_that_is_full_or_shut_is_a_sentence_and_the_old_record_stays(image, monkeypatch, code, step):
    save_record(small_record(), image)
    kept = record_path(image).read_bytes()
    changed = load_record(image).with_marking(Marking())
    if step == "open":
        opened = Path.open
        monkeypatch.setattr(
            Path, "open", lambda self, mode="r": failing(code)() if mode == "xb" else opened(self, mode)
        )
    else:
        monkeypatch.setattr(
            *((store_module.os, "fsync") if step == "fsync" else (Path, "replace")), failing(code)
        )
    with pytest.raises(
        RecordError, match=f"the record cannot be written: {os.strerror(code)}; free space or rights"
    ):
        save_record(changed)
    monkeypatch.undo()
    assert record_path(image).read_bytes() == kept
    assert names(image.parent) == ["tooth.tif.radlength.json"]
    save_record(changed)


def test_a_folder_that_is_not_there_is_a_sentence(tmp_path):
    with pytest.raises(RecordError, match=r"cannot be written: No such file or directory.*--records DIR"):
        save_record(RECORD, tmp_path / "nowhere" / "tooth.tif")


def test_a_record_that_is_not_there_says_how_to_make_one(image):
    with pytest.raises(RecordError, match="no record of this image; mark it first: radlength mark --help"):
        load_record(image)


def test_a_folder_in_the_place_of_the_record_is_a_sentence(image):
    record_path(image).mkdir()
    with pytest.raises(RecordError, match=r"the record cannot be read: .*left untouched"):
        load_record(image)
    with pytest.raises(RecordError, match="the record cannot be written: "):
        save_record(RECORD, image)


def test_a_file_without_end_is_refused_without_reading_it_all(image, monkeypatch):
    monkeypatch.setattr(store_module, "MAX_BYTES", 1_000_000)
    monkeypatch.setattr("radlength.record.parse.MAX_BYTES", 1_000_000)
    record_path(image).write_bytes(b" " * 5_000_000)
    with pytest.raises(RecordError, match="larger than 1 MB, the most that is read"):
        load_record(image)


@POSIX
def test_rights_of_a_record_stay_as_they_were_set(image):
    path = save_record(small_record(), image)
    path.chmod(0o600)
    save_record(load_record(image).with_marking(Marking()))
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


@POSIX
def test_rights_of_a_new_record_follow_the_mask_of_the_user(image):
    mask = os.umask(0o077)
    try:
        path = save_record(RECORD, image)
    finally:
        os.umask(mask)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


@POSIX
@pytest.mark.skipif(hasattr(os, "geteuid") and os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_without_rights_is_a_sentence(image):
    image.parent.chmod(0o500)
    try:
        with pytest.raises(RecordError, match="cannot be written: Permission denied"):
            save_record(RECORD, image)
    finally:
        image.parent.chmod(0o700)


def test_a_folder_that_cannot_be_flushed_is_no_failure(image, monkeypatch):
    synced = os.fsync
    monkeypatch.setattr(
        store_module.os,
        "fsync",
        lambda fd: failing(errno.EINVAL)() if stat.S_ISDIR(os.fstat(fd).st_mode) else synced(fd),
    )
    save_record(RECORD, image)
    assert load_record(image) == RECORD


def test_no_path_of_this_machine_is_written(image):
    text = save_record(RECORD, image).read_text(encoding="utf-8")
    assert str(image.parent) not in text
    assert json.loads(text)["image"]["name"] == "tooth.tif"
