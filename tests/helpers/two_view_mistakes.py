"""Mistakes a person may make with two images, one a function: marks in, spoilt marks out."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from helpers.two_view_scenes import moved, with_shifted


def apart(rng, low, high):
    """Return a signed distance in pixels of 0.025 mm, from millimetres."""
    return rng.uniform(low, high) * rng.choice((-1, 1)) / 0.025


def slide(paths, at, by_px):
    """Return paths with one point of each slid along its own last stretch, and across it."""
    out = {}
    for name, path in paths.items():
        way = np.array(path[-1]) - np.array(path[-2])
        way /= np.linalg.norm(way)
        along, across = by_px
        out[name] = moved(path, at, along * way + across * np.array([-way[1], way[0]]))
    return out


def tip_slid(marks, rng):
    """The tip lies elsewhere along the instrument on one image."""
    return with_shifted(marks, instruments=slide(marks.shifted.instruments, -1, (apart(rng, 1, 4), 0)))


def apex_slid(marks, rng):
    """The apex lies elsewhere along the canal on one image."""
    return with_shifted(marks, canals=slide(marks.shifted.canals, -1, (apart(rng, 1, 4), 0)))


def apex_aside(marks, rng):
    """The apex lies beside the canal on one image."""
    return with_shifted(marks, canals=slide(marks.shifted.canals, -1, (0, apart(rng, 1, 4))))


def stop_moved(marks, rng):
    """The reference point, where canal and instrument start, lies elsewhere on one image."""
    by = np.array([apart(rng, 1, 3), apart(rng, 0, 2)])
    return with_shifted(
        marks,
        canals={name: moved(path, 0, by) for name, path in marks.shifted.canals.items()},
        instruments={name: moved(path, 0, by) for name, path in marks.shifted.instruments.items()},
    )


def outlier(marks, rng):
    """One click lies far off the canal on one image."""
    at, turn = int(rng.integers(1, 7)), rng.uniform(0, 2 * np.pi)
    by = rng.uniform(40, 160) * np.array([np.sin(turn), np.cos(turn)])
    return with_shifted(marks, canals={n: moved(p, at, by) for n, p in marks.shifted.canals.items()})


def tools_swapped(marks, rng):
    """The marks of the instrument went to the other image."""
    straight, shifted = marks.straight, marks.shifted
    return replace(
        marks,
        straight=replace(straight, instruments=shifted.instruments),
        shifted=replace(shifted, instruments=straight.instruments),
    )


def canals_relabelled(marks, rng):
    """Two canals carry each other's name on one image, instruments included."""

    def renamed(paths):
        first, second, *_ = paths
        return {first: paths[second], second: paths[first], **{n: paths[n] for n in list(paths)[2:]}}

    return with_shifted(
        marks, canals=renamed(marks.shifted.canals), instruments=renamed(marks.shifted.instruments)
    )


def path_reversed(marks, rng):
    """A canal was clicked from the apex on one image."""
    return with_shifted(marks, canals={n: p[::-1] for n, p in marks.shifted.canals.items()})


def images_swapped(marks, rng):
    """The shifted image is taken for the straight one."""
    return replace(marks, straight=marks.shifted, shifted=marks.straight)


def direction_wrong(marks, rng):
    """The tube went the other way than declared."""
    return replace(marks, shift="left" if marks.shift == "right" else "right")


def image_mirrored(marks, rng):
    """One image is mirrored, left for right."""

    def over(points):
        return tuple((row, 1039 - column) for row, column in points)

    view = marks.shifted
    return with_shifted(
        marks,
        canals={n: over(p) for n, p in view.canals.items()},
        instruments={n: over(p) for n, p in view.instruments.items()},
        marker_px=over(view.marker_px),
    )


def angle_wrong(marks, rng):
    """The angle declared is wrong by 10 to 20 degrees."""
    angle = 20.0 if marks.angle_deg is None else marks.angle_deg
    wrong = angle + rng.uniform(10, 20) * (-1 if angle > 22 else 1)
    return replace(marks, angle_deg=float(np.clip(wrong, 0, 45)))


def same_image(marks, rng):
    """The same image twice, marked a second time."""

    def again(points):
        return tuple(map(tuple, np.array(points).reshape(-1, 2) + rng.normal(0, 2, (len(points), 2))))

    view = marks.straight
    return with_shifted(
        marks,
        canals={n: again(p) for n, p in view.canals.items()},
        instruments={n: (again(p[:1])[0], *again(p[1:])) for n, p in view.instruments.items()},
        marker_px=again(view.marker_px),
    )


def marker_flat(marks, rng):
    """The marker has no point off its plane."""
    return replace(
        marks,
        marker_mm=marks.marker_mm[:6],
        straight=replace(marks.straight, marker_px=marks.straight.marker_px[:6]),
        shifted=replace(marks.shifted, marker_px=marks.shifted.marker_px[:6]),
    )


def beads_swapped(marks, rng):
    """Two beads of the marker carry each other's name on one image."""
    beads = list(marks.shifted.marker_px)
    one, two = rng.choice(len(beads), 2, replace=False)
    beads[one], beads[two] = beads[two], beads[one]
    return with_shifted(marks, marker_px=beads)


def off_film(marks, rng):
    """The apex lies outside the film on one image, its mark put at a place where no pixel is."""
    return with_shifted(
        marks, canals={n: moved(p, -1, (rng.uniform(900, 2000), 0)) for n, p in marks.shifted.canals.items()}
    )


def no_number(marks, rng):
    """A click is not a number."""
    at = int(rng.integers(0, 8))
    return with_shifted(marks, canals={n: moved(p, at, (np.nan, 0)) for n, p in marks.shifted.canals.items()})


def length_wrong(marks, rng):
    """The instrument is 1 to 3 mm longer or shorter than said."""
    by = rng.uniform(1, 3) * rng.choice((-1, 1))
    return replace(
        marks, instruments=tuple(replace(one, length_mm=one.length_mm + by) for one in marks.instruments)
    )


def apex_slid_alike(marks, rng):
    """The apex lies at the same wrong place of the canal on both images."""
    by = (apart(rng, 1, 3), 0)
    return replace(
        marks,
        straight=replace(marks.straight, canals=slide(marks.straight.canals, -1, by)),
        shifted=replace(marks.shifted, canals=slide(marks.shifted.canals, -1, by)),
    )


def tip_slid_alike(marks, rng):
    """The tip lies at the same wrong place of the instrument on both images."""
    by = (apart(rng, 1, 3), 0)
    return replace(
        marks,
        straight=replace(marks.straight, instruments=slide(marks.straight.instruments, -1, by)),
        shifted=replace(marks.shifted, instruments=slide(marks.shifted.instruments, -1, by)),
    )


SEEN = (
    tip_slid, apex_slid, apex_aside, stop_moved, outlier, tools_swapped, canals_relabelled, path_reversed,
    images_swapped, direction_wrong, image_mirrored, angle_wrong, same_image, off_film, no_number,
)  # fmt: skip
MARKER_ONLY = (marker_flat, beads_swapped)
ALIKE = (length_wrong, tip_slid_alike, apex_slid_alike)
BAD = {spoil.__name__: spoil for spoil in (*SEEN, *MARKER_ONLY, *ALIKE)}
