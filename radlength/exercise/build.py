"""From items to a set: images, what the learner gets, what the teacher keeps, and hidden repeats."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from itertools import cycle
from multiprocessing import get_context

import numpy as np
from numpy.typing import NDArray

from radlength._version import __version__
from radlength.clean import counted
from radlength.exercise.answers import simulated_truth
from radlength.exercise.chance import number_of
from radlength.exercise.course import Item
from radlength.exercise.disguise import (
    another_size,
    mirrored_pixels,
    mirrored_tooth,
    mirrored_truth,
    order_with_repeats,
    resized_truth,
    window,
    windowed_pixels,
)
from radlength.exercise.files import dump_truth, edition_of, seal_of
from radlength.exercise.helpful import helpful_view
from radlength.exercise.hidden import apex_hidden
from radlength.exercise.levels import (
    PITCH_MM,
    SHAPE_PX,
    Level,
    Render,
    level_of,
    rendered,
    scene_of,
    target_of,
)
from radlength.exercise.models import CHOICES, MARKED, Aim, ExerciseSet, SealedTruth, SetKind, Task, Truth
from radlength.exercise.refusal import ExerciseError
from radlength.exercise.texts import HOW, NEUTRAL, question
from radlength.imaging.radiograph import pixel_hash
from radlength.phantom import Scene
from radlength.phantom.detector import Detector
from radlength.phantom.truth import tooth_number

Pixels = NDArray[np.uint8] | NDArray[np.uint16]
RULE = "tip within 1 mm"
LIMIT_MM = 0.25
PUBLIC = "c0" * 16
"""In place of a secret where everything is public: the built-in course."""
MOST_TRIES = 200
LONGEST_TITLE, MOST_TASKS = 200, 999
WORTH_WORKERS = 4
"""Fewer images are drawn sooner than workers have started."""
TOLD: dict[Aim, int] = {"view": 4, "confirm": 6}
"""Difficulty that is told where the level's own would give the choice away."""


@dataclass(frozen=True, slots=True)
class Made:
    """A set as it was made.

    Parameters
    ----------
    exercises
        For the learner.
    truth
        For the teacher, as bytes: their digest seals the set.
    images
        Pixels by file name.
    """

    exercises: ExerciseSet
    truth: bytes
    images: dict[str, Pixels]


@dataclass(frozen=True, slots=True)
class Drawn:
    """One exercise before it has a number."""

    task: Task
    truth: Truth
    pixels: Pixels
    lesson: str = ""


def build_set(
    items: Sequence[Item],
    *,
    title: str,
    kind: SetKind,
    secret: str | None,
    rule: str = RULE,
    repeats: int = 3,
    render: Render = rendered,
    pitch_mm: float = PITCH_MM,
    shape_px: tuple[int, int] = SHAPE_PX,
    workers: int = 1,
    started: Callable[[], None] = lambda: None,
    done: Callable[[], None] = lambda: None,
) -> Made:
    """Make a set of simulated exercises.

    Parameters
    ----------
    items
        What it is made from.
    title, kind, rule
        As the set says them.
    secret
        The teacher's; ``None`` for a course whose seeds are public.
    repeats
        How many marking exercises come a second time, disguised.
    render
        Makes the pixels of a scene; with several workers a function of a module.
    pitch_mm, shape_px
        Pixel pitch; rows and columns of every image.
    workers
        Processes that draw images.
    started
        Called when all workers run, before the first image is drawn.
    done
        Called after each image.

    Returns
    -------
    Made
        The same set, however many workers drew it.

    Raises
    ------
    ExerciseError
        As :func:`check_set`, before anything is drawn.
    """
    check_set(title, repeats, sum(item.aim in MARKED for item in items), len(items))
    draw = partial(_drawn, rule=rule, render=render, pitch_mm=pitch_mm, shape_px=shape_px)
    drawn = []
    for one in _in_turn(draw, items, workers, started):
        drawn.append(one)
        done()
    return assemble(drawn, title=title, kind=kind, invented=True, secret=secret, rule=rule, repeats=repeats)


