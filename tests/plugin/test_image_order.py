"""Images of a folder in order of time."""

from helpers.drawn_canal import canal_pixels, write_pixels

from napari_radlength._images import shots_in


def test_images_are_in_order_of_the_day_their_file_states(tmp_path):
    import pydicom
    from pydicom.dataset import FileDataset, FileMetaDataset

    write_pixels(tmp_path / "a.png", canal_pixels())
    for name, day in (("later.dcm", "20240301"), ("earlier.dcm", "20230501")):
        meta = FileMetaDataset()
        meta.TransferSyntaxUID = pydicom.uid.ExplicitVRLittleEndian
        meta.MediaStorageSOPClassUID = "1.2.840.10008.5.1.4.1.1.1.3"
        meta.MediaStorageSOPInstanceUID = "1.2.3"
        made = FileDataset(str(tmp_path / name), {}, file_meta=meta, preamble=b"\0" * 128)
        made.StudyDate = day
        made.save_as(tmp_path / name)
    (tmp_path / "broken.dcm").write_text("no image")
    (tmp_path / "notes.txt").write_text("no image")
    shots = shots_in([tmp_path, tmp_path / "a.png"])
    assert [shot.path.name for shot in shots][:2] == ["earlier.dcm", "later.dcm"]
    assert shots[0].label == "2023-05-01  earlier"
    assert {shot.path.name for shot in shots if not shot.stated} == {"a.png", "broken.dcm"}
