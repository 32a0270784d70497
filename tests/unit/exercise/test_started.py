"""Whoever leads the drawing hears when all workers run, so that an interrupt need not wait for the first image."""

import pytest

from radlength.exercise import build_set, course_items


@pytest.mark.parametrize(("workers", "count"), [(1, 2), (2, 4)])
def test_it_is_told_once_and_before_any_image_is_done(workers, count):
    items = [item for item in course_items() if item.aim == "trace"][:1] * count
    heard = []
    build_set(
        items,
        title="invented",
        kind="self-study",
        secret=None,
        repeats=0,
        pitch_mm=0.1,
        shape_px=(400, 300),
        workers=workers,
        started=lambda: heard.append("started"),
        done=lambda: heard.append("done"),
    )
    assert heard == ["started", *["done"] * count]
