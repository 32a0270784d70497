"""An edge that cannot be measured is refused by name, whoever asks."""

import numpy as np
import pytest

from radlength.errors import ImageError
from radlength.imaging import Radiograph
from radlength.imaging.quality.slanted import edge_transfer, slanted_edge

ROWS, COLUMNS = np.mgrid[:120, :100]
STEP = np.where(COLUMNS + 0.1 * ROWS > 50, 1000, 100).astype(np.uint16)


@pytest.mark.parametrize(
    ("edge_px", "words"),
    [
        pytest.param([(200, 300), (260, 306)], "it lies outside the image", id="below-and-right"),
        pytest.param([(-80, -90), (-20, -84)], "it lies outside the image", id="above-and-left"),
        pytest.param([(10, 99.5), (90, 99.9)], "one side of it lies outside the image", id="along-the-rim"),
    ],
)
def test_an_edge_outside_the_image_is_refused(edge_px, words):
    with pytest.raises(ImageError, match=words):
        edge_transfer(STEP, edge_px)
    measures = slanted_edge(Radiograph.from_array(STEP), edge_px, None)
    assert [one.value for one in measures] == [None, None]


def test_a_plain_ground_has_no_edge():
    with pytest.raises(ImageError, match="there is no step of grey across it"):
        edge_transfer(np.full((120, 100), 100, np.uint16), [(10, 50), (100, 41)])


def test_the_edge_itself_is_measured():
    """A step sampled at points has lost nothing."""
    assert edge_transfer(STEP, [(10, 49), (100, 40)]).at(0.25) == pytest.approx(1.0, abs=0.05)
