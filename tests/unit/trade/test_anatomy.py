import pytest
from hypothesis import given
from hypothesis import strategies as st

from radlength.errors import TradeError
from radlength.trade import ISO_TEETH, anatomical_band, is_deciduous

PERMANENT = [iso for iso in ISO_TEETH if not is_deciduous(iso)]


@pytest.mark.parametrize("iso", ["51", "65", "74", "85"])
def test_a_deciduous_tooth_has_no_band_because_no_study_here_measured_one(iso):
    assert anatomical_band(iso) is None


def test_an_unknown_tooth_has_none_either_but_says_so():
    with pytest.raises(TradeError, match="tooth 49 does not exist"):
        anatomical_band("49")


@given(st.sampled_from(PERMANENT))
def test_the_parts_of_a_band_are_in_order(iso):
    band = anatomical_band(iso)
    low, high = band.foramen_range_mm
    assert 0 < low <= band.foramen_mm <= high
    assert 0 < band.constriction_mm[0] < band.constriction_mm[1] < 3
    assert high + 0.5 < band.constriction_mm[1]


@pytest.mark.parametrize(
    ("iso", "constriction"),
    [
        pytest.param("31", (0.89, 1.46), id="0.39+0.5-to-0.46+1.0"),
        pytest.param("13", (0.89, 1.59), id="0.39+0.5-to-0.59+1.0"),
        pytest.param("28", (1.09, 1.95), id="0.59+0.5-to-0.95+1.0"),
        pytest.param("26", (0.81, 1.95), id="micro-ct-lower"),
        pytest.param("47", (0.78, 1.80), id="micro-ct-lower-second-molar"),
    ],
)
def test_constriction_is_the_foramen_and_half_to_one_millimetre(iso, constriction):
    assert anatomical_band(iso).constriction_mm == pytest.approx(constriction)


def test_only_a_molar_that_was_scanned_names_the_scan():
    naming = {iso for iso in PERMANENT if "Int J Oral Sci" in anatomical_band(iso).source}
    assert naming == {"16", "17", "26", "27", "36", "37", "46", "47"}


def test_the_words_and_the_data_carry_every_number():
    band = anatomical_band("46")
    assert "the foramen opens 0.8 mm short" in band.words
    assert "lies 0.95 to 1.8 mm short" in band.words
    assert band.source in band.words
    assert band.as_dict() == {
        "foramen_mm": 0.80,
        "foramen_range_mm": [0.78, 0.80],
        "constriction_mm": [0.95, 1.80],
        "source": band.source,
        "status": "read",
        "words": band.words,
    }
