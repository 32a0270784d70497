from __future__ import annotations

from pathlib import Path

import pytest
from helpers.cases import points
from helpers.drawn_canal import CLICKS, STOP, TIP, canal_pixels, instrument_pixels, write_pixels

from radlength.record import load_record, record_path
from radlength.tracing.trace import VERSION
from radlength.trade import CAUTION

THROUGH = ("--through", points(CLICKS))
CANAL = ("--tooth", "45", "--canal", "single")


@pytest.fixture
def drawn(tmp_path: Path) -> Path:
    return write_pixels(tmp_path / "tooth.png", canal_pixels())


@pytest.fixture
def filed(tmp_path: Path) -> Path:
    return write_pixels(tmp_path / "filed.png", instrument_pixels())


def test_a_preview_prints_path_confidence_and_doubts_and_keeps_nothing(drawn: Path, invoke) -> None:
    done = invoke("trace", drawn, *CANAL, *THROUGH)
    assert done.code == 0, done.err
    assert f"45 single: canal trace {VERSION} through 3 clicks" in done.out
    assert "10 of 13 points by the program" in done.out
    assert "20,60  " in done.out
    assert "confidence of each stretch: " in done.out
    assert "no size of a pixel" in done.out
    assert "nothing is kept; add --accept" in done.out
    assert " ".join(CAUTION.split()) in " ".join(done.out.split())
    assert not record_path(drawn).exists()


def test_accepted_points_are_in_the_record_as_the_programs(drawn: Path, invoke) -> None:
    done = invoke("trace", drawn, *CANAL, *THROUGH, "--accept", "--who", "tester")
    assert done.code == 0, done.err
    canal = load_record(drawn).entry("45 single").canal
    assert sum(one.count for one in canal.assists) == 10
    assert [canal.path_px[0], canal.path_px[-1]] == [CLICKS[0], CLICKS[-1]]
    assert load_record(drawn).history[-1].who == "tester"


def test_json_has_everything_and_the_caution(drawn: Path, invoke) -> None:
    data = invoke("trace", drawn, *CANAL, *THROUGH, "--json").json
    assert data["caution"] == CAUTION
    assert (data["canal"], data["method"], data["version"]) == ("45 single", "canal trace", VERSION)
    assert data["clicks_px"] == [list(point) for point in CLICKS]
    assert len(data["path_px"]) == 13
    assert data["trusted"] is True
    assert data["record"] is None
    assert len(data["confidence"]) == 2


def test_the_clicks_of_the_record_are_traced(drawn: Path, invoke) -> None:
    assert invoke("mark", drawn, *CANAL, "--path", points(CLICKS)).code == 0
    done = invoke("trace", drawn, *CANAL, "--accept", "--json")
    assert done.json["record"] == str(record_path(drawn))
    assert len(load_record(drawn).entry("single").canal.path_px) == 13


def test_a_second_canal_is_added(drawn: Path, invoke) -> None:
    assert invoke("trace", drawn, *CANAL, *THROUGH, "--accept").code == 0
    assert invoke("trace", drawn, "--tooth", "45", "--canal", "B", *THROUGH, "--accept").code == 0
    assert [entry.canal.name for entry in load_record(drawn).canals] == ["single", "B"]


def test_the_instrument_becomes_the_reference(filed: Path, invoke) -> None:
    clicks = ("--through", points([STOP, (TIP[0] - 3, TIP[1] + 2)]))
    done = invoke("trace", filed, *CANAL, "--instrument", *clicks, "--accept")
    assert done.code == 1
    assert "an instrument of unknown length" in done.err
    assert not record_path(filed).exists()
    done = invoke(
        "trace", filed, *CANAL, "--instrument", *clicks, "--accept", "--length", 12, "--limit", 0.25
    )
    assert done.code == 0, done.err
    reference = load_record(filed).references[0]
    assert (reference.length_mm, reference.limit_mm, reference.canal) == (12.0, 0.25, "single")
    assert reference.assists[0].method == "instrument tip"


