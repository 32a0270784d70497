"""Other ways from clicks to a line, on the same image with the same clicks: what a trace must be better than.

Each peer gets what ours does not: which canals hold an instrument, and a crop of 1.5 mm round the clicks, so that its
time is not that of a whole image. Their raw pixel paths are smoothed by the same kind of pinned polynomial.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from radlength.geometry import fit_curve

MARGIN_MM = 1.5
SIGMAS_MM = (0.12, 0.22, 0.4)


def polyline(case, clicks_mm):
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(clicks_mm, axis=0).T))])
    at = np.linspace(0, along[-1], 150)
    return np.column_stack([np.interp(at, along, clicks_mm[:, axis]) for axis in (0, 1)])


def ridge(case, clicks_mm):
    """Return (ridge 0..1, row and column of its corner): multi-scale ridge filter of scikit-image (Sato 1998)."""
    from skimage.filters import sato

    side = case.pixel_mm
    low = np.maximum(np.floor((clicks_mm.min(axis=0) - MARGIN_MM) / side), 0).astype(int)
    high = np.ceil((clicks_mm.max(axis=0) + MARGIN_MM) / side).astype(int)
    part = case.radiograph.stored[low[0] : high[0] + 1, low[1] : high[1] + 1].astype(np.float32)
    sigmas = [sigma / side for sigma in SIGMAS_MM]
    found = sato(part, sigmas=sigmas, black_ridges=not case.instrument)
    return np.clip(found / np.quantile(found, 0.99), 0, 1), low


def shortest_path(case, clicks_mm):
    """Cheapest 8-connected path on the ridge, click to click (scikit-image)."""
    from skimage.graph import route_through_array

    strength, low = ridge(case, clicks_mm)
    cost = 0.03 + (1 - strength) ** 3
    places = _inside(np.rint(clicks_mm / case.pixel_mm).astype(int) - low, strength.shape)
    path = [places[0]]
    for start, stop in pairwise(places):
        path += route_through_array(cost, start, stop, fully_connected=True, geometric=True)[0][1:]
    return _smoothed((np.array(path) + low) * case.pixel_mm, clicks_mm)


def fast_marching(case, clicks_mm):
    """Arrival times on the ridge from each click, and back from the next by steepest descent (SimpleITK)."""
    import SimpleITK as sitk  # noqa: N813

    strength, low = ridge(case, clicks_mm)
    speed = 1 / (0.03 + (1 - strength.astype(np.float64)) ** 3)
    image = sitk.GetImageFromArray(speed)
    places = _inside(np.rint(clicks_mm / case.pixel_mm).astype(int) - low, strength.shape)
    path = [np.array(places[0], float)]
    for start, stop in pairwise(places):
        march = sitk.FastMarchingImageFilter()
        march.AddTrialPoint((int(start[1]), int(start[0])))
        times = sitk.GetArrayFromImage(march.Execute(image))
        path += _descend(times, start, stop)[::-1]
    return _smoothed((np.array(path) + low) * case.pixel_mm, clicks_mm)


def _descend(times, start, stop, step=0.5, most=8000):
    down = np.gradient(times)
    place, goal = np.array(stop, float), np.array(start, float)
    path = [place.copy()]
    top = np.array(times.shape) - 1
    for _ in range(most):
        row, column = np.clip(np.rint(place).astype(int), 0, top)
        slope = np.array([down[0][row, column], down[1][row, column]])
        size = np.hypot(*slope)
        toward = goal - place
        if np.hypot(*toward) < 1.5 or size == 0:
            break
        place = np.clip(place - step * slope / size, 0, top)
        path.append(place.copy())
    return [*path, goal]


def _inside(places, shape):
    return [tuple(int(x) for x in np.clip(place, 0, np.array(shape) - 1)) for place in places]


def _smoothed(path_mm, clicks_mm):
    apart = np.concatenate([[True], np.hypot(*np.diff(path_mm, axis=0).T) > 1e-9])
    path = path_mm[apart].copy()
    path[0], path[-1] = clicks_mm[0], clicks_mm[-1]
    return fit_curve(path, degree=6).resample(150)


PEERS = {"polyline": polyline, "shortest path on a ridge": shortest_path, "fast marching": fast_marching}