def check_set(title: str, repeats: int, marking: int, count: int) -> None:
    """Refuse a title that is too long, repeats that cannot be, or more exercises than a set may have.

    Parameters
    ----------
    title
        Of the set.
    repeats
        How many exercises come again.
    marking
        How many there are in which something is marked.
    count
        How many there are, without repeats.

    Raises
    ------
    ExerciseError
        One of them cannot be.
    """
    if not 1 <= len(title.strip()) <= LONGEST_TITLE:
        raise ExerciseError(
            f"a title of {counted(len(title.strip()), 'character')}",
            f"1 to {LONGEST_TITLE}",
            "choose another one with --title",
            code="exercise-title",
        )
    if not 0 <= repeats <= marking:
        raise ExerciseError(
            f"{counted(repeats, 'hidden repeat')} of {counted(marking, 'marking exercise')}",
            f"0 to {marking}",
            "choose another number with --repeats",
            code="exercise-repeats",
        )
    if count + repeats > MOST_TASKS:
        raise ExerciseError(
            counted(count + repeats, "exercise"), f"{MOST_TASKS} at most", code="exercise-count"
        )


def _in_turn(
    draw: Callable[[Item], Drawn], items: Sequence[Item], workers: int, started: Callable[[], None]
) -> Iterator[Drawn]:
    if workers < 2 or len(items) < WORTH_WORKERS:
        started()
        yield from map(draw, items)
        return
    with ProcessPoolExecutor(min(workers, len(items)), mp_context=get_context("spawn")) as pool:
        found = pool.map(draw, items)
        started()
        yield from found


def scene_for(
    item: Item, *, pitch_mm: float = PITCH_MM, shape_px: tuple[int, int] = SHAPE_PX
) -> tuple[Level, Scene]:
    """Return the level and the scene of an item: the first after its seed that can be answered by eye.

    Raises
    ------
    ExerciseError
        No level of that name, or no such scene.
    """
    level = level_of(item.level)
    for turn in range(MOST_TRIES):
        scene = scene_of(level, item.seed + turn * 2**20, pitch_mm=pitch_mm, shape_px=shape_px)
        if _answerable(item.aim, level, scene):
            return level, scene
    raise ExerciseError(f"no scene of level {item.level!r}", code="exercise-scene")


def _answerable(aim: Aim, level: Level, scene: Scene) -> bool:
    """Tell whether the apex can be found, or the view helps that the level is made for, and no other would."""
    if aim != "view":
        return not apex_hidden(scene, target_of(level, scene))
    if level.helps is None:
        return True
    helps = helpful_view(scene, level.detector).choice
    well_exposed = helpful_view(scene, Detector()).choice
    return helps == level.helps and (helps != "exposure" or well_exposed == "enough")


def _drawn(item: Item, rule: str, render: Render, pitch_mm: float, shape_px: tuple[int, int]) -> Drawn:
    level, scene = scene_for(item, pitch_mm=pitch_mm, shape_px=shape_px)
    pixels = render(scene, level.detector)
    truth = simulated_truth("00", item.aim, level, scene, seed=scene.seed, rule=rule, limit_mm=LIMIT_MM)
    canal = target_of(level, scene)
    pitch = scene.view.pitch_mm
    told = truth.reference_mm if item.aim != "view" else None
    task = Task(
        id="00",
        aim=item.aim,
        difficulty=TOLD.get(item.aim, level.difficulty),
        text=question(item.aim, canal=canal, instrument_mm=told, rule=rule),
        image="00.png",
        rows=pixels.shape[0],
        columns=pixels.shape[1],
        pixel_sha256=pixel_hash(pixels),
        pitch_mm=(pitch, pitch),
        tooth=tooth_number(scene),
        canal=canal,
        instrument_mm=told if item.aim in ("reference", "trace", "confirm") else None,
        instrument_limit_mm=LIMIT_MM if item.aim in ("reference", "trace", "confirm") else None,
        choices=CHOICES.get(item.aim, ()),
    )
    return Drawn(task, truth, pixels, item.lesson)


