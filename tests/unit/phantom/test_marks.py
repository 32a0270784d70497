from __future__ import annotations

import numpy as np
import pytest

from radlength.errors import PhantomError
from radlength.phantom import draw_marks, project, random_scene, shifted_view, simulate_marks


def test_perfect_marks_are_the_projected_truth():
    scene = random_scene(3)
    marks, canal = simulate_marks(scene), scene.canal()
    assert marks.canals["single"] == pytest.approx(
        project(canal.at(np.linspace(0, canal.length_mm, 8)), scene.view)
    )
    tip = project(canal.at(scene.instruments[0].stop_to_tip_mm), scene.view)[0]
    assert marks.instruments["single"][-1] == pytest.approx(tip)
    assert marks.wire_px == pytest.approx(project(scene.wire.marks_mm, scene.view))
    assert marks.rod_px == pytest.approx(project(scene.rod.marks_mm, scene.view))
    assert marks.marker_px == pytest.approx(project(scene.marker.points_mm, scene.view))


def test_another_view_gives_other_marks():
    scene = random_scene(3)
    second = shifted_view(scene.view, 20)
    marks = simulate_marks(scene, second)
    assert marks.marker_px == pytest.approx(project(scene.marker.points_mm, second))


def test_the_hand_trembles_as_much_as_asked():
    scene = random_scene(8, kind="lower_molar", instruments=1)
    rng = np.random.default_rng(0)
    true = simulate_marks(scene)
    drawn = [
        simulate_marks(
            scene, None, rng, click_mm=0.1, end_mm=0.2, reference_mm=0.05, apex_mm=0.3, tip_mm=0.15
        )
        for _ in range(3000)
    ]
    pitch = scene.view.pitch_mm
    for name in true.canals:
        sd = np.std([m.canals[name] - true.canals[name] for m in drawn], axis=0).mean(axis=1) * pitch
        assert sd == pytest.approx([0.2, *[0.1] * 6, 0.3], rel=0.05)
    tool = np.std([m.instruments["MB"] for m in drawn], axis=0).mean(axis=1) * pitch
    assert tool == pytest.approx([0.2, *[0.1] * 6, 0.15], rel=0.05)
    for name in ("wire_px", "rod_px", "ball_px", "marker_px"):
        assert np.std([getattr(m, name) for m in drawn], axis=0).mean() * pitch == pytest.approx(
            0.05, rel=0.02
        )
    middle = np.mean([m.canals["MB"] for m in drawn], axis=0)
    assert middle == pytest.approx(true.canals["MB"], abs=5 * 0.3 / pitch / np.sqrt(3000))


def test_stop_and_reference_point_are_one_mark():
    marks = draw_marks(
        random_scene(4), np.random.default_rng(1), click_mm=0.1, end_mm=0.1, reference_mm=0.1, clicks=12
    )
    assert marks.canals["single"].shape == (12, 2)
    assert np.array_equal(marks.canals["single"][0], marks.instruments["single"][0])


def test_no_instrument_no_instrument_marks():
    assert simulate_marks(random_scene(4, instruments=0)).instruments == {}


def test_marks_name_every_canal_and_no_scene_parameter():
    marks = simulate_marks(random_scene(2, kind="upper_molar"))
    assert {"MB", "DB", "P"} <= set(marks.canals)
    assert set(type(marks).__slots__) == {
        "canals",
        "instruments",
        "wire_px",
        "rod_px",
        "ball_px",
        "marker_px",
    }


@pytest.mark.parametrize(
    ("call", "words"),
    [
        ({"clicks": 1}, "1 click on a canal; at least 2"),
        ({"click_mm": -0.1, "rng": np.random.default_rng(0)}, "0 mm or more"),
        ({"end_mm": float("nan"), "rng": np.random.default_rng(0)}, "0 mm or more"),
        ({"click_mm": 0.1}, "without a random generator"),
    ],
    ids=["one click", "negative", "not a number", "no generator"],
)
def test_marks_nobody_can_make_are_refused(call, words):
    with pytest.raises(PhantomError, match=words):
        simulate_marks(random_scene(1), **call)
