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
