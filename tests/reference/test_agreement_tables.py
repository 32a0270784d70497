"""Agreement against published data to the printed digits, and against general-purpose libraries as oracles.

Bland & Altman, Lancet 1986; i: 307-10 (data and printed results). Shrout & Fleiss, Psychol Bull 1979; 86: 420-8,
Table 2. Kappa: SAS and R printouts kept in the tests of statsmodels; Fleiss 1971. Dahlberg 1940 by the formula in
Houston 1983 and Galvão 2012. "Recomputed" marks more digits than the paper prints.
"""

import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays

from radlength.exercise import ExerciseError
from radlength.exercise.agreement import (
    dahlberg,
    limits_of_agreement,
    repeatability_coefficient,
    share_within,
)
from radlength.exercise.icc import intraclass_correlations, mean_squares
from radlength.exercise.kappa import choice_table, cohens_kappa, fleiss_kappa

LARGE_1 = np.array([494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427])
LARGE_2 = np.array([490, 397, 512, 401, 470, 611, 415, 431, 638, 429, 420, 633, 275, 492, 165, 372, 421])
MINI_1 = np.array([512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451])
MINI_2 = np.array([525, 415, 508, 444, 500, 625, 460, 390, 642, 432, 420, 605, 227, 467, 268, 370, 443])
"""Peak expiratory flow, l/min, 17 subjects, two meters, two measurements each (Bland & Altman 1986, Table 1)."""

JUDGES = [(9, 2, 5, 8), (6, 1, 3, 2), (8, 4, 6, 8), (7, 1, 2, 6), (10, 5, 6, 9), (6, 2, 4, 7)]
"""Six targets by four judges (Shrout & Fleiss 1979, Table 2)."""

ANXIETY_2 = [3, 6, 4, 6, 2, 4, 2, 4, 3, 3, 2, 3, 3, 3, 2, 2, 1, 3, 3, 4]
ANXIETY_3 = [2, 1, 4, 4, 3, 2, 1, 6, 1, 1, 1, 2, 3, 3, 1, 1, 3, 3, 2, 2]
PATIENTS = [
    [0, 0, 0, 0, 14], [0, 2, 6, 4, 2], [0, 0, 3, 5, 6], [0, 3, 9, 2, 0], [2, 2, 8, 1, 1],
    [7, 7, 0, 0, 0], [3, 2, 6, 3, 0], [2, 5, 3, 2, 2], [6, 5, 2, 1, 0], [0, 2, 2, 3, 7],
]  # fmt: skip
"""Ten subjects, fourteen raters, five choices (worked example of Fleiss' kappa in an open encyclopedia)."""


def test_bland_altman_to_the_printed_digits():
    """The paper goes on from its rounded mean and SD, -2.1 and 38.8: so do the differences here."""
    exact = limits_of_agreement(LARGE_1 - MINI_1, factor=2.0)
    assert exact.n == 17
    assert round(exact.bias.value, 1) == -2.1
    assert round(exact.sd, 1) == 38.8
    rounded = (LARGE_1 - MINI_1 - exact.bias.value) / exact.sd * 38.8 - 2.1
    found = limits_of_agreement(rounded, factor=2.0)
    printed = {
        found.bias: (-2.1, -22.0, 17.8),
        found.lower: (-79.7, -114.3, -45.1),
        found.upper: (75.5, 40.9, 110.1),
    }
    for ours, theirs in printed.items():
        assert tuple(round(value, 1) for value in (ours.value, ours.low, ours.high)) == theirs


def test_bland_altman_recomputed_to_three_places():
    found = limits_of_agreement(LARGE_1 - MINI_1)
    assert found.bias.value == pytest.approx(-2.1176, abs=5e-5)
    assert found.sd == pytest.approx(38.7651, abs=5e-5)
    assert (found.lower.value, found.upper.value) == pytest.approx((-78.097, 73.862), abs=5e-4)
    assert (found.bias.low, found.bias.high) == pytest.approx((-22.049, 17.814), abs=1e-3)
    half = (found.bias.high - found.bias.low) / 2
    assert half / 2.1199 == pytest.approx(9.4019, abs=1e-3)
    assert (found.upper.high - found.upper.value) / 2.1199 == pytest.approx(16.285, abs=2e-3)


