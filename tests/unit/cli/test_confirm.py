from __future__ import annotations

from pathlib import Path

import pytest
from helpers.cases import MARK

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


def test_it_says_why_the_record_is_not_confirmed_by_it(marked: Path, invoke) -> None:
    """One of two canals accepted: the status above the verdict is that of the record, and the other canal is named."""
    second = ("--tooth", "45", "--canal", "lingual", "--path", "30,70 241,70")
    assert invoke("mark", marked, *second).code == 0
    words = ("--canal", "single", "--set-length", "21.5", "--gap", "235,60 241,60", *RULE)
    done = invoke("confirm", marked, *words)
    assert "estimate, not confirmed" in done.out
    assert "45 lingual: not confirmed: Its length was not confirmed on an image." in " ".join(
        done.out.split()
    )
    assert "45 single: not confirmed" not in done.out
    assert list(invoke("confirm", marked, *words, "--json").json["not_confirmed"]) == ["45 lingual"]


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


GOOD = ("--canal", "single", "--set-length", "21.4", "--gap", "234,60 241,60", *RULE)
"""A gap of 0.7 mm: 22.1 mm, as the marks say."""


def codes(done) -> dict[str, str]:
    return {one["code"]: one["severity"] for one in done.json["confirmation"]["findings"]}


def said_everywhere(marked: Path, invoke) -> set[str]:
    """Return every status that the outputs name."""
    place = marked.parent
    places = {"csv": "a.csv", "json-file": "a.json", "geojson": "a.geojson", "html": "a.html"}
    words = [word for name, file in places.items() for word in (f"--{name}", place / file)]
    for old in place.glob("a.*"):
        old.unlink()
    done = invoke("report", marked, *words)
    assert done.code == 0, done.err
    texts = [path.read_text(encoding="utf-8") for path in sorted(place.glob("a.*"))]
    texts += [" ".join(invoke(name, marked).out.split()) for name in ("estimate", "check")]
    known = ("confirmed on an image", "estimate, not confirmed")
    assert all(any(status in text for status in known) for text in texts)
    return {status for text in texts for status in known if status in text}


CHANGED = {
    "fewer clicks": ("--path", "20,60 241,60"),
    "reference length": ("--reference-length", "13"),
    "terminus": ("--offset-mm", "0.5"),
    "pitch": ("--pitch-mm", "0.1"),
}


@pytest.mark.parametrize("change", CHANGED.values(), ids=CHANGED.keys())
def test_a_confirmation_is_not_stamped_on_other_marks(marked: Path, invoke, change) -> None:
    assert invoke("confirm", marked, *GOOD, "--strict").code == 0
    assert said_everywhere(marked, invoke) == {"confirmed on an image"}
    changed = dict(zip(MARK[::2], MARK[1::2], strict=True)) | dict([change])
    done = invoke("mark", marked, *(word for pair in changed.items() for word in pair))
    assert done.code == 0, done.err
    assert said_everywhere(marked, invoke) == {"estimate, not confirmed"}
    assert "older marks" in " ".join(invoke("estimate", marked).out.split())
    assert invoke("mark", marked, *MARK).code == 0
    if "--pitch-mm" not in change:
        assert load_record(marked).status == "confirmed on an image"


def test_a_set_length_far_from_the_marks_is_serious_and_confirms_nothing(marked: Path, invoke) -> None:
    words = [*GOOD]
    words[words.index("21.4")] = "12"
    done = invoke("confirm", marked, *words, "--json", "--strict")
    assert done.code == 3
    assert codes(done)["confirmation-conflict"] == "serious"
    assert done.json["confirmation"]["verdict"] == "accept"
    assert done.json["status"] == "estimate, not confirmed"
    assert "the length stands" not in " ".join(invoke("confirm", marked, *words).out.split())
    assert said_everywhere(marked, invoke) == {"estimate, not confirmed"}
    assert "serious doubt" in " ".join(invoke("estimate", marked).out.split())
    assert invoke("confirm", marked, *GOOD, "--json").json["status"] == "confirmed on an image"


@pytest.mark.parametrize(
    ("gap", "code"),
    [("234,80 241,80", None), ("234,81 241,81", "confirmation-gap-elsewhere"),
     ("20,10 27,10", "confirmation-gap-elsewhere"), ("20,60 241,60", "confirmation-gap-long")],
    ids=["near", "just too far", "in the bone", "the whole canal"],
)  # fmt: skip
def test_a_gap_that_is_none_is_serious(marked: Path, invoke, gap: str, code: str | None) -> None:
    """At 0.1 mm per pixel 2 mm are 20 pixels."""
    words = [*GOOD]
    words[words.index("234,60 241,60")] = gap
    done = invoke("confirm", marked, *words, "--json", "--strict")
    serious = {name for name, severity in codes(done).items() if severity == "serious"}
    assert (code in serious, done.code) == ((True, 3) if code else (False, 0))
    assert (load_record(marked).status == "confirmed on an image") is (code is None)


def test_what_is_serious_about_the_scale_is_serious_about_the_gap(marked: Path, invoke) -> None:
    """At 0.1 mm of detector a pixel, 21 mm over 210 pixels make the magnification 1; 13 mm make it 1.6."""
    assert invoke("mark", marked, *MARK, "--pitch-mm", "0.1").code == 0
    assert "magnification-odd" not in codes(invoke("confirm", marked, *GOOD, "--json"))
    mad = [*MARK]
    mad[mad.index("21")] = "13"
    assert invoke("mark", marked, *mad).code == 0
    words = [*GOOD]
    words[words.index("21.4")] = "13"
    done = invoke("confirm", marked, *words, "--json", "--strict")
    assert (done.code, codes(done)["magnification-odd"]) == (3, "serious")
    assert "magnification" in " ".join(invoke("confirm", marked, *words).out.split())
    assert done.json["status"] == "estimate, not confirmed"
