from __future__ import annotations

from pathlib import Path

import pytest

from radlength.record import load_record
from radlength.trade import CAUTION, repeat_rules

RULE = ("--rule", "tip within 1 mm")


def test_gap_method_by_hand(marked: Path, invoke) -> None:
    """At 0.1 mm per pixel a gap of 11 pixels is 1.1 mm: 20.5 + 1.1 = 21.6, less 1.0 is 20.6 mm."""
    words = ("--canal", "single", "--set-length", "20.5", "--gap", "230,60 241,60", *RULE)
    document = invoke("confirm", marked, *words, "--json").json
    found = document["confirmation"]
    assert found["gap"]["value_mm"] == pytest.approx(1.1)
    assert found["canal_length"]["value_mm"] == pytest.approx(21.6)
    assert found["working_length"]["value_mm"] == pytest.approx(20.6)
    assert document["estimate_before"]["value_mm"] == pytest.approx(22.1)
    assert found["rule"] == "tip within 1 mm"
    assert document["caution"] == CAUTION


def test_text_names_rule_source_and_verdict(marked: Path, invoke) -> None:
    words = ("--canal", "single", "--set-length", "21", "--gap", "235,60 241,60", *RULE)
    said = " ".join(invoke("confirm", marked, *words).out.split())
    for expected in ("gap 0.60 mm", "canal length 21.60 mm", "working length 20.60 mm", "verdict", CAUTION):
        assert expected in said
    assert "rule: tip within 1 mm, " in said


def test_it_is_kept_in_the_record(marked: Path, invoke) -> None:
    words = ("--canal", "single", "--set-length", "21", "--gap", "235,60 241,60", *RULE, "--who", "A. Tester")
    assert invoke("confirm", marked, *words).code == 0
    record = load_record(marked)
    kept = record.confirmations[0]
    assert (kept.set_length_mm, kept.rule, kept.who) == (21.0, "tip within 1 mm", "A. Tester")
    assert kept.gap_path_px == ((235.0, 60.0), (241.0, 60.0))


def test_beyond_shortens_and_is_serious(marked: Path, invoke) -> None:
    words = ("--canal", "single", "--set-length", "23", "--gap", "247,60 241,60", *RULE, "--beyond")
    done = invoke("confirm", marked, *words, "--json", "--strict")
    assert done.code == 3
    assert done.json["confirmation"]["canal_length"]["value_mm"] == pytest.approx(22.4)
    assert invoke("confirm", marked, *words).code == 0


def test_wider_limit_of_the_set_length_widens_the_interval(marked: Path, invoke) -> None:
    words = ("confirm", marked, "--canal", "single", "--set-length", "21", "--gap", "235,60 241,60", *RULE)
    narrow, wide = (
        invoke(*words, "--set-limit", limit, "--json").json["confirmation"]["canal_length"]
        for limit in (0.1, 1.0)
    )
    assert wide["high_mm"] - wide["low_mm"] > narrow["high_mm"] - narrow["low_mm"] + 0.3


def test_a_wrong_rule_lists_the_rules(marked: Path, invoke) -> None:
    words = ("--canal", "single", "--set-length", "21", "--gap", "235,60 241,60", "--rule", "mine")
    done = invoke("confirm", marked, *words)
    assert done.code == 1
    assert all(rule in done.err for rule in repeat_rules())
    assert load_record(marked).confirmations == ()


@pytest.mark.parametrize("missing", ["--canal", "--set-length", "--gap", "--rule"])
def test_nothing_is_assumed(marked: Path, invoke, missing: str) -> None:
    words = {"--canal": "single", "--set-length": "21", "--gap": "235,60 241,60", "--rule": "tip within 1 mm"}
    given = [part for name, value in words.items() if name != missing for part in (name, value)]
    done = invoke("confirm", marked, *given)
    assert done.code == 2
    assert missing in done.err


def test_a_filling_is_read_by_every_rule(marked: Path, invoke) -> None:
    """A gap of 3 pixels at 0.1 mm per pixel: the filling ends 0.3 mm short, where the rules differ."""
    words = ("--canal", "single", "--set-length", "21.8", "--gap", "238,60 241,60", *RULE, "--filling")
    found = invoke("confirm", marked, *words, "--json").json["fill"]
    assert [row["verdict"] for row in found["rules"]] == ["near the apex", "adequate", "adequate"]
    said = " ".join(invoke("confirm", marked, *words).out.split())
    assert "The published rules differ" in said
    assert "fill 0.5 to 2 mm short" in said
    assert invoke("confirm", marked, *words[:-1], "--json").json["fill"] is None
    assert invoke("confirm", marked, *words, "--beyond", "--strict").code == 3
