import pytest

from radlength.errors import MarkError, ScaleError
from radlength.scale import Reference

PATH = [(80, 410), (905, 452)]


def test_a_reference_is_plain_hashable_data():
    one = Reference(path_px=PATH, length_mm=21.0, limit_mm=0.25, placement="in_canal")
    assert one == Reference(path_px=tuple(map(tuple, PATH)), length_mm=21.0, limit_mm=0.25)
    assert len({one, one}) == 1


def test_a_length_without_a_limit_counts_as_stamped():
    assert Reference(path_px=PATH, length_mm=21.0).limit_mm == 0.5


@pytest.mark.parametrize(
    ("change", "words"),
    [
        pytest.param({"length_mm": 0.2}, "a reference length of 0.2 mm; 0.5 to 60 mm", id="short"),
        pytest.param({"length_mm": 210.0}, "a reference length of 210.0 mm", id="in-tenths"),
        pytest.param({"length_mm": float("nan")}, "a reference length of nan mm", id="nan"),
        pytest.param({"length_mm": "21"}, "a reference length of '21'; a number of millimetres", id="text"),
        pytest.param({"length_mm": None}, "a reference length of None; a number", id="none"),
        pytest.param({"length_mm": 10**400}, "a reference length of 1000", id="beyond any float"),
        pytest.param({"limit_mm": 10**400}, "a reference limit of 1000", id="limit beyond any float"),
        pytest.param({"limit_mm": "0.25"}, "a reference limit of '0.25'; a number", id="text-limit"),
        pytest.param({"limit_mm": -0.1}, "a reference limit of -0.1 mm", id="negative-limit"),
        pytest.param({"limit_mm": 15.0}, "a reference limit of 15.0 mm on 21.0 mm", id="limit-too-large"),
        pytest.param({"name": 5}, "a reference called 5 in canal None; names are texts", id="name"),
        pytest.param({"placement": "nearby"}, "placed 'nearby'; 'in_canal' or 'beside'", id="placement"),
    ],
)
def test_an_impossible_reference_is_refused(change, words):
    fields = {"path_px": PATH, "length_mm": 21.0, "limit_mm": 0.25, "placement": "in_canal"} | change
    with pytest.raises(ScaleError, match=words):
        Reference(**fields)


def test_the_refusal_names_the_reference():
    with pytest.raises(MarkError, match=r"^file in MB: a path has 1 point"):
        Reference(path_px=[(1, 2)], length_mm=21.0, name="file in MB")


@pytest.mark.parametrize(
    ("said", "measured", "inside"),
    [
        (None, "46 MB", True),
        ("MB", "46 MB", True),
        ("46 MB", "46 MB", True),
        ("46 MB", "MB", True),
        ("46 MB", "47 MB", False),
        ("MB", "46 ML", False),
        ("2", "MB 2", False),
        ("MB 2", "26 MB 2", True),
        ("26 MB", "26 MB 2", False),
    ],
)
def test_an_instrument_lies_in_the_canal_it_names_and_no_namesake(said, measured, inside):
    assert Reference([(0, 0), (100, 0)], 20.0, canal=said).lies_in(measured) is inside
    assert not Reference([(0, 0), (100, 0)], 20.0, placement="beside", canal=said).lies_in(measured)
