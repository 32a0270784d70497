import pytest

from radlength.trade import ISO_TEETH, is_deciduous, tooth_length


@pytest.mark.parametrize("iso", ISO_TEETH)
def test_permanent_teeth_have_a_length_and_deciduous_ones_none(iso):
    assert (tooth_length(iso) is None) == is_deciduous(iso)


def test_averages_nobody_looked_up_say_so():
    remembered = {iso for iso in ISO_TEETH if (t := tooth_length(iso)) and t.status == "from memory"}
    assert remembered == {"35", "36", "37", "38", "45", "46", "47", "48"}
    assert all("from memory" in tooth_length(iso).source for iso in remembered)
