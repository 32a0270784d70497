"""A kappa is told only where what is right differs between the exercises."""

from __future__ import annotations

import pytest

from radlength.exercise.kappa import choice_table, cohens_kappa
from radlength.exercise.learner import decisions_kappa
from radlength.exercise.models import CHOICES
from radlength.exercise.score import Result


def results(right, chosen):
    return [
        Result(f"{number:02d}", "confirm", 6, "x", "simulated", number, choice=choice, right_choice=answer)
        for number, (answer, choice) in enumerate(zip(right, chosen, strict=True), 1)
    ]


@pytest.mark.parametrize(
    "chosen",
    [["repeat"] * 4, ["accept"] * 4, ["repeat", "repeat", "repeat", "accept"]],
    ids=["all right", "all wrong", "one wrong"],
)
def test_where_one_choice_is_always_right_there_is_none(chosen):
    """By the formula it is 0 or no number, whether three of four are right or none: as good as chance."""
    table = choice_table(["repeat"] * 4, chosen, CHOICES["confirm"])
    assert cohens_kappa(table).value in (0, pytest.approx(float("nan"), nan_ok=True))
    assert decisions_kappa(results(["repeat"] * 4, chosen)) is None


def test_where_it_differs_it_is_told():
    """By hand: seen 3/4; chance 1/2 x 3/4 + 1/2 x 1/4 = 1/2; (3/4 - 1/2) / (1 - 1/2) = 1/2."""
    right = ["accept", "accept", "repeat", "repeat"]
    assert decisions_kappa(results(right, ["accept", "accept", "accept", "repeat"])).value == pytest.approx(
        0.5
    )