def test_an_untrusted_trace_is_said(tmp_path: Path, invoke) -> None:
    blank = write_pixels(tmp_path / "blank.png", canal_pixels() // 255 + 90)
    done = invoke("trace", blank, *THROUGH)
    assert done.code == 0
    assert "Not trusted" in done.out
    assert invoke("trace", blank, *THROUGH, "--json").json["trusted"] is False


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("--through", "20,60 900,60"), 1, "outside the image"),
        (("--through", "20;60"), 1, "is not a point"),
        ((), 1, "nothing is clicked yet"),
        (("--tooth", "45"), 2, "--tooth and --canal go together"),
        (("--tooth", "49", "--canal", "B", "--through", "20,60 390,103", "--accept"), 1, "49"),
    ],
    ids=["outside", "no point", "no clicks", "half a name", "no such tooth"],
)
def test_what_cannot_be_traced_is_said(drawn: Path, invoke, words, code, said) -> None:
    done = invoke("trace", drawn, *words)
    assert done.code == code
    assert said in " ".join(done.err.split())
    assert not record_path(drawn).exists()


def test_an_instrument_of_another_canal_is_never_written_over(filed: Path, invoke) -> None:
    ends = ("--through", points((STOP, TIP)))
    found = ("trace", filed, "--instrument", *ends, "--accept", "--length")
    assert invoke(*found, 12, "--limit", 0.1, "--tooth", "45", "--canal", "B").code == 0
    assert invoke("trace", filed, "--tooth", "45", "--canal", "B", *ends, "--accept").code == 0
    before = load_record(filed).references[0]
    done = invoke(*found, 9, "--tooth", "45", "--canal", "L")
    assert done.code == 0, done.err
    first, second = load_record(filed).references
    assert first == before
    assert (second.length_mm, second.limit_mm, second.canal) == (9, 0.5, "L")
    assert load_record(filed).entry("45 B").reference == first.name


def test_a_canal_is_measured_by_the_instrument_marked_in_it_before_or_after(filed: Path, invoke) -> None:
    ends = ("--through", points((STOP, TIP)))
    for name, order in (("B", ((), ("--instrument",))), ("L", (("--instrument",), ()))):
        for what in order:
            words = (*what, *(("--reference-length", 12) if what else ()))
            done = invoke("trace", filed, "--tooth", "45", "--canal", name, *ends, *words, "--accept")
            assert done.code == 0, done.err
        record = load_record(filed)
        reference = record.reference_of(record.entry(f"45 {name}"))
        assert reference is not None
        assert reference.canal == name


def test_the_same_name_on_another_tooth_is_another_canal(filed: Path, invoke) -> None:
    ends = ("--through", points((STOP, TIP)))
    for tooth, length in (("45", 12), ("44", 9)):
        for what in ((), ("--instrument", "--length", length)):
            done = invoke("trace", filed, "--tooth", tooth, "--canal", "single", *ends, *what, "--accept")
            assert done.code == 0, done.err
    record = load_record(filed)
    lengths = [record.reference_of(record.entry(f"{tooth} single")).length_mm for tooth in ("45", "44")]
    assert lengths == [12, 9]


def test_a_length_of_an_instrument_without_one_is_wrong_usage(drawn: Path, invoke) -> None:
    done = invoke("trace", drawn, *CANAL, *THROUGH, "--length", 21)
    assert done.code == 2
    assert "--instrument" in done.err


def test_an_inverted_image_is_traced_as_its_negative(drawn: Path, tmp_path: Path, invoke) -> None:
    negative = write_pixels(tmp_path / "negative.png", 255 - canal_pixels())
    plain = invoke("trace", drawn, *CANAL, *THROUGH, "--json").json
    done = invoke("trace", negative, *CANAL, *THROUGH, "--inverted", "--accept", "--json").json
    assert done["path_px"] == plain["path_px"]
    assert done["confidence"] == plain["confidence"]
    assert (done["inverted"], plain["inverted"]) == (True, False)
    told = {one.method for one in load_record(negative).entry("45 single").canal.assists}
    assert told == {"canal trace, inverted image"}


def test_a_file_that_says_itself_that_it_is_inverted_is_not_turned_twice(tmp_path: Path, invoke) -> None:
    words = ("--seed", 3, "--inverted", "--format", "dicom", "--out", tmp_path)
    assert invoke("phantom", *words).code == 0
    done = invoke(
        "trace", tmp_path / "phantom-single-3.dcm", *CANAL, "--inverted", "--through", "100,100 600,300"
    )
    assert done.code == 1
    assert "the file itself says" in done.err


def test_points_given_as_column_and_row_are_told_so(filed: Path, invoke) -> None:
    swapped = [(column, row) for row, column in (STOP, TIP)]
    done = invoke("trace", filed, *CANAL, "--through", points(swapped))
    assert done.code == 1
    assert "as column,row they would lie on it" in done.err
