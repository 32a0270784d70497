from __future__ import annotations

import json

import numpy as np
import pytest
from helpers import records
from helpers.quality_scenes import marked

from radlength.errors import MarkError, RecordError
from radlength.imaging import Radiograph
from radlength.record import Record
from radlength.record.quality import image_quality
from radlength.trade import CAUTION


def test_marks_of_another_image_are_refused() -> None:
    with pytest.raises(RecordError, match="another image"):
        image_quality(records.radiograph(seed=1), records.small_record())


def test_without_marks_only_pixels_speak() -> None:
    quality = image_quality(records.radiograph())
    assert {measure.subject for measure in quality.measures} == {None}
    assert "apex_in_field" not in {measure.name for measure in quality.measures}
    with pytest.raises(RecordError, match="no measure 'apex_in_field'"):
        quality.measure("apex_in_field")


def test_plain_data_with_the_caution() -> None:
    case = marked()
    data = image_quality(case.radiograph, case.record).as_dict()
    assert data["caution"] == CAUTION
    assert json.loads(json.dumps(data, allow_nan=False)) == data


def test_the_image_stays_untouched_and_the_result_the_same() -> None:
    case = marked()
    before = case.radiograph.stored.copy()
    first = image_quality(case.radiograph, case.record)
    assert np.array_equal(case.radiograph.stored, before)
    assert image_quality(case.radiograph, case.record) == first


def test_straight_is_what_lies_beside_unless_it_is_said() -> None:
    case = marked()
    usual = {
        item.subject for item in image_quality(case.radiograph, case.record).measures if item.name == "bend"
    }
    said = image_quality(case.radiograph, case.record, straight=["file"])
    assert usual == {"wire"}
    assert {item.subject for item in said.measures if item.name == "bend"} == {"file"}


def test_no_scale_means_not_measured_never_good() -> None:
    image = records.radiograph()
    record = Record.new(image, canals=[records.canal()])
    quality = image_quality(image, record)
    for name in ("apex_in_field", "reference_point_in_field", "magnification"):
        assert quality.measure(name).verdict == "not measured"


@pytest.mark.parametrize("apex", [(1299.0, 455.0), (700.0, 899.0)], ids=["edge", "side"])
def test_an_apex_at_the_edge_is_a_doubt(apex: tuple[float, float]) -> None:
    image = Radiograph.from_array(records.radiograph().stored, row_mm=0.025, column_mm=0.025)
    record = Record.new(image, canals=[records.canal(path=[(80.0, 410.0), (500.0, 420.0), apex])])
    found = image_quality(image, record).measure("apex_in_field")
    assert found.verdict == "doubt"
    assert found.value is not None
    assert found.value < 0.1


@pytest.mark.parametrize(("room_px", "verdict"), [(72, "doubt"), (88, "good")])
def test_two_millimetres_around_the_apex(room_px: int, verdict: str) -> None:
    """European Society of Endodontology 2006: at least 2 to 3 mm of the periapical region (from memory)."""
    image = Radiograph.from_array(records.radiograph().stored, row_mm=0.0263, column_mm=0.0263)
    apex = (1299.5 - room_px, 455.0)
    record = Record.new(image, canals=[records.canal(path=[(80.0, 410.0), (500.0, 420.0), apex])])
    found = image_quality(image, record).measure("apex_in_field")
    assert found.verdict == verdict
    # the header speaks of the detector; 1.065 is the middle of the magnifications of Lazzerini 1996
    assert found.value == pytest.approx(room_px * 0.0263 / 1.065, rel=0.01)


def test_an_edge_needs_two_points() -> None:
    with pytest.raises(MarkError, match="at least two"):
        image_quality(records.radiograph(), edge_px=[(3.0, 4.0)])
