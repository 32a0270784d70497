"""Speed of opening images, each beside the bare decoder and hash it cannot do without, in the same run."""

import hashlib
import io
import statistics
import time

import cv2
import numpy as np
import pydicom
import pytest
import tifffile
from helpers.image_files import dicom_dataset, dicom_file

from radlength.imaging import read_radiograph

VALUES = np.random.default_rng(0).integers(0, 4096, (2000, 2000), dtype=np.uint16)


def digest(pixels):
    return hashlib.sha256(pixels.astype("<u2").tobytes()).hexdigest()


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("images")
    tifffile.imwrite(path / "four.tif", VALUES)
    cv2.imwrite(str(path / "four.png"), VALUES)
    (path / "four.dcm").write_bytes(dicom_file(dicom_dataset(VALUES)))
    return path


PEERS = {
    "four.tif": tifffile.imread,
    "four.png": lambda path: cv2.imread(str(path), cv2.IMREAD_UNCHANGED),
    "four.dcm": lambda path: pydicom.dcmread(io.BytesIO(path.read_bytes())).pixel_array,
}


@pytest.mark.parametrize("name", PEERS)
class TestOpeningFourMegapixels:
    def test_ours(self, benchmark, folder, name):
        benchmark.group = f"opening {name}, 16 bit"
        assert benchmark(lambda: read_radiograph(folder / name)).shape == VALUES.shape

    def test_decoder_and_sha256(self, benchmark, folder, name):
        benchmark.group = f"opening {name}, 16 bit"
        assert len(benchmark(lambda: digest(PEERS[name](folder / name)))) == 64


@pytest.mark.benchmark(group="opening four.tif against its peer, taking turns (target 1.2)")
def test_a_tiff_opens_within_a_fifth_of_its_peer(benchmark, folder):
    path, ours, peers = folder / "four.tif", [], []

    def turn():
        start = time.perf_counter()
        digest(tifffile.imread(path))
        middle = time.perf_counter()
        read_radiograph(path)
        peers.append(middle - start)
        ours.append(time.perf_counter() - middle)

    benchmark.pedantic(turn, rounds=21, warmup_rounds=2)
    ratio = statistics.median(ours) / statistics.median(peers)
    benchmark.extra_info["ratio"] = ratio
    print(f"opening a TIFF takes {ratio:.2f} of the peer's time")
    assert ratio <= 1.2
