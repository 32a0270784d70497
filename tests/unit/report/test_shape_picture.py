"""The picture of a preview is given away by itself: what it says of itself, and what it flags."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from radlength.imaging import Radiograph
from radlength.length import Canal, Estimate, Terminus, estimate_length
from radlength.report.shape_picture import preview_picture
from radlength.scale import Reference
from radlength.shape.preview import Wanted, make_preview
from radlength.trade import CAUTION, NOT_CONFIRMED

RADIOGRAPH = Radiograph.from_array(np.full((600, 200), 90, np.uint8), name="tooth.png")
EDGES = {"left": np.array([(240.0, 60), (540, 60)]), "right": np.array([(240.0, 140), (540, 140)])}


def straight() -> Estimate:
    """Return a straight canal of 20 mm at 25 pixels a millimetre."""
    reference = Reference(path_px=[(20, 100), (520, 100)], length_mm=20.0, limit_mm=0.1)
    canal = Canal("45", "single", [(row, 100.0) for row in range(20, 521, 50)])
    return estimate_length(canal, reference, terminus=Terminus(offset_mm=1.0))


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> Callable[..., str]:
    def words(threshold_mm: float | None = None, **status: str) -> str:
        written: list[str] = []

        def write(pixels: Any, text: str, *_: Any) -> None:
            written.append(text)

        monkeypatch.setattr("radlength.report.shape_picture.write_text", write)
        estimate = straight()
        made = make_preview(estimate, Wanted(options=("25/.06",), edges_px=EDGES, threshold_mm=threshold_mm))
        preview_picture(RADIOGRAPH, estimate, made, **status)
        return " ".join(written)

    return words


def test_it_says_that_nothing_is_confirmed_and_what_the_record_says(drawn: Callable[..., str]) -> None:
    told = drawn()
    assert NOT_CONFIRMED in told
    assert CAUTION in told
    assert f"{NOT_CONFIRMED} · invented case" in drawn(status=f"{NOT_CONFIRMED} · invented case")


def test_the_threshold_behind_a_mark_is_told_with_it(drawn: Callable[..., str]) -> None:
    assert "Red and !: below your threshold of 1.3 mm." in drawn(1.3)
    assert "threshold" not in drawn()
