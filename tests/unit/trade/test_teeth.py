import pytest
from hypothesis import given
from hypothesis import strategies as st

from radlength.errors import TradeError
from radlength.trade import (
    ISO_TEETH,
    arch,
    check_tooth,
    from_universal,
    is_deciduous,
    is_posterior,
    side,
    to_universal,
    tooth_length,
    tooth_name,
    usual_canals,
)

teeth = st.sampled_from(ISO_TEETH)


def mirrored(iso):
    return {"1": "2", "2": "1", "3": "4", "4": "3", "5": "6", "6": "5", "7": "8", "8": "7"}[iso[0]] + iso[1]


def test_there_are_thirty_two_permanent_and_twenty_deciduous_teeth():
    assert len(set(ISO_TEETH)) == 52
    assert sum(map(is_deciduous, ISO_TEETH)) == 20


def test_universal_numbers_are_a_bijection():
    numbers = [to_universal(iso) for iso in ISO_TEETH]
    assert set(numbers) == {*map(str, range(1, 33)), *"ABCDEFGHIJKLMNOPQRST"}
    assert [from_universal(number) for number in numbers] == list(ISO_TEETH)


@pytest.mark.parametrize(
    "wrong", ["49", "19", "10", "01", "56", "86", "91", "1", "111", "", " 11", "A", "٤٦"]
)
def test_a_tooth_that_does_not_exist_is_refused(wrong):
    with pytest.raises(
        TradeError, match=f"^tooth {wrong} does not exist; ISO 3950: 11-18, .* 81-85;"
    ) as caught:
        check_tooth(wrong)
    assert caught.value.code == "tooth-unknown"


@pytest.mark.parametrize("wrong", [46, None, ["46"], {"46"}, 4.6, b"46"])
def test_what_is_no_text_is_no_tooth(wrong):
    with pytest.raises(TradeError, match="does not exist; ISO 3950"):
        check_tooth(wrong)


@given(st.text(max_size=4))
def test_any_text_is_a_tooth_or_refused(text):
    if text in ISO_TEETH:
        assert check_tooth(text) == text
    else:
        with pytest.raises(TradeError, match="does not exist"):
            check_tooth(text)


@pytest.mark.parametrize(
    "ask", [to_universal, is_deciduous, is_posterior, side, arch, tooth_name, usual_canals, tooth_length]
)
def test_every_question_about_a_tooth_checks_it(ask):
    with pytest.raises(TradeError, match="tooth 49 does not exist"):
        ask("49")


@pytest.mark.parametrize("wrong", ["0", "33", "U", "", "1.0", "AA", "-1", "046"])
def test_a_universal_number_that_does_not_exist_is_refused(wrong):
    with pytest.raises(TradeError, match=r"Universal number .* does not exist; 1 to 32 or A to T"):
        from_universal(wrong)


def test_a_universal_letter_may_be_small_and_padded():
    assert from_universal(" t ") == "85"


@pytest.mark.parametrize(
    ("iso", "patient_side", "jaw"),
    [
        ("11", "right", "maxillary"),
        ("21", "left", "maxillary"),
        ("31", "left", "mandibular"),
        ("41", "right", "mandibular"),
        ("51", "right", "maxillary"),
        ("61", "left", "maxillary"),
        ("71", "left", "mandibular"),
        ("81", "right", "mandibular"),
    ],
    ids=str,
)
def test_side_and_jaw_of_each_quadrant(iso, patient_side, jaw):
    assert (side(iso), arch(iso)) == (patient_side, jaw)


@given(teeth)
def test_the_other_side_changes_the_side_and_nothing_else(iso):
    other = mirrored(iso)
    assert side(other) != side(iso)
    assert arch(other) == arch(iso)
    assert is_posterior(other) == is_posterior(iso)
    assert usual_canals(other) == usual_canals(iso)
    assert tooth_length(other) == tooth_length(iso)
    assert tooth_name(other).replace("left", "right") == tooth_name(iso).replace("left", "right")


def test_back_teeth_are_premolars_and_molars():
    assert all(("molar" in tooth_name(iso)) == is_posterior(iso) for iso in ISO_TEETH)


@pytest.mark.parametrize(
    ("iso", "canals"),
    [
        ("11", ("single",)),
        ("14", ("B", "P")),
        ("15", ("single",)),
        ("16", ("MB", "MB2", "DB", "P")),
        ("18", ()),
        ("36", ("MB", "ML", "D")),
        ("38", ()),
        ("44", ("single",)),
        ("54", ("MB", "DB", "P")),
        ("53", ("single",)),
        ("85", ("MB", "ML", "D")),
    ],
    ids=str,
)
def test_usual_canals(iso, canals):
    assert usual_canals(iso) == canals
