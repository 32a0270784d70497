"""What nature allows, beside what is reached: memory bandwidth, the tolerance of Monte Carlo, the noise about a tip."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest import mock

import numpy as np
import tifffile
from helpers.shapes import bent_canal

from radlength.imaging import read_radiograph
from radlength.length import Canal, estimate_length
from radlength.length.simulate import draw_budget, draw_clicks
from radlength.scale import Frame, Reference, reference_scale

DRAWS = 1_000_000
TIP_SCENES = 12
STEP_MM = 0.05


def least(work: Callable[[], object], runs: int = 21) -> float:
    """Return the least processor seconds of several runs: other work on the machine counts not."""
    found = []
    for _ in range(runs):
        begun = time.process_time()
        work()
        found.append(time.process_time() - begun)
    return min(found)


def lines() -> Iterator[str]:
    """Yield a line for each limit."""
    yield "limits"
    yield from _bandwidth()
    yield from _tolerance()


def _bandwidth() -> Iterator[str]:
    """Opening against a copy of the same bytes in memory, and against the hash that binds marks to pixels."""
    import hashlib

    values = np.random.default_rng(0).integers(0, 4096, (2000, 2000), dtype=np.uint16)
    with TemporaryDirectory() as folder:
        path = Path(folder) / "four.tif"
        tifffile.imwrite(path, values)
        ours = least(lambda: read_radiograph(path))
        bytes_s = least(path.read_bytes)
    copied, hashed = least(values.copy), least(lambda: hashlib.sha256(values).digest())
    yield (
        f"open a 4-Mpx TIFF: {1e3 * ours:.2f} ms; copy of its bytes {1e3 * copied:.2f} ms ({ours / copied:.1f}x), file "
        f"into memory {1e3 * bytes_s:.2f} ms, SHA-256 of its pixels {1e3 * hashed:.2f} ms"
    )
    yield f"  of copy + file + SHA-256: {ours / (copied + bytes_s + hashed):.2f}x; the hash is what costs"


def _tolerance() -> Iterator[str]:
    """Ends of the 95 % interval beside those of Monte Carlo, in the tolerance of JCGM 101:2008, 7.9.2 and 8.1.3."""
    path = bent_canal(22.0, 30.0) * 40 + 50
    known = Reference(path_px=path[:-1], length_mm=20.5, limit_mm=0.25)
    found = estimate_length(Canal(tooth="45", name="single", path_px=path), known)
    length = found.canal_length
    tolerance = 0.5 * 10.0 ** (np.floor(np.log10(length.u_mm)) - 1)
    scale = reference_scale(known, Frame(), canal_name="single")
    for what, draws in (
        ("at length level", draw_budget(found, np.random.default_rng(1), DRAWS)),
        ("through clicks and fit", draw_clicks(found, scale, Frame(), np.random.default_rng(1), 100_000)),
    ):
        low, high = np.quantile(draws, (0.025, 0.975))
        off = max(abs(low - length.low_mm), abs(high - length.high_mm))
        yield (
            f"95 % interval {what}: {length.low_mm:.3f} to {length.high_mm:.3f} mm first order, "
            f"{low:.3f} to {high:.3f} of {len(draws)} draws; at most "
            f"{off / tolerance:.1f} tolerances of {tolerance:g} mm apart"
        )


def tip_lines(scenes: int = TIP_SCENES, first: int = 61_000) -> Iterator[str]:
    """Yield how far found tips scatter beside the Cramér–Rao bound of the same scenes.

    The bound is for one unknown, the place of the tip along its canal, everything else known: the variance of no
    unbiased estimate is below 1 / sum((dI/ds)^2 / var I) (Cramér 1946; Rao 1945). I is the exposure without noise,
    var I = I / quanta.
    """
    sys.path.insert(0, str(Path(__file__).parents[1] / "reference"))
    from helpers.object_scenes import radiograph_of, tool_of, truth_of

    from radlength.tracing import find_instrument

    errors, bounds = [], []
    for seed in range(first, first + scenes):
        tool, truth = tool_of(seed), truth_of(seed)
        for name, path in list(truth.instruments.items())[:1]:
            image = radiograph_of(seed)
            found = find_instrument(
                image, path[0], path[-1], size=tool.size, taper=tool.taper, tip_form=tool.form
            )
            way = (path[-1] - path[-8]) / np.hypot(*(path[-1] - path[-8]))
            if found.trusted:
                errors.append(float((found.tip_px - path[-1]) @ way) * image.scale.row_mm)
            if len(bounds) < 3:
                bounds.append(_bound(seed, name))
    sd = 1.4826 * float(np.median(np.abs(np.array(errors) - np.median(errors))))
    bound = float(np.median(bounds))
    yield (
        f"tip along its axis, {len(errors)} trusted of {scenes} scenes: scatter {sd:.4f} mm (median deviation), bias "
        f"{np.median(errors):+.4f} mm; Cramér–Rao bound {bound:.5f} mm ({len(bounds)} scenes): {sd / bound:.0f}x"
    )
    yield "  the bound knows the whole scene but the tip; a finder must learn contrast, blur and background beside it"


def _bound(seed: int, name: str) -> float:
    """Return the bound in millimetres on the image, by two renders without noise."""
    from helpers.object_scenes import scene_of, tool_of, tube_with

    from radlength.phantom import Camera
    from radlength.phantom.detector import Detector
    from radlength.phantom.render import render

    scene, detector = scene_of(seed), Detector()
    camera, still = Camera.of(scene.view), replace(detector, quanta=0.0)
    images, places = [], []
    for off in (-STEP_MM / 2, STEP_MM / 2):
        tools = tuple(
            replace(one, stop_to_tip_mm=one.stop_to_tip_mm + off * (one.canal == name))
            for one in scene.instruments
        )
        with mock.patch("radlength.phantom.tools.instrument_tube", tube_with(tool_of(seed).form)):
            images.append(
                render(replace(scene, instruments=tools), detector=still).exposure.astype(np.float64)
            )
        tip = next(one.stop_to_tip_mm for one in tools if one.canal == name)
        places.append(camera.project(scene.canal(name).at(np.array([tip])))[0])
    step = float(np.hypot(*(places[1] - places[0]))) * scene.view.pitch_mm
    slope = (images[1] - images[0]) / step
    quanta = detector.quanta * (scene.view.pitch_mm / 0.025) ** 2
    near = np.hypot(*(np.indices(slope.shape) - places[0][:, None, None])) * scene.view.pitch_mm < 2.0
    return float(1 / np.sqrt((slope**2 * quanta / images[0])[near].sum()))