def assemble(
    drawn: Sequence[Drawn],
    *,
    title: str,
    kind: SetKind,
    invented: bool,
    secret: str | None,
    rule: str,
    repeats: int,
) -> Made:
    """Number exercises, put hidden repeats among them, and seal the answers; :func:`check_set` has been asked."""
    key = secret or PUBLIC
    tasks, answers, images = [], [], {}
    for task, truth, pixels in _numbered(drawn, key, repeats):
        tasks.append(task)
        answers.append(truth)
        images[task.image] = pixels
    exercises = ExerciseSet(
        set=f"{number_of(key, 'set', title):032x}",
        title=title,
        kind=kind,
        invented=invented,
        rule=rule,
        how=HOW,
        tasks=tuple(tasks),
        seal_sha256="0" * 64,
        software=f"radlength {__version__}",
    )
    sealed = dump_truth(
        SealedTruth(set=exercises.set, edition=edition_of(exercises), secret=secret, answers=tuple(answers))
    )
    return Made(exercises.model_copy(update={"seal_sha256": seal_of(sealed)}), sealed, images)


def _numbered(drawn: Sequence[Drawn], key: str, repeats: int) -> Iterator[tuple[Task, Truth, Pixels]]:
    rng = np.random.default_rng(number_of(key, "repeats"))
    order = order_with_repeats(len(drawn), _chosen(drawn, repeats, rng), rng)
    drawn = _to_both_sides(drawn, key)
    width = max(2, len(str(len(order))))
    seen: dict[int, str] = {}
    mirrors = cycle((True, False) if rng.integers(2) else (False, True))
    for number, at in enumerate(order, 1):
        one, name = drawn[at], f"{number:0{width}d}"
        if at in seen:
            neutral = NEUTRAL[number % len(NEUTRAL)] if one.lesson else ""
            one = replace(_disguised(one, seen[at], mirror=next(mirrors), rng=rng), lesson=neutral)
        seen.setdefault(at, name)
        image = f"{name}.png"
        yield (
            one.task.model_copy(
                update={"id": name, "image": image, "text": f"{one.lesson} {one.task.text}".strip()}
            ),
            one.truth.model_copy(update={"task": name}),
            one.pixels,
        )


def _to_both_sides(drawn: Sequence[Drawn], key: str) -> list[Drawn]:
    """Return half of the simulated exercises mirrored, by lot: else the left side of a jaw would mean a repeat."""
    rng = np.random.default_rng(number_of(key, "sides"))
    return [
        _mirrored(one) if one.truth.basis == "simulated" and left else one
        for one, left in zip(drawn, rng.integers(2, size=len(drawn)), strict=True)
    ]


def _mirrored(one: Drawn) -> Drawn:
    pixels = mirrored_pixels(one.pixels)
    changed = {"tooth": mirrored_tooth(one.task.tooth), "pixel_sha256": pixel_hash(pixels)}
    truth = mirrored_truth(one.truth, pixels.shape[1])
    return replace(one, task=one.task.model_copy(update=changed), truth=truth, pixels=pixels)


def _chosen(drawn: Sequence[Drawn], repeats: int, rng: np.random.Generator) -> list[int]:
    """Return which exercises are repeated: whole traces first, then other marks."""
    marked = [at for at, one in enumerate(drawn) if one.task.aim in MARKED]
    shuffled = [marked[at] for at in rng.permutation(len(marked))]
    return sorted(shuffled, key=lambda at: drawn[at].task.aim != "trace")[:repeats]


def _disguised(one: Drawn, first: str, *, mirror: bool, rng: np.random.Generator) -> Drawn:
    again = replace(one, truth=one.truth.model_copy(update={"repeat_of": first}))
    reference_mm = another_size(one.truth, rng) if one.task.instrument_mm is not None else None
    if reference_mm is not None:
        again = _resized(again, reference_mm)
    if mirror:
        return _mirrored(again)
    greys = window(rng)
    pixels = windowed_pixels(again.pixels, greys)
    task = again.task.model_copy(update={"pixel_sha256": pixel_hash(pixels)})
    return replace(again, task=task, truth=again.truth.model_copy(update={"greys": greys}), pixels=pixels)


def _resized(one: Drawn, reference_mm: float) -> Drawn:
    """Return an exercise on a tooth of another size: who remembers a number remembers the wrong one."""
    text = question(one.task.aim, canal=one.task.canal, instrument_mm=reference_mm, rule="")
    task = one.task.model_copy(update={"instrument_mm": reference_mm, "text": text})
    return replace(one, task=task, truth=resized_truth(one.truth, reference_mm))
