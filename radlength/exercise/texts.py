"""What a learner reads: how to answer, the question of each aim, and the lessons of the built-in course.

A text never says what was put into the image. Facts of a lesson name their source.
"""

from __future__ import annotations

from radlength.exercise.models import Aim

HOW = (
    "Write one file NUMBER.marks.json for each exercise, or mark in the window. Points are [row, column] in pixels, "
    "the centre of the top-left pixel is (0, 0). \"reference\": {\"path_px\": [...]} is the instrument from the lower "
    "face of the stop to its tip; \"canal\": {\"path_px\": [...]} runs from the reference point on the crown to the "
    "radiographic apex; \"apex_px\": [row, column] is the apex alone; \"choice\": \"...\" is one of the choices of "
    "the exercise. Give what the exercise asks for and nothing else."
)  # fmt: skip

QUESTIONS: dict[Aim, str] = {
    "reference": (
        "Mark the instrument in canal {canal} along its course, from the lower face of the stop to its tip. It is "
        "{instrument} mm from stop to tip."
    ),
    "trace": (
        "Mark the instrument in canal {canal} from stop to tip ({instrument} mm), then the canal from the reference "
        "point under the stop along its course to the radiographic apex."
    ),
    "apex": "Mark the radiographic apex of canal {canal}, nothing else.",
    "confirm": (
        "The instrument is said to lie in canal {canal}, set to {instrument} mm. By the rule “{rule}”: accept the "
        "length, adjust the stop, or adjust and repeat the image? An image that does not show the instrument in "
        "that canal is repeated."
    ),
    "view": (
        "Canal {canal} is to be measured. Is this image enough to begin, or which further one would help most: the "
        "tube swung horizontally (shift), another vertical angle (vertical), or the same view exposed better "
        "(exposure)?"
    ),
}

LESSONS: tuple[str, ...] = tuple(
    line.strip()
    for line in """
A length is only as good as the length it is compared with: both ends of the instrument count.
The radiographic apex is the end of the root on the image. The foramen usually lies short of it, on average 0.69 mm
  (Martos 2009, 926 teeth).
Now the whole measurement on a straight root.
A bent instrument is marked along its bend: a straight line through it is too short, and what it measures too long.
Follow the root's outline to both sides of the apex before you choose.
Five to eight clicks, more where the canal bends: a polynomial of degree 4 follows root canals well (Dobo Nagy 2002,
  433 roots).
A canal that bends twice needs a click in each bend and one between.
The gap from tip to apex decides. Radiographs gave an acceptable length in 74.0 to 83.1 % (review of 16 studies,
  PMC12590451).
Two canals of one root lie over each other: follow the one that holds the instrument.
Mesial canals of lower molars part in 95 % of teeth at about 25° of horizontal shift (318 teeth, Restor Dent Endod).
Name what you cannot see before you ask for another view.
One view shows no bend along the beam. Marks cannot mend that: see what the geometry adds.
Every further image has its dose: ask for one where it changes what you do.
On a noisy image the eye finds edges that are not there: compare both sides of the root.
A thin tip fades before it ends. With fine instruments film and digital images both read too long (Brito-Júnior
  2009, 30 canals).
Before measuring, ask what the image cannot show.
Everything together, on a poor image.
Is this the canal that the record names?
A file that looks short is nearer to the foramen than it looks, by 0.46 mm on average (Williams 2007, 26 canals).
A file that looks long is longer still, by 1.2 mm on average (Williams 2007).
""".replace("\n  ", " ")
    .strip()
    .splitlines()
)
"""One for each exercise of the built-in course, in order."""


SIMULATED = "Every image is simulated, no patient."
"""Said of a set whose cases are invented, wherever something is told of it."""

NEUTRAL: tuple[str, ...] = (
    "Look at the whole image before the first click.",
    "Enlarge the image until the edge is wider than your doubt about it.",
    "Mark, look away, look again, and only then go on.",
    "Both ends first, the course between them after.",
)
"""In place of a lesson where an exercise comes a second time."""


def question(aim: Aim, *, canal: str, instrument_mm: float | None, rule: str, lesson: str = "") -> str:
    """Return the question of an exercise, after its lesson.

    Examples
    --------
    >>> question("apex", canal="MB", instrument_mm=None, rule="")
    'Mark the radiographic apex of canal MB, nothing else.'
    """
    stated = "?" if instrument_mm is None else f"{instrument_mm:.2f}".rstrip("0").rstrip(".")
    asked = QUESTIONS[aim].format(canal=canal, instrument=stated, rule=rule)
    return f"{lesson} {asked}".strip()
