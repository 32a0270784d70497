"""Speed of the core, each beside a named peer in the same group of the same run."""

import hashlib
import io
import subprocess
import sys

import GTC
import numpy as np
import pytest
import tifffile
from helpers.shapes import bent_canal
from metrolopy import gummy
from uncertainties import ufloat

from radlength.imaging import read_radiograph
from radlength.length import Canal, estimate_length
from radlength.length.simulate import draw_budget, draw_clicks
from radlength.scale import Frame, Reference, reference_scale

PATH = bent_canal(22.0, 30.0) * 40 + 50
CANAL = Canal(tooth="45", name="single", path_px=PATH)
REFERENCE = Reference(path_px=PATH[:-1], length_mm=20.5, limit_mm=0.25)
LIMIT = 0.25 / 3**0.5


@pytest.mark.benchmark(group="closed form of one canal (target 1 ms)")
class TestClosedForm:
    def test_ours_with_curves_marks_and_findings(self, benchmark):
        assert benchmark(lambda: estimate_length(CANAL, REFERENCE).canal_length.u_mm) > 0

    def test_uncertainties_ratio_only(self, benchmark):
        assert benchmark(lambda: (ufloat(20, LIMIT) * ufloat(23.1, 0.1) / ufloat(21, 0.1)).std_dev) > 0

    def test_gtc_ratio_only(self, benchmark):
        def ratio():
            return GTC.uncertainty(GTC.ureal(20, LIMIT) * GTC.ureal(23.1, 0.1) / GTC.ureal(21, 0.1))

        assert benchmark(ratio) > 0

    def test_metrolopy_ratio_only(self, benchmark):
        assert benchmark(lambda: float((gummy(20, LIMIT) * gummy(23.1, 0.1) / gummy(21, 0.1)).u)) > 0


@pytest.mark.benchmark(
    group="Monte Carlo of 1e5 draws (targets 30 ms at length level, 500 ms through clicks)"
)
class TestMonteCarlo:
    def test_ours_at_length_level(self, benchmark):
        estimate = estimate_length(CANAL, REFERENCE)
        draws = benchmark(lambda: draw_budget(estimate, np.random.default_rng(1), 100_000))
        assert len(draws) == 100_000

    def test_ours_through_clicks_and_fit(self, benchmark):
        estimate = estimate_length(CANAL, REFERENCE)
        scale = reference_scale(REFERENCE, Frame(), canal_name="single")
        draws = benchmark(lambda: draw_clicks(estimate, scale, Frame(), np.random.default_rng(1), 100_000))
        assert len(draws) == 100_000

    def test_metrolopy_ratio_only(self, benchmark):
        ratio = gummy(20, LIMIT) * gummy(23.1, 0.1) / gummy(21, 0.1)
        benchmark(lambda: ratio.sim(n=100_000))
        assert ratio.usim > 0


@pytest.fixture(scope="module")
def four_megapixels(tmp_path_factory):
    path = tmp_path_factory.mktemp("images") / "four.tif"
    tifffile.imwrite(path, np.random.default_rng(0).integers(0, 4096, (2000, 2000), dtype=np.uint16))
    return path


@pytest.mark.benchmark(group="opening a 4-Mpx 16-bit TIFF (target 1.2 times the peer)")
class TestOpening:
    def test_ours(self, benchmark, four_megapixels):
        assert benchmark(lambda: read_radiograph(four_megapixels)).shape == (2000, 2000)

    def test_tifffile_sha256_and_one_conversion(self, benchmark, four_megapixels):
        def peer():
            pixels = tifffile.imread(four_megapixels)
            return hashlib.sha256(pixels.astype("<u2").tobytes()).hexdigest()

        assert len(benchmark(peer)) == 64


@pytest.mark.benchmark(group="start (targets 0.3 s import, 0.5 s help)", min_rounds=5)
class TestStart:
    @pytest.mark.parametrize(
        "command",
        [
            pytest.param(["-c", "import radlength"], id="import-radlength"),
            pytest.param(["-c", "import radlength; radlength.estimate_length"], id="first-name-used"),
            pytest.param(["-m", "radlength.cli", "--help"], id="radlength-help"),
            pytest.param(["-c", "import numpy"], id="peer-import-numpy"),
        ],
    )
    def test_start(self, benchmark, command):
        done = benchmark(lambda: subprocess.run([sys.executable, *command], capture_output=True, check=True))
        assert done.returncode == 0


def test_the_peer_reads_the_same_pixels(four_megapixels):
    pixels = tifffile.imread(io.BytesIO(four_megapixels.read_bytes()))
    np.testing.assert_array_equal(read_radiograph(four_megapixels).stored, pixels)
