from __future__ import annotations

import numpy as np
import pytest
from helpers.estimates import measured

from radlength.imaging import Radiograph
from radlength.length import Estimate


@pytest.fixture
def radiograph() -> Radiograph:
    stored = np.random.default_rng(4).integers(60, 120, (260, 120), dtype=np.uint8)
    return Radiograph.from_array(stored, name="tooth.png")


@pytest.fixture
def estimate(radiograph: Radiograph) -> Estimate:
    return measured(radiograph)
