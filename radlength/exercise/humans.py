"""Published figures of what people reach, to show beside a learner's own. Each with its source and its population."""

from __future__ import annotations

from dataclasses import dataclass

from radlength.exercise.models import Aim


@dataclass(frozen=True, slots=True)
class HumanFigure:
    """One published figure.

    Parameters
    ----------
    words
        What was found, on what.
    source
        Who published it.
    aims
        The exercises it stands beside.
    """

    words: str
    source: str
    aims: frozenset[Aim]

    def __str__(self) -> str:
        return f"{self.words} ({self.source})."


_MARKED: frozenset[Aim] = frozenset({"reference", "trace", "apex"})
_READ: frozenset[Aim] = frozenset({"confirm"})

FIGURES: tuple[HumanFigure, ...] = (
    HumanFigure(
        "65 dentists who traced canals on cone-beam images, not on periapical ones, were 0.30 ± 0.22 mm off on "
        "average, all within 1 mm",
        "Tchorz 2018, Eur Endod J 4:28-32",
        _MARKED,
    ),
    HumanFigure(
        "radiographs gave an acceptable working length in 74.0 to 83.1 %, apex locators in 87.0 to 92.1 %",
        "review of 16 studies, PMC12590451",
        frozenset({"trace", "confirm"}),
    ),
    HumanFigure(
        "three and six clicks on digital images of curved canals all read too long, without a significant difference",
        "40 teeth, JIDS article 7532",
        frozenset({"trace"}),
    ),
    HumanFigure(
        "a file that looked short was 0.46 mm nearer to the foramen than it looked, one that looked long 1.2 mm longer",
        "Williams 2007, J Endod, 26 canals, 6 observers",
        _READ,
    ),
    HumanFigure(
        "the radiograph alone found the constriction in 32.7 % of front teeth, 32.1 % of premolars, 14.6 % of molars",
        "Vieyra & Acosta 2011, 693 canals",
        _READ | {"apex"},
    ),
    HumanFigure(
        "mesial canals of lower molars part in at least 95 % of teeth at about 25° of horizontal shift",
        "318 teeth, Restor Dent Endod",
        frozenset({"view"}),
    ),
)


def figures_for(aim: Aim) -> tuple[HumanFigure, ...]:
    """Return the published figures that stand beside an exercise.

    Examples
    --------
    >>> len(figures_for("trace")), "318 teeth" in str(figures_for("view")[0])
    (3, True)
    """
    return tuple(figure for figure in FIGURES if aim in figure.aims)
