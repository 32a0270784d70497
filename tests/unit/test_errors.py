import copy
import pickle

import pytest
from hypothesis import given
from hypothesis import strategies as st

from radlength import errors
from radlength.errors import RadlengthError

KINDS = sorted(
    (kind for kind in vars(errors).values() if isinstance(kind, type) and issubclass(kind, RadlengthError)),
    key=lambda kind: kind.__name__,
)
text = st.text(max_size=30)


@st.composite
def refusals(draw):
    kind = draw(st.sampled_from(KINDS))
    return kind(draw(text), draw(text), draw(text), code=draw(text), subject=draw(st.none() | text))


def parts(error):
    return type(error), str(error), error.args, error.as_dict()


def test_the_tree():
    assert {kind.__name__ for kind in KINDS} == {
        "RadlengthError", "MarkError", "ScaleError", "ImageError", "RecordError", "TradeError", "PhantomError",
        "ReportError", "BatchError",
    }  # fmt: skip
    assert all(kind.__name__ in errors.__doc__ for kind in KINDS)


@given(refusals(), st.integers(0, pickle.HIGHEST_PROTOCOL))
def test_a_refusal_survives_a_worker_process(error, protocol):
    assert parts(pickle.loads(pickle.dumps(error, protocol))) == parts(error)  # noqa: S301


@given(refusals())
def test_a_refusal_can_be_copied(error):
    assert parts(copy.copy(error)) == parts(copy.deepcopy(error)) == parts(error)


@given(refusals())
def test_plain_data_is_what_is_printed(error):
    data = error.as_dict()
    assert set(data) == {"code", "subject", "wrong", "allowed", "remedy", "message"}
    assert data["message"] == str(error)
    assert all(part in data["message"] for part in (error.wrong, error.allowed, error.remedy))
    assert data["message"].startswith(error.subject or error.wrong)


@pytest.mark.parametrize(
    ("words", "subject", "message"),
    [
        pytest.param(("wrong",), None, "wrong", id="wrong"),
        pytest.param(("wrong", "allowed"), None, "wrong; allowed", id="allowed"),
        pytest.param(("wrong", "", "remedy"), None, "wrong; remedy", id="no-allowed"),
        pytest.param(("wrong", "allowed", "remedy"), "46 MB", "46 MB: wrong; allowed; remedy", id="all"),
        pytest.param(("wrong",), "", "wrong", id="empty-subject"),
    ],
)
def test_the_sentence(words, subject, message):
    assert str(RadlengthError(*words, code="any", subject=subject)) == message


@pytest.mark.parametrize("kind", KINDS)
def test_one_except_catches_every_kind(kind):
    with pytest.raises(RadlengthError, match=r"^wrong$"):
        raise kind("wrong", code="any")


def test_no_refusal_without_a_code():
    with pytest.raises(TypeError, match="code"):
        RadlengthError("wrong")
