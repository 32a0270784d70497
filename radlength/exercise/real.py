"""A set from real images that a teacher has marked. There is no truth here: only the teacher's marks.

Only grey values go to the learners: no file name, no header, nothing typed. A name burned into the picture stays.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from radlength.clean import counted
from radlength.errors import RadlengthError
from radlength.exercise.answers import CLOSE
from radlength.exercise.build import Drawn, Made, Pixels, assemble, check_set
from radlength.exercise.chance import new_secret, number_of
from radlength.exercise.models import CHOICES, MARKED, Aim, Task, Truth
from radlength.exercise.refusal import ExerciseError
from radlength.exercise.texts import question
from radlength.geometry import Point, fit_curve
from radlength.imaging import Radiograph, read_radiograph
from radlength.imaging.radiograph import pixel_hash
from radlength.length import Canal, estimate_length
from radlength.record import Record, stated_radiograph
from radlength.record.made import shown
from radlength.report.share import shared_pixels
from radlength.scale import Frame, Reference
from radlength.trade import repeat_rule
from radlength.uncertainty import Marking

LONGEST_NAME = 40
SUFFIXES = (".png", ".tif", ".tiff", ".jpg", ".jpeg", ".dcm")


@dataclass(frozen=True, slots=True)
class Marked:
    """A real image with a teacher's record of marks.

    Parameters
    ----------
    radiograph, record
        The image and what the teacher marked on it.
    """

    radiograph: Radiograph
    record: Record


def find_images(folder: Path, read: Callable[[Path, Radiograph], Record] | None = None) -> list[Marked]:
    """Return the images of a folder that a teacher has marked: those with a record beside them.

    Parameters
    ----------
    folder
        Images and ``IMAGE.radlength.json``.
    read
        How marks of an image without a record are read, if they can be.

    Raises
    ------
    ExerciseError
        There is none.
    """
    from radlength.record import load_record  # noqa: PLC0415

    found = []
    for path in sorted(place for place in folder.glob("*") if place.suffix.lower() in SUFFIXES):
        marks = path.with_suffix(".marks.json")
        if read is not None and marks.is_file():
            radiograph = read_radiograph(path)
            found.append(Marked(radiograph, read(marks, radiograph)))
        elif path.with_name(f"{path.name}.radlength.json").is_file():
            found.append(Marked(read_radiograph(path), load_record(path)))
    if not found:
        raise ExerciseError(
            "there is no marked image",
            "images with a record or NAME.marks.json beside them",
            "mark them first",
            code="real-empty",
            subject=shown(str(folder)),
        )
    return found


def real_set(
    images: Sequence[Marked],
    *,
    title: str,
    rule: str,
    repeats: int = 3,
    aim: Aim = "trace",
    done: Callable[[], None] = lambda: None,
) -> Made:
    """Make a set from images a teacher has marked; every marked canal is one exercise, in an order of chance.

    Parameters
    ----------
    images
        What was marked.
    title, rule, repeats
        As :func:`radlength.exercise.build.build_set` takes them.
    aim
        What is asked: ``"trace"``, ``"apex"`` or ``"reference"``. With ``"confirm"`` the teacher's gap decides.
    done
        Called after each image.

    Raises
    ------
    ExerciseError
        An image without a canal, or without an instrument in it where one is asked for.
    """
    if aim == "view":
        raise ExerciseError(
            "which further view would help is not known of a real image",
            "trace, apex, reference or confirm",
            code="real-aim",
        )
    secret, named = new_secret(), repeat_rule(rule).name
    canals = [entry.canal for image in images for entry in image.record.canals]
    if not canals:
        raise ExerciseError("no canal is marked", "one or more", "mark one", code="real-no-canal")
    check_set(title, repeats, len(canals) if aim in MARKED else 0, len(canals))
    for canal in canals:
        if len(canal.name) > LONGEST_NAME:
            raise ExerciseError(
                f"a canal's name of {counted(len(canal.name), 'character')}",
                f"{LONGEST_NAME} at most",
                "name it shorter in the teacher's marks",
                code="real-name",
                subject=shown(canal.label[:60]),
            )
    drawn: list[Drawn] = []
    for image in images:
        drawn += [_drawn(image, number, named, aim) for number in range(len(image.record.canals))]
        done()
    order = np.random.default_rng(number_of(secret, "order")).permutation(len(drawn))
    return assemble(
        [drawn[at] for at in order],
        title=title,
        kind="real images",
        invented=all(image.record.invented for image in images),
        secret=secret,
        rule=named,
        repeats=repeats,
    )


def _drawn(image: Marked, number: int, rule: str, aim: Aim) -> Drawn:
    entry = image.record.canals[number]
    canal, radiograph = entry.canal, stated_radiograph(image.record, image.radiograph)
    known = next((r for r in image.record.references if r.name == entry.reference), None)
    reference = known if known is not None and known.lies_in(canal.label) else None
    if reference is None and aim in ("reference", "confirm"):
        raise ExerciseError(
            "no instrument lies in that canal", code="real-no-instrument", subject=shown(canal.label)
        )
    truth = _truth(canal, known, radiograph, image.record.marking, rule, aim)
    pixels = _for_any_viewer(shared_pixels(radiograph))
    told = reference.length_mm if reference is not None else None
    text = question(aim, canal=canal.name, instrument_mm=told, rule=rule)
    if reference is None and aim == "trace":
        text = f"Mark canal {canal.name} from its reference point along its course to the radiographic apex."
    task = Task(
        id="00",
        aim=aim,
        difficulty=6,
        text=text,
        image="00.png",
        rows=pixels.shape[0],
        columns=pixels.shape[1],
        pixel_sha256=pixel_hash(pixels),
        pitch_mm=truth.pitch_mm if radiograph.scale.row_mm else None,
        tooth=canal.tooth,
        canal=canal.name,
        instrument_mm=told if aim != "apex" else None,
        instrument_limit_mm=reference.limit_mm if reference is not None and aim != "apex" else None,
        choices=CHOICES.get(aim, ()),
    )
    return Drawn(task, truth, pixels)


def _for_any_viewer(pixels: Pixels) -> Pixels:
    """Return 12 bits in the high bits of 16, where a plain viewer looks for them; 8 bits as they are."""
    if pixels.dtype == np.uint8:
        return pixels
    spare = 16 - int(pixels.max()).bit_length()
    return np.asarray(pixels << np.uint16(max(spare, 0)), dtype=np.uint16)


def _truth(
    canal: Canal, known: Reference | None, radiograph: Radiograph, marking: Marking, rule: str, aim: Aim
) -> Truth:
    try:
        estimate = estimate_length(canal, known, radiograph=radiograph, marking=marking)
    except RadlengthError as exc:
        raise ExerciseError(exc.wrong, exc.allowed, code=exc.code, subject=shown(canal.label)) from exc
    reference = known if known is not None and known.lies_in(canal.label) else None
    frame = Frame.of(radiograph)
    length_mm = estimate.canal_length.value_mm
    gap_mm = estimate.gap_mm
    units = fit_curve(frame.to_units(canal.path_px)).length
    return Truth(
        task="00",
        basis="teacher",
        level="real image",
        length_mm=length_mm,
        gap_mm=gap_mm,
        canal_px=_close(canal.path_px, frame),
        reference_px=_close(reference.path_px, frame) if reference is not None else None,
        reference_mm=reference.length_mm if reference is not None else None,
        reference_limit_mm=reference.limit_mm if reference is not None else None,
        mm_per_unit=length_mm / units if reference is None else None,
        pitch_mm=(frame.row, frame.column),
        marking=marking,
        choice=repeat_rule(rule).classify(gap_mm) if aim == "confirm" and gap_mm is not None else None,
        why=f"The teacher's marks leave {gap_mm:.2f} mm." if aim == "confirm" and gap_mm is not None else "",
    )


def _close(path_px: Sequence[Sequence[float]], frame: Frame) -> tuple[Point, ...]:
    """Return points close together along the curve through marks, in pixels."""
    units = fit_curve(frame.to_units(path_px)).resample(CLOSE)
    return tuple((float(row), float(column)) for row, column in units / (frame.row, frame.column))
