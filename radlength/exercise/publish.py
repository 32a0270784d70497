"""A set onto the disk: the learners' folder, and the teacher's file apart from it."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import cv2
import numpy as np

from radlength.clean import refused
from radlength.exercise.build import Made
from radlength.exercise.files import SET_FILE, save_set, save_truth
from radlength.exercise.refusal import ExerciseError
from radlength.record.made import shown


def check_places(folder: Path, answers: Path) -> None:
    """Refuse places where learners would get the answers, or something would be overwritten.

    Raises
    ------
    ExerciseError
        The folder holds something, or the answers would lie in it or over another file.
    """
    if folder.is_dir() and any(folder.iterdir()):
        raise _no_place("the folder holds something already", folder)
    for place, parent in ((folder, folder), (answers, answers.parent)):
        if _under_a_file(parent):
            raise _no_place(refused(NotADirectoryError()), place)
    if folder.resolve() in answers.resolve().parents or answers.resolve() == folder.resolve():
        raise ExerciseError(
            "the answers would lie in the learners' folder",
            "a place outside it",
            "name another file with --answers",
            code="answers-inside",
            subject=shown(str(answers)),
        )
    if answers.exists():
        raise ExerciseError(
            "a file of answers is there already",
            remedy="name another file with --answers, or move it away",
            code="answers-exist",
            subject=shown(str(answers)),
        )


def refuse_inside(folder: Path, place: Path | None, what: str) -> None:
    """Refuse to write what learners are not to have into their folder.

    Parameters
    ----------
    folder
        Folder of the set.
    place
        Where it would be written; ``None`` where it is not.
    what
        What it is, in words.

    Raises
    ------
    ExerciseError
        The place lies in the folder.
    """
    if place is not None and folder.resolve() in (place.resolve(), *place.resolve().parents):
        raise ExerciseError(
            f"{what} would lie in the learners' folder",
            "a place outside it",
            "choose another one",
            code="results-inside",
            subject=shown(str(place)),
        )


def _no_place(wrong: str, place: Path) -> ExerciseError:
    return ExerciseError(
        wrong, "a new or empty folder", "name another one", code="set-folder", subject=shown(str(place))
    )


def _under_a_file(folder: Path) -> bool:
    """Whether a file stands where this folder, or one above it, would be made."""
    there = next(place for place in (folder, *folder.parents) if place.exists())
    return not there.is_dir()


def publish(made: Made, folder: Path, answers: Path) -> None:
    """Write a set for learners into a folder, and its answers into a file elsewhere.

    Raises
    ------
    ExerciseError
        See :func:`check_places`; or something cannot be written, and then nothing is.
    """
    check_places(folder, answers)
    with _whole_or_nothing(folder, (answers, *(folder / name for name in (*made.images, SET_FILE)))):
        save_truth(made.truth, answers)
        _write_images(made, folder)
        save_set(made.exercises, folder)


@contextmanager
def _whole_or_nothing(folder: Path, files: Sequence[Path]) -> Iterator[None]:
    """Take away the files of a set that could not be written to its end, and its folder if it was made for it."""
    there = folder.exists()
    try:
        yield
    except BaseException:
        for file in files:
            with contextlib.suppress(OSError):
                file.unlink(missing_ok=True)
        if not there:
            with contextlib.suppress(OSError):
                folder.rmdir()
        raise


def _write_images(made: Made, folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, pixels in made.images.items():
            (folder / name).write_bytes(png(pixels))
    except OSError as exc:
        raise ExerciseError(
            f"cannot be written: {refused(exc)}",
            remedy="check the folder and its rights",
            code="exercise-unwritable",
            subject=shown(str(folder)),
        ) from exc


def png(pixels: np.ndarray) -> bytes:
    """Return pixels as a PNG that holds nothing else."""
    return bytes(cv2.imencode(".png", pixels, [cv2.IMWRITE_PNG_COMPRESSION, 9])[1].tobytes())
