from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from helpers.cases import CANAL, MARK, points

from radlength.record import load_record, save_record
from radlength.trade import CAUTION


def test_lengths_of_a_ratio_done_by_hand(marked: Path, invoke) -> None:
    """221 pixels at 21 mm for 210 pixels are 22.1 mm; 1 mm short of it 21.1 mm."""
    document = invoke("estimate", marked, "--json").json
    found = document["estimates"][0]
    assert found["canal_length"]["value_mm"] == pytest.approx(22.1, abs=1e-6)
    assert found["working_length"]["value_mm"] == pytest.approx(21.1, abs=1e-6)
    assert found["canal_length"]["low_mm"] < 22.1 < found["canal_length"]["high_mm"]
    assert sum(line["share_percent"] for line in found["budget"]) == pytest.approx(100)
    assert document["caution"] == CAUTION
    assert document["status"] == "estimate, not confirmed"


def test_text_has_every_figure_and_the_caution(marked: Path, invoke) -> None:
    done = invoke("estimate", marked, "--round", "down")
    said = " ".join(done.out.split())
    for words in (
        "working length 21.10 mm 95 % interval",
        "1 mm short of the radiographic apex",
        "set the stop to 21.0 mm working length rounded to 0.5 mm, down",
        "canal length 22.10 mm 95 % interval",
        "straight 22.10 mm",
        "polyline 22.10 mm",
        "gap 1.10 mm",
        "reference in this canal, 21 ±0.25 mm",
        "reference length",
        "together",
        "estimate, not confirmed",
        "Apart from all this, anatomy:",
        CAUTION,
    ):
        assert words in said, words


def test_rounding_names_its_direction(marked: Path, invoke) -> None:
    down = invoke("estimate", marked, "--round", "down", "--json").json["estimates"][0]
    nearest = invoke("estimate", marked, "--round", "nearest", "--json").json["estimates"][0]
    assert (down["stop_setting_mm"], down["rounding"]) == (21.0, "down")
    assert (nearest["stop_setting_mm"], nearest["rounding"]) == (21.0, "nearest")
    assert "stop_setting_mm" not in invoke("estimate", marked, "--json").json["estimates"][0]


def test_no_terminus_no_working_length(image: Path, invoke) -> None:
    assert invoke("mark", image, *MARK[:-2]).code == 0
    done = invoke("estimate", image, "--round", "down")
    said = " ".join(done.out.split())
    assert "working length none no terminus stated: --offset-mm or --terminus-table" in said
    assert "set the stop" not in said
    assert "canal length 22.10 mm" in said


def test_result_is_kept_unless_told_not_to(marked: Path, invoke) -> None:
    assert invoke("estimate", marked, "--no-save").code == 0
    assert load_record(marked).estimates == ()
    assert invoke("estimate", marked).code == 0
    stored = load_record(marked).estimates
    assert [round(item.canal_length.value_mm, 6) for item in stored] == [22.1]


def test_monte_carlo_is_seeded_and_agrees(marked: Path, invoke) -> None:
    words = ("estimate", marked, "--monte-carlo", "--no-save", "--json")
    first, again = (invoke(*words, "--seed", "5").json["estimates"][0]["monte_carlo"] for _ in range(2))
    other = invoke(*words, "--seed", "6").json["estimates"][0]
    assert first == again
    assert first["mean_mm"] != other["monte_carlo"]["mean_mm"]
    assert first["u_mm"] == pytest.approx(other["canal_length"]["u_mm"], rel=0.25)
    assert "draws through the clicks" in invoke(*words[:-1]).out


def test_one_canal_of_several(marked: Path, invoke) -> None:
    second = [(row, column + 25) for row, column in CANAL[:-1]]
    assert invoke("mark", marked, "--tooth", "45", "--canal", "L", "--path", points(second)).code == 0
    both = invoke("estimate", marked, "--json").json["estimates"]
    one = invoke("estimate", marked, "--canal", "45 L", "--json").json["estimates"]
    assert [found["canal"] for found in both] == ["single", "L"]
    assert [found["canal"] for found in one] == ["L"]
    done = invoke("estimate", marked, "--canal", "X")
    assert done.code == 1
    assert "no canal 'X'; one of: 45 single, 45 L" in done.err


def test_no_record_explains_how_to_make_one(image: Path, invoke) -> None:
    done = invoke("estimate", image)
    assert done.code == 1
    assert done.err.count("\n") == 1
    assert "there is no record of this image" in done.err
    assert f"radlength mark {image} --tooth 46 --canal MB --path" in done.err


def test_the_command_it_explains_is_a_valid_one(image: Path, invoke) -> None:
    """The sentence, with numbers put in, must itself work."""
    import shlex

    said = invoke("estimate", image).err
    words = shlex.split(said[said.index("radlength mark") : said.index(" (or --from")])
    words[words.index("--path") + 1] = points(CANAL)
    words[words.index("--reference-path") + 1] = points(CANAL[:5])
    assert invoke(*words[1:]).code == 0
    assert invoke("estimate", image).code == 0


def test_record_without_canal(image: Path, invoke) -> None:
    assert invoke("mark", image, "--apex-sd", "0.4").code == 0
    done = invoke("estimate", image)
    assert done.code == 1
    assert "no canal is marked" in done.err


def test_strict_is_three_on_a_serious_finding_only(marked: Path, invoke) -> None:
    assert invoke("estimate", marked, "--strict").code == 0
    beyond = [*CANAL[:4], (215.0, 60.0)]
    assert invoke("mark", marked, "--tooth", "45", "--canal", "single", "--path", points(beyond)).code == 0
    assert invoke("estimate", marked).code == 0
    done = invoke("estimate", marked, "--strict", "--json")
    assert done.code == 3
    assert "serious" in [finding["severity"] for finding in done.json["estimates"][0]["findings"]]
    assert load_record(marked).estimates


def test_missing_image(tmp_path: Path, invoke) -> None:
    done = invoke("estimate", tmp_path / "nowhere.png")
    assert done.code == 1
    assert "nowhere.png" in done.err


def test_the_canal_that_cannot_be_measured_is_named_among_several(marked, invoke) -> None:
    record = load_record(marked)
    other = replace(record.entry("single").canal, name="B")
    save_record(record.with_canal(other, reference=None), marked)
    done = invoke("estimate", marked)
    assert done.code == 1
    assert "45 B: no scale" in done.err
    assert "--canal: 45 single" in done.err
    assert invoke("estimate", marked, "--json").json["error"]["code"] == "no-scale"
    assert invoke("estimate", marked, "--canal", "single").code == 0
