"""The window while a point is dragged, beside a bare napari path; and what the dock adds to a start.

Needs a display: skipped without one.
"""

import os
import time

import numpy as np
import pytest

pytest.importorskip("napari")
if not os.environ.get("DISPLAY"):
    pytest.skip("no display", allow_module_level=True)

from qtpy.QtWidgets import QApplication

from napari_radlength._dock import open_dock
from radlength.imaging import Radiograph
from radlength.session import CanalDraft, ReferenceDraft, Session

SIDE, CANALS, MOVES = 2000, 6, 40


def line(number):
    """Return the clicks of a bent canal."""
    rows = np.linspace(300, 1500, 5)
    columns = 300 + 220 * number + 60 * ((rows - 300) / 1200) ** 2
    return tuple((float(row), float(column)) for row, column in zip(rows, columns, strict=True))


def four_megapixels():
    """Return an image of 4 million pixels with six dark canals."""
    grey = np.full((SIDE, SIDE), 150.0)
    rows = np.arange(SIDE)
    for number in range(CANALS):
        middle = 300 + 220 * number + 60 * ((rows - 300) / 1200) ** 2
        grey -= 60 * np.exp(-0.5 * ((np.arange(SIDE) - middle[:, None]) / 8) ** 2)
    grey += np.random.default_rng(0).normal(0, 2, grey.shape)
    return grey.clip(0, 255).astype(np.uint8)


@pytest.fixture(scope="module")
def pixels():
    return four_megapixels()


def p95(move):
    """Return the 95th percentile of the time of a move with its painting, and the median, in milliseconds.

    Processor time of this process, drawing in software included, so that other work on the machine does not count.
    """
    times = []
    for number in range(MOVES):
        started = time.process_time()
        move(number)
        QApplication.processEvents()
        times.append(1e3 * (time.process_time() - started))
    return float(np.quantile(times[5:], 0.95)), float(np.median(times[5:]))


@pytest.mark.parametrize("assist", [False, True], ids=["by hand", "traced"])
def test_drag_repaint_beside_a_bare_shapes_path(benchmark, make_napari_viewer, pixels, assist):
    """Target: p95 below 25 ms with six canals on four million pixels."""
    viewer = make_napari_viewer(show=True)
    dock = open_dock(viewer)
    session = Session(Radiograph.from_array(pixels, name="four.tif", row_mm=0.025, column_mm=0.025))
    canals = tuple(CanalDraft("46", f"canal {n}", line(n)) for n in range(CANALS))
    reference = ReferenceDraft(line(0)[:4], 20.0, canal="canal 0")
    session.apply(type(session.annotation)((reference,), canals, 2))
    dock.show_session(session)
    dock.set_assist(assist)
    dock.mark_canal()
    QApplication.processEvents()
    base = np.array(line(2)[2])
    mine = benchmark.pedantic(
        lambda: p95(lambda n: dock.marker.drag("canal", 2, base + np.array([n % 7, n % 5]))), rounds=1
    )
    canvas = viewer.window._qt_viewer.canvas._scene_canvas
    nothing = p95(lambda _n: canvas.update())
    dock.hide()
    shapes = viewer.add_shapes([np.array(line(n)) for n in range(CANALS)], shape_type="path", edge_width=4)

    def bare(n):
        shapes.data = [
            np.array(line(k)) + (k == 2) * np.array([[0, 0], [0, 0], [n, n], [0, 0], [0, 0]])
            for k in range(CANALS)
        ]

    theirs = p95(bare)
    benchmark.extra_info["p95_ms"], benchmark.extra_info["shapes_p95_ms"] = (
        round(mine[0], 1),
        round(theirs[0], 1),
    )
    print(
        f"drag p95 {mine[0]:.1f} ms, median {mine[1]:.1f}; bare shapes p95 {theirs[0]:.1f}, median {theirs[1]:.1f}; "
        f"the same picture painted again p95 {nothing[0]:.1f}, median {nothing[1]:.1f}"
    )


def test_what_the_dock_adds_to_a_start(benchmark, make_napari_viewer, pixels):
    """Target: the start of a bare napari with the same image, and one second."""
    radiograph = Radiograph.from_array(pixels, name="four.tif", row_mm=0.025, column_mm=0.025)
    make_napari_viewer(show=True).add_image(radiograph.display())  # what is loaded once is loaded
    QApplication.processEvents()

    def bare():
        make_napari_viewer(show=True).add_image(radiograph.display())
        QApplication.processEvents()

    def mine():
        dock = open_dock(make_napari_viewer(show=True))
        dock.show_session(Session(radiograph))
        QApplication.processEvents()
        return dock

    started = time.process_time()
    bare()
    own = time.process_time() - started
    started = time.process_time()
    dock = benchmark.pedantic(mine, rounds=1)
    print(f"processor time: bare napari {own:.2f} s, with the dock {time.process_time() - started:.2f} s")
    dock.hide()
