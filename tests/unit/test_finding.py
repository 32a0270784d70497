import pickle
from dataclasses import FrozenInstanceError, asdict

import pytest
from hypothesis import given
from hypothesis import strategies as st

from radlength.finding import Finding

text = st.text(max_size=30)
findings = st.builds(
    Finding, text, text, text, st.sampled_from(["note", "question", "serious"]), st.none() | text
)


@given(findings)
def test_plain_data_makes_the_same_finding(finding):
    assert finding.as_dict() == asdict(finding)
    assert Finding(**finding.as_dict()) == finding


@given(findings)
def test_a_finding_survives_a_worker_process(finding):
    assert pickle.loads(pickle.dumps(finding)) == finding  # noqa: S301


@given(findings)
def test_equal_findings_count_once(finding):
    assert len({finding, Finding(**finding.as_dict())}) == 1


@pytest.mark.parametrize(
    ("sentence", "remedy", "words"),
    [
        pytest.param("The gap is 2.6 mm.", "Take it again.", "The gap is 2.6 mm. Take it again.", id="both"),
        pytest.param("The gap is 2.6 mm.", "", "The gap is 2.6 mm.", id="no-remedy"),
    ],
)
def test_words(sentence, remedy, words):
    assert str(Finding("gap-large", sentence, remedy)) == words


def test_a_doubt_is_a_question_about_the_whole_image_unless_said():
    finding = Finding("gap-large", "The gap is 2.6 mm.", "Take it again.")
    assert (finding.severity, finding.subject) == ("question", None)


def test_a_finding_does_not_change():
    with pytest.raises(FrozenInstanceError, match="cannot assign"):
        Finding("a", "b", "c").severity = "note"
