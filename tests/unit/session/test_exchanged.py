"""An image file exchanged for another while its marks are edited: nothing is written beside the wrong picture."""

import os
import shutil

import numpy as np
import pytest
from helpers.image_files import EXIF_TURNED, dicom_dataset, dicom_file, pillow_file
from helpers.noise_session import CANAL, session_on, write_noise

from radlength.errors import RecordError
from radlength.imaging import read_radiograph
from radlength.record import load_record, record_path
from radlength.session import Session, unsaved_path


@pytest.fixture
def image(tmp_path):
    return write_noise(tmp_path / "export.png")


@pytest.fixture
def session(image):
    made = session_on(image)
    made.state_pitch(0.03)
    return made


def test_no_record_is_written_beside_another_picture_and_the_marks_are_kept(session, image):
    write_noise(image, 2)
    assert session.is_exchanged()
    with pytest.raises(RecordError, match="another picture by now") as refused:
        session.save()
    assert refused.value.code == "image-exchanged"
    assert not record_path(image).exists()
    assert session.is_dirty
    session.keep_unsaved()
    assert unsaved_path(image).exists()
    assert Session.open(image).find_unsaved().marks is None


def test_a_confirmation_is_refused_too(session, image):
    tip = ((20.0, 58.0), (780.0, 78.0))
    session.apply(session.with_reference(path_px=tip, length_mm=21.0, canal="single"))
    write_noise(image, 2)
    with pytest.raises(RecordError, match="another picture by now"):
        session.confirm_length(21.0, rule="tip within 1 mm")
    assert not record_path(image).exists()


def test_the_same_picture_written_again_and_one_put_back_are_no_others(session, image):
    before = image.read_bytes()
    os.utime(image, ns=(1, 1))
    assert not session.is_exchanged()
    write_noise(image, 2)
    assert session.is_exchanged()
    image.write_bytes(before)
    session.save()
    assert load_record(image).canals


def test_a_file_that_is_half_written_is_another_and_one_that_is_gone_is_not(session, image):
    image.write_bytes(image.read_bytes()[:200])
    with pytest.raises(RecordError, match="another picture by now"):
        session.save()
    image.unlink()
    assert not session.is_exchanged()
    session.save()
    assert record_path(image).exists()


def test_a_folder_that_is_gone_is_not_made_again(session, image):
    shutil.rmtree(image.parent)
    for write_it in (session.keep_unsaved, session.save):
        with pytest.raises(RecordError, match="the folder of the image is gone"):
            write_it()
    assert not image.parent.exists()
    assert session.is_dirty
    image.parent.mkdir()
    session.keep_unsaved()
    assert unsaved_path(image).exists()


def test_records_kept_elsewhere_outlast_the_folder_of_the_image(session, image, tmp_path_factory):
    session.records_dir = tmp_path_factory.mktemp("records") / "new"
    shutil.rmtree(image.parent)
    session.keep_unsaved()
    session.save()
    assert record_path(image, session.records_dir).exists()


def test_an_image_that_another_program_turned_is_another(tmp_path):
    path = tmp_path / "export.jpg"
    pixels = np.random.default_rng(1).integers(0, 200, (900, 120), dtype=np.uint8)
    path.write_bytes(pillow_file(pixels, "JPEG"))
    session = Session.open(path)
    path.write_bytes(pillow_file(pixels, "JPEG", exif=b"Exif\0\0" + EXIF_TURNED))
    assert session.is_exchanged()


def test_another_pitch_in_the_header_is_another_picture_and_gives_another_length(tmp_path):
    values = np.random.default_rng(1).integers(0, 4000, (900, 120)).astype(np.uint16)
    path = tmp_path / "tooth.dcm"
    path.write_bytes(dicom_file(dicom_dataset(values)))
    session = Session.open(path)
    session.apply(session.with_canal(tooth="11", path_px=tuple(CANAL)))
    before = session.estimate()[0].canal_length.value_mm
    path.write_bytes(dicom_file(dicom_dataset(values, ImagerPixelSpacing=[0.03, 0.03])))
    assert session.is_exchanged()
    session.radiograph = read_radiograph(path)  # as the window does where the pixels are the same
    assert session.estimate()[0].canal_length.value_mm == pytest.approx(1.5 * before)
    assert not session.is_exchanged()
