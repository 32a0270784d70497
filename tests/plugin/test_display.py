"""Grey values as they are shown: presets and local contrast."""

import numpy as np
import pytest

from napari_radlength._display import PRESETS, local_contrast, shown


def test_local_contrast_is_for_the_eye_and_stays_in_range():
    grey = np.linspace(0.4, 0.6, 4096, dtype=np.float32).reshape(64, 64)
    stretched = local_contrast(grey)
    assert stretched.min() >= 0
    assert stretched.max() <= 1
    assert np.ptp(stretched) > np.ptp(grey)
    assert grey.max() == np.float32(0.6)


@pytest.mark.parametrize("preset", list(PRESETS))
def test_every_preset_has_a_window(preset):
    _, (low, high) = shown(np.zeros((30, 30), np.float32), preset)
    assert low < high
