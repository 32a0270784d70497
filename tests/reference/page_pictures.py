"""Pictures of the README that commands draw: ``python tests/reference/page_pictures.py fixtures/pictures``.

``demo.png``, ``report.png``, ``case.png``, ``shape-preview.png``, ``shape-compare.png`` and ``exercise.png``, of the
bundled invented premolar, an invented training block and the course. The pages need pdftoppm (poppler-utils).
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image
from typer.testing import CliRunner

sys.path.insert(0, str(Path(__file__).parents[1]))

from helpers.blocks import write_block
from helpers.exercise_markers import Marker, attempt_of

from radlength.cli.app import build_app
from radlength.exercise import Made, load_set, save_attempt

PREMOLAR = "invented-premolar.png"
DOTS_PER_INCH = 100
EXERCISE = "06"
EDGES = (
    ("--edge", "left:560,391 640,396 720,403 780,407 840,405 900,393 965,390"),
    ("--edge", "right:560,550 680,540 760,530 840,513 900,497 940,480 975,447"),
)
"""The root's outline on the premolar, clicked by hand."""
DECISION = (
    *(
        "--canal",
        "single",
        "--value",
        "21",
        "--again",
        "21",
        "--ends-at",
        "radiographic apex",
        "--short",
        "1",
    ),
    *("--by", "invented person", "--based-on", "6,9,10", "--why", "the canal has shortened"),
)


def radlength(*words: object) -> None:
    """Run a command; it has to end well."""
    done = CliRunner().invoke(build_app(), [str(word) for word in words], prog_name="radlength")
    if done.exit_code:
        raise SystemExit(f"radlength {words[0]}: {done.output}")


def first_page(pdf: Path, place: Path) -> None:
    """Write the first page of a PDF as a picture."""
    made = ["pdftoppm", "-r", str(DOTS_PER_INCH), "-png", "-singlefile", str(pdf), str(place.with_suffix(""))]
    subprocess.run(made, check=True)


def exercise(home: Path, place: Path) -> None:
    """Write what a careful learner who sets the apex half a millimetre too far is told of exercise 06."""
    radlength("exercise", "new", home / "course")
    answers, attempt = home / "course.answers.json", home / "A07.attempt.json"
    made = Made(load_set(home / "course"), answers.read_bytes(), {})
    learner = Marker(apex_mm=0.05, end_mm=0.03, click_mm=0.03, apex_bias_mm=0.5)
    save_attempt(attempt_of(made, learner, 1, "A07"), attempt)
    words = ("--answers", answers, "--pictures", home / "told")
    radlength("exercise", "score", home / "course", attempt, *words)
    shutil.copy(home / "told" / f"A07.{EXERCISE}.feedback.png", place)


def made_small(picture: Path) -> None:
    """Keep 256 colours of a picture."""
    Image.open(picture).quantize(256).save(picture, optimize=True)


def main(out: Path) -> None:
    """Write every picture into a folder."""
    with tempfile.TemporaryDirectory() as name:
        home = Path(name)
        radlength("demo", "--out", home)
        shutil.copy(home / "invented-premolar-marked.png", out / "demo.png")
        image = home / PREMOLAR
        radlength("report", image, "--pdf", home / "tooth.pdf")
        first_page(home / "tooth.pdf", out / "report.png")
        options = ("--option", "25/.06", "--option", "30/.04", "--threshold", "0.7")
        words = (*options, *EDGES[0], *EDGES[1], "--png", out / "shape-preview.png")
        radlength("shape", "preview", image, "--canal", "single", *words)
        case = home / "tooth45"
        radlength("case", "demo", case)
        radlength("case", "decide", case, *DECISION)
        radlength("case", "report", case, "--pdf", home / "case.pdf")
        first_page(home / "case.pdf", out / "case.png")
        exercise(home, out / "exercise.png")
        (before, after), files, _ = write_block(home, 3)
        for photograph, marks in ((before, files[0]), (after, files[1])):
            radlength("mark", photograph, "--from", marks)
        levels = ("--kind", "block", "--levels", "1,2,3,5,7,9,11")
        radlength("shape", "compare", before, after, *levels, "--png", out / "shape-compare.png")
    made_small(out / "shape-preview.png")
    made_small(out / "shape-compare.png")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