def test_repeatability_and_dahlberg():
    """Printed: 43.2 and 56.4 l/min (the second from memory), worked out with rounded numbers; recomputed beside."""
    large, mini = LARGE_2 - LARGE_1, MINI_2 - MINI_1
    assert repeatability_coefficient(large) == pytest.approx(43.29, abs=0.005)
    assert repeatability_coefficient(mini) == pytest.approx(56.32, abs=0.005)
    assert repeatability_coefficient(large) == pytest.approx(43.2, abs=0.1)
    assert dahlberg(large).value == pytest.approx(15.307, abs=5e-4)
    assert dahlberg(mini).value == pytest.approx(19.911, abs=5e-4)
    coefficients = [1.96 * np.sqrt(2) * dahlberg(d).value for d in (large, mini)]
    assert coefficients == pytest.approx([42.43, 55.19], abs=0.005)
    assert repeatability_coefficient(large, factor=1.96) == pytest.approx(42.43, abs=0.01)
    assert dahlberg([0.2, -0.1, 0.3, 0.0, -0.2]).value == pytest.approx(0.1342, abs=5e-5)


def test_shrout_fleiss_table():
    ms = mean_squares(JUDGES)
    assert (ms.between, ms.within, ms.judges, ms.error) == pytest.approx(
        (11.2417, 6.2639, 32.4861, 1.0194), abs=5e-5
    )
    found = intraclass_correlations(JUDGES)
    values = {name: round(one.value, 4) for name, one in found.items()}
    assert values == {
        "(1,1)": 0.1657, "(2,1)": 0.2898, "(3,1)": 0.7148, "(1,k)": 0.4428, "(2,k)": 0.6201, "(3,k)": 0.9093,
    }  # fmt: skip
    printed = {"(1,1)": 0.17, "(2,1)": 0.29, "(3,1)": 0.71, "(1,k)": 0.44, "(2,k)": 0.62, "(3,k)": 0.91}
    assert {name: round(one.value, 2) for name, one in found.items()} == printed
    intervals = {"(1,1)": (-0.13, 0.72), "(2,1)": (0.02, 0.76), "(3,1)": (0.34, 0.95)}
    for name, ends in intervals.items():
        assert (round(found[name].low, 2), round(found[name].high, 2)) == ends


@pytest.mark.parametrize("seed", [1, 2, 3], ids=str)
def test_icc_as_a_general_library_finds_it(seed):
    pingouin = pytest.importorskip("pingouin", reason="pingouin is an oracle for tests only")
    pandas = pytest.importorskip("pandas")
    rng = np.random.default_rng(seed)
    table = rng.normal(21, 1.5, (12, 1)) + rng.normal(0, 0.3, (1, 4)) + rng.normal(0, 0.4, (12, 4))
    rows = [(i, j, table[i, j]) for i in range(12) for j in range(4)]
    data = pandas.DataFrame(rows, columns=["target", "judge", "mm"])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # their own, about a table library
        theirs = pingouin.intraclass_corr(data, targets="target", raters="judge", ratings="mm")
    column = next(name for name in theirs.columns if name.startswith("CI95"))
    found = list(intraclass_correlations(table).values())
    assert [one.value for one in found] == pytest.approx(theirs["ICC"].tolist(), abs=1e-9)
    for one, ends in zip(found, theirs[column], strict=True):
        assert (one.low, one.high) == pytest.approx(tuple(ends), abs=0.0051)


def test_kappa_of_a_printed_table():
    """Printout of a statistics package kept in the tests of statsmodels: value, standard error, interval."""
    table = [[0, 4, 1], [0, 8, 0], [0, 1, 5]]
    plain, linear = cohens_kappa(table), cohens_kappa(table, weights="linear")
    assert (plain.value, plain.error, plain.low, plain.high) == pytest.approx(
        (0.4842, 0.1380, 0.2137, 0.7547), abs=5.1e-5
    )
    assert (linear.value, linear.error, linear.low, linear.high) == pytest.approx(
        (0.4701, 0.1457, 0.1845, 0.7558), abs=5.1e-5
    )


def test_kappa_of_fifty_proposals():
    """Textbook example, from memory; recomputed."""
    found = cohens_kappa([[20, 5], [10, 15]])
    assert found.value == pytest.approx(0.4, abs=1e-12)
    assert (found.error, found.low, found.high) == pytest.approx((0.1270, 0.151, 0.649), abs=5e-4)


