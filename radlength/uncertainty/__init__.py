"""How sure a length is: marks, budget, geometry, Monte Carlo. Anatomical scatter is never mixed in."""

from radlength.uncertainty.budget import Budget, BudgetLine, two_arms
from radlength.uncertainty.geometry import Arms
from radlength.uncertainty.marking import Marking
from radlength.uncertainty.monte_carlo import MonteCarloResult, adaptive_monte_carlo

__all__ = [
    "Arms",
    "Budget",
    "BudgetLine",
    "Marking",
    "MonteCarloResult",
    "adaptive_monte_carlo",
    "two_arms",
]
