from __future__ import annotations

import numpy as np

from radlength.report.canvas import Canvas
from radlength.report.colours import WHITE
from radlength.report.labels import Labels

NONE = np.empty((0, 2))


def _changed(canvas: Canvas) -> np.ndarray:
    return np.argwhere((canvas.pixels != 128).any(axis=2))


def _canvas(rows: int = 200, columns: int = 300) -> Canvas:
    return Canvas(np.full((rows, columns, 3), 128, np.uint8))


def test_label_stays_off_what_must_be_seen() -> None:
    canvas = _canvas()
    apex = np.array([(100.0, 160.0)])
    assert Labels(canvas, apex, NONE).write(["canal length"], (100, 120), WHITE, 18)
    rows, columns = _changed(canvas).T
    assert not ((abs(rows - 100) < 26) & (abs(columns - 160) < 26)).any()


def test_labels_do_not_cover_each_other() -> None:
    canvas = _canvas()
    labels = Labels(canvas, NONE, NONE)
    for _ in range(2):
        assert labels.write(["46 MB"], (100, 150), WHITE, 18)
    once = _canvas()
    Labels(once, NONE, NONE).write(["46 MB"], (100, 150), WHITE, 18)
    assert len(_changed(canvas)) == 2 * len(_changed(once))


def test_without_room_nothing_is_written() -> None:
    canvas = _canvas(30, 40)
    assert not Labels(canvas, NONE, NONE).write(["a label that is too long"], (15, 20), WHITE, 18)
    assert len(_changed(canvas)) == 0


def test_the_shorter_text_where_the_longer_has_no_room() -> None:
    canvas = _canvas(60, 110)
    assert Labels(canvas, NONE, NONE).write(["reference: 21 ±0.25 mm", "21 mm"], (30, 20), WHITE, 18)
    assert len(_changed(canvas)) > 0


def test_lines_are_avoided() -> None:
    canvas = _canvas()
    line = np.column_stack([np.full(300, 100.0), np.arange(300.0)])
    Labels(canvas, NONE, line).write(["46 MB"], (100, 150), WHITE, 18)
    assert 100 not in set(_changed(canvas)[:, 0])