def test_weighted_kappa_of_ratings():
    """Printout of the R package irr, kept in the tests of statsmodels: 20 subjects, raters 2 and 3."""
    levels = sorted({*ANXIETY_2, *ANXIETY_3})
    table = choice_table(*([str(v) for v in r] for r in (ANXIETY_2, ANXIETY_3)), [str(v) for v in levels])
    assert cohens_kappa(table).value == pytest.approx(-0.006289308, abs=5e-7)
    assert cohens_kappa(table, weights="linear").value == pytest.approx(0.1459075, abs=5e-7)
    assert cohens_kappa(table, weights="squared").value == pytest.approx(0.2520325, abs=5e-7)


def test_fleiss_kappa():
    assert round(fleiss_kappa(PATIENTS), 3) == 0.210


@settings(max_examples=30, deadline=None)
@given(
    arrays.arrays(np.int64, (3, 3), elements=st.integers(0, 12)),
    st.sampled_from([("none", None), ("linear", "linear"), ("squared", "quadratic")]),
)
def test_kappa_as_a_general_library_finds_it(table, weights):
    rater = pytest.importorskip(
        "statsmodels.stats.inter_rater", reason="statsmodels is an oracle for tests only"
    )
    if (table.sum(axis=0) > 0).sum() < 2 or (table.sum(axis=1) > 0).sum() < 2:
        return
    ours = cohens_kappa(table, weights=weights[0])
    theirs = rater.cohens_kappa(table, wt=weights[1])
    assert ours.value == pytest.approx(theirs.kappa, abs=1e-9)
    if theirs.var_kappa > 1e-12:
        assert ours.error == pytest.approx(theirs.std_kappa, rel=1e-6)


def test_exact_limits_hold_the_limit_they_are_for():
    """Simulated: the interval of the upper limit, bias + 1.96 SD, holds it in 95 % of small samples."""
    rng, held, approximate = np.random.default_rng(5), 0, 0
    for _ in range(1500):
        found = limits_of_agreement(rng.standard_normal(8))
        held += found.exact_upper.low <= 1.96 <= found.exact_upper.high
        approximate += found.upper.low <= 1.96 <= found.upper.high
    assert held / 1500 == pytest.approx(0.95, abs=0.02)
    assert approximate < held


def test_dahlbergs_interval_holds_the_sd_it_is_for():
    rng, held = np.random.default_rng(6), 0
    for _ in range(1500):
        found = dahlberg(np.diff(rng.standard_normal((6, 2)), axis=1))
        held += found.low <= 1 <= found.high
    assert held / 1500 == pytest.approx(0.95, abs=0.02)


def test_a_share_with_its_interval():
    """Wilson 1927, as statsmodels gives it."""
    proportion = pytest.importorskip(
        "statsmodels.stats.proportion", reason="statsmodels is an oracle for tests only"
    )
    found = share_within([0.1] * 17 + [0.6] * 3, 0.5)
    assert (found.low, found.high) == pytest.approx(
        proportion.proportion_confint(17, 20, method="wilson"), abs=1e-9
    )


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: limits_of_agreement([0.1]),
        lambda: limits_of_agreement([0.1, float("nan")]),
        lambda: dahlberg([]),
        lambda: intraclass_correlations([[1.0, 2.0]]),
        lambda: intraclass_correlations([[1.0, 2.0], [1.0, float("nan")]]),
        lambda: cohens_kappa([[1, 2, 3]]),
        lambda: cohens_kappa([[0, 0], [0, 0]]),
        lambda: fleiss_kappa([[2, 0], [1, 0]]),
    ],
    ids=["one", "nan", "none", "one target", "hole", "not square", "empty", "uneven"],
)
def test_what_cannot_be_said_is_refused(wrong):
    with pytest.raises(ExerciseError, match=r"value|table|subject"):
        wrong()


def test_everybody_the_same_is_no_agreement_beyond_chance():
    assert np.isnan(cohens_kappa([[5, 0], [0, 0]]).value)
    assert np.isnan(fleiss_kappa([[3, 0], [3, 0]]))
    same = intraclass_correlations([[1.0, 1.0], [2.0, 2.0], [3.0, 3.0]])
    assert [round(one.value, 9) for one in same.values()] == [1.0] * 6
