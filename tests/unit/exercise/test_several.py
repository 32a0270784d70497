"""Limits of agreement of several errors of each learner: their intervals hold the limit in small classes too."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from radlength.exercise.agreement import limits_of_agreement
from radlength.exercise.several import limits_of_several


def drawn(rng, learners, among, within, missed=0.1):
    """Return errors of a class in 16 exercises, some of them missed."""
    table = rng.normal(0, among, (learners, 1)) + rng.normal(0, within, (learners, 16))
    table[:, 2:][rng.random((learners, 14)) < missed] = np.nan
    return table


@pytest.mark.parametrize("learners", [2, 3, 5, 10, 40])
@pytest.mark.parametrize(("among", "within"), [(0.3, 0.4), (0.1, 0.5), (0.5, 0.2)])
def test_the_interval_of_a_limit_holds_it(learners, among, within):
    """Of 1000 limits 950 are to be held; a bootstrap over learners held 710 to 850 of them in classes of five."""
    rng, limit = np.random.default_rng((2026, learners)), 1.96 * np.hypot(among, within)
    held = 0
    for _ in range(500):
        found = limits_of_several(drawn(rng, learners, among, within))
        held += found.upper.low <= limit <= found.upper.high
        held += found.lower.low <= -limit <= found.lower.high
    assert held >= 925


@pytest.mark.parametrize("missed", [0.0, 0.8])
def test_learners_who_do_not_differ_are_not_told_to(missed):
    """A variance between learners that was never let below nothing made the whole one 4 and 12 % too large."""
    rng = np.random.default_rng(20261130)
    tables = [drawn(rng, 5, 0.0, 0.5, missed)[:, :5] for _ in range(2000)]
    assert np.mean([limits_of_several(table).sd ** 2 for table in tables]) == pytest.approx(0.25, rel=0.02)


def test_equally_many_errors_give_the_sd_of_a_mixed_model():
    """Restricted maximum likelihood of a general library: the same where every learner has equally many."""
    smf = pytest.importorskip("statsmodels.formula.api")
    pandas = pytest.importorskip("pandas")
    table = drawn(np.random.default_rng(3), 30, 0.3, 0.4, missed=0.0)
    rows = [(learner, error) for learner, errors in enumerate(table) for error in errors]
    frame = pandas.DataFrame(rows, columns=["learner", "error"])
    model = smf.mixedlm("error ~ 1", frame, groups="learner")
    fitted, found = model.fit(reml=True), limits_of_several(table)
    assert found.bias.value == pytest.approx(fitted.params["Intercept"])
    assert found.sd == pytest.approx(np.sqrt(fitted.cov_re.iloc[0, 0] + fitted.scale), rel=1e-4)
    reach = stats.t.ppf(0.975, 29) * fitted.bse["Intercept"]
    assert found.bias.high - found.bias.value == pytest.approx(reach, rel=1e-3)


def test_learners_who_never_err_twice_alike_are_as_single_errors():
    """Pairs of equal errors: what is left is one error of each learner, and the bias is that of Bland & Altman."""
    errors = np.random.default_rng(5).normal(0.1, 0.3, 25)
    found, single = limits_of_several(np.column_stack([errors, errors])), limits_of_agreement(errors)
    assert found.sd == pytest.approx(single.sd)
    assert (found.bias.low, found.bias.high) == pytest.approx((single.bias.low, single.bias.high))
    assert found.upper.low < single.upper.value < found.upper.high
    assert (found.upper.low, found.upper.high) == pytest.approx(
        (single.exact_upper.low, single.exact_upper.high), abs=0.02
    )


def test_one_learner_has_no_limits():
    assert limits_of_several(np.array([[0.1, 0.2, 0.3]])) is None
