from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from helpers.cases import CANAL, REFERENCE, write_image
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from radlength.cli.marks_file import record_from_marks
from radlength.errors import RadlengthError, RecordError
from radlength.imaging import Radiograph, read_radiograph
from radlength.record import measure_record

MARKS: dict[str, Any] = {
    "format": "radlength-marks",
    "version": 1,
    "invented": True,
    "note": "for a test",
    "pitch_mm": [0.1, 0.1],
    "marking": {"apex_mm": 0.2, "stop_mm": 0.1, "tip_mm": 0.1, "path_mm": 0.1},
    "references": [
        {"name": "file", "path_px": REFERENCE, "length_mm": 21.0, "limit_mm": 0.25, "canal": "single"}
    ],
    "canals": [
        {
            "tooth": "45",
            "name": "single",
            "path_px": CANAL,
            "reference": "file",
            "terminus": {"offset_mm": 1.0},
            "reference_point": "buccal cusp tip",
        }
    ],
}


@pytest.fixture(scope="module")
def radiograph(tmp_path_factory: pytest.TempPathFactory) -> Radiograph:
    return read_radiograph(write_image(tmp_path_factory.mktemp("marks") / "tooth.png"))


def _file(folder: Path, **changes: Any) -> Path:
    path = folder / "tooth.marks.json"
    path.write_text(json.dumps(MARKS | changes), "utf-8")
    return path


def test_all_of_it_is_read(tmp_path: Path, radiograph: Radiograph) -> None:
    record = record_from_marks(_file(tmp_path), radiograph)
    entry, found = measure_record(record, radiograph)[0]
    assert record.invented
    assert record.marking.apex_mm == 0.2
    assert record.stated_pitch_mm == (0.1, 0.1)
    assert entry.canal.reference_point == "buccal cusp tip"
    assert found.canal_length.value_mm == pytest.approx(22.1)
    assert found.working_length is not None
    assert found.working_length.value_mm == pytest.approx(21.1)


def test_read_again_changes_nothing(tmp_path: Path, radiograph: Radiograph) -> None:
    path = _file(tmp_path)
    record = record_from_marks(path, radiograph)
    assert record_from_marks(path, radiograph, record=record) == record


def test_marks_of_the_file_replace_those_of_the_record(tmp_path: Path, radiograph: Radiograph) -> None:
    record = record_from_marks(_file(tmp_path), radiograph)
    other = MARKS["canals"][0] | {"name": "B", "reference": "wire"}
    wire = MARKS["references"][0] | {"name": "wire", "placement": "beside", "canal": None}
    changed = record_from_marks(
        _file(tmp_path, canals=[other], references=[wire], invented=False, marking={}),
        radiograph,
        record=record,
    )
    assert [entry.canal.label for entry in changed.canals] == ["45 B"]
    assert [reference.name for reference in changed.references] == ["wire"]
    assert changed.marking.apex_mm == 0.3
    assert not changed.invented
    assert changed.history[: len(record.history)] == record.history
    assert len(changed.history) > len(record.history)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"format": "radlength-record"}, "not a radlength-marks file of version 1"),
        ({"version": 2}, "not a radlength-marks file of version 1"),
        ({"patient": "x"}, "unknown key 'patient'"),
        ({"canals": {}}, None),
        ({"canals": [1]}, "canals are not a list of objects"),
        ({"references": "x"}, "references are not a list of objects"),
        ({"pitch_mm": 0.1}, "pitch_mm is not a pair of numbers"),
        ({"pitch_mm": [10**400, 1]}, "pitch_mm is not a pair of numbers"),
        ({"marking": {"apex": 0.3}}, "a marking has the unknown field 'apex'; it may have apex_mm, stop_mm"),
        ({"canals": [{"tooth": "45"}]}, "a canal lacks name, path_px; a JSON file"),
        ({"canals": [MARKS["canals"][0] | {"reference": 3}]}, "is not the name of one"),
        ({"canals": [MARKS["canals"][0] | {"tooth": 45}]}, "the tooth of a canal is not text"),
        (
            {"canals": [MARKS["canals"][0] | {"terminus": {"mm": 1}}]},
            "a terminus has the unknown field 'mm'; it may have offset_mm",
        ),
        ({"canals": [MARKS["canals"][0] | {"terminus": [1]}]}, "a terminus is no object with fields"),
        ({"canals": [MARKS["canals"][0] | {"paths": []}]}, "assists, reference, terminus; a JSON file"),
        (
            {"canals": [MARKS["canals"][0] | {"assists": 3}]},
            "a canal holds something that is not what its field",
        ),
    ],
    ids=lambda value: json.dumps(value)[:30] if isinstance(value, dict) else None,
)
def test_refusals(tmp_path: Path, radiograph: Radiograph, changes: dict[str, Any], said: str | None) -> None:
    if said is None:
        assert record_from_marks(_file(tmp_path, **changes), radiograph).canals == ()
        return
    with pytest.raises(RecordError, match=said) as caught:
        record_from_marks(_file(tmp_path, **changes), radiograph)
    assert caught.value.code == "marks-file"
    assert "compare with the one that radlength demo writes" in str(caught.value)


def test_impossible_values_keep_their_own_words(tmp_path: Path, radiograph: Radiograph) -> None:
    with pytest.raises(RadlengthError, match="99"):
        record_from_marks(_file(tmp_path, canals=[MARKS["canals"][0] | {"tooth": "99"}]), radiograph)


def test_no_such_file(tmp_path: Path, radiograph: Radiograph) -> None:
    with pytest.raises(RecordError, match="there is no such file"):
        record_from_marks(tmp_path / "none.json", radiograph)


_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    where=st.sampled_from(["marking", "references", "canals", "pitch_mm", "invented", "note"]),
    field=st.sampled_from(
        ["path_px", "length_mm", "limit_mm", "placement", "name", "tooth", "terminus", None]
    ),
    value=_JSON,
)
def test_wrong_values_are_domain_errors_only(
    tmp_path: Path, radiograph: Radiograph, where: str, field: str | None, value: object
) -> None:
    changed: object = value
    if field is not None and where in ("references", "canals"):
        changed = [MARKS[where][0] | {field: value}]
    path = tmp_path / "fuzz.marks.json"
    path.write_text(json.dumps(MARKS | {where: changed}), "utf-8")
    try:
        record = record_from_marks(path, radiograph)
    except RadlengthError:
        return
    assert len(record.history) >= 1


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.binary(max_size=60))
def test_arbitrary_bytes_are_refused(tmp_path: Path, radiograph: Radiograph, data: bytes) -> None:
    path = tmp_path / "bytes.marks.json"
    path.write_bytes(data)
    with pytest.raises(RecordError, match=r"not a readable JSON file|not a radlength-marks file"):
        record_from_marks(path, radiograph)
