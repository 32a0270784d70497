from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from radlength.errors import MarkError, ScaleError
from radlength.imaging import Radiograph
from radlength.length import Canal, Terminus
from radlength.length.two_views import MarkedView, estimate_two_views
from radlength.phantom import random_scene, simulate_marks
from radlength.phantom.projection import second_exposure
from radlength.scale import Reference
from radlength.trade import CAUTION
from radlength.uncertainty import Marking

SPREAD = Marking(apex_mm=0.02, stop_mm=0.02, tip_mm=0.02, path_mm=0.02)
TEETH = {"single": "45", "lower_molar": "46"}


def views(seed, *, kind="single", limit_mm=0.05, **numbers):
    """A scene, and both images as they are handed to the estimate."""
    rng = np.random.default_rng(seed)
    scene = random_scene(seed, kind=kind, **numbers)
    second = second_exposure(scene.view, 20.0, rng)
    out = []
    for at, view in enumerate((scene.view, second)):
        marks = simulate_marks(scene, view, rng, click_mm=0.02, end_mm=0.02, reference_mm=0.02)
        tool = scene.instruments[0]
        pixels = np.full(view.shape_px, at, dtype=np.uint8)
        reference = Reference(
            marks.instruments[tool.canal], tool.stop_to_tip_mm, limit_mm, name="file", canal=tool.canal
        )
        out.append(
            MarkedView(
                Radiograph.from_array(pixels, row_mm=0.025, column_mm=0.025, name=f"view {at}"),
                tuple(Canal(TEETH[kind], name, path) for name, path in marks.canals.items()),
                dict.fromkeys(marks.canals, reference),
                {name: Terminus(offset_mm=1.0) for name in marks.canals},
                SPREAD,
            )
        )
    return scene, *out


def test_one_canal_in_space_beside_both_single_images():
    scene, straight, shifted = views(742001, bend_deg=35.0, azimuth_deg=90.0, gap_mm=3.0)
    found = estimate_two_views(straight, shifted, shift="mesial", angle_deg=20.0)
    truth = scene.canal().length_mm
    one = found.canal()
    assert found.method == "two views"
    assert found.canal_length.low_mm < truth < found.canal_length.high_mm
    assert abs(found.canal_length.value_mm - truth) < abs(one.straight.canal_length.value_mm - truth)
    assert one.in_space.bend_along_beam_deg == pytest.approx(35, abs=10)
    assert one.working_length.value_mm == pytest.approx(found.canal_length.value_mm - 1)
    assert one.stop_setting_mm(direction="down") <= one.working_length.value_mm


def test_plain_data_carries_the_caution_and_everything_to_check_it():
    _, straight, shifted = views(742002)
    data = estimate_two_views(straight, shifted, shift="right", angle_deg=20.0).as_dict()
    assert data["caution"] == CAUTION
    assert data["status"] == "estimate, not confirmed"
    assert data["method"] == "two views"
    assert data["canals"][0]["straight_view"]["method"] == "in_canal"
    assert data["canals"][0]["terminus"].startswith("1 mm short of the radiographic apex")


def test_doubts_of_each_image_are_kept_once_and_those_a_second_settles_are_not():
    _, straight, shifted = views(742003, gap_mm=3.5, limit_mm=0.5)
    codes = [f.code for f in estimate_two_views(straight, shifted, shift="mesial", angle_deg=20.0).findings]
    assert codes.count("reference-stamped") == 1
    assert "gap-large" not in codes
    assert "gap-large" in [f.code for f in estimate_two_views(
        straight, shifted, shift="mesial", angle_deg=20.0).canal().straight.findings]  # fmt: skip


def test_canals_are_asked_for_by_name():
    _, straight, shifted = views(742004, kind="lower_molar")
    found = estimate_two_views(straight, shifted, shift="mesial", angle_deg=20.0)
    assert found.canal("ML").canal.label == "46 ML"
    with pytest.raises(MarkError, match="several canals; one of: MB, ML, D"):
        found.canal()
    with pytest.raises(MarkError, match="no canal 'P'"):
        found.canal("P")


def unnamed(view, **change):
    reference = replace(view.references["MB"], **change)
    return replace(view, references=dict.fromkeys(view.references, reference))


@pytest.mark.parametrize(
    ("spoil", "error", "words"),
    [
        pytest.param(
            lambda a, b: (a, replace(b, radiograph=a.radiograph)), ScaleError, "the same picture", id="one picture"
        ),
        pytest.param(
            lambda a, b: (replace(a, radiograph=Radiograph.from_array(np.zeros((1400, 1040), np.uint8))), b),
            ScaleError,
            "pitch of the straight image at the detector is not known",
            id="no pitch",
        ),
        pytest.param(
            lambda a, b: (a, replace(b, canals=tuple(replace(c, tooth="47") for c in b.canals))),
            MarkError,
            "canals of the teeth 46, 47",
            id="another tooth",
        ),
        pytest.param(
            lambda a, b: (a, unnamed(b, name="another")), MarkError, "file is not marked in this canal", id="name"
        ),
        pytest.param(
            lambda a, b: (a, replace(b, references={})), MarkError, "file is not marked in this canal", id="none"
        ),
        pytest.param(
            lambda a, b: (a, unnamed(b, length_mm=a.references["MB"].length_mm + 0.5)),
            ScaleError,
            "stop and instrument untouched between the exposures",
            id="stop moved",
        ),
        pytest.param(
            lambda a, b: (unnamed(a, canal=None), unnamed(b, canal=None)),
            MarkError,
            "not said in which one it lies",
            id="which canal",
        ),
        pytest.param(
            lambda a, b: (unnamed(a, placement="beside"), unnamed(b, placement="beside")),
            ScaleError,
            "nothing of known length",
            id="beside only",
        ),
    ],
)  # fmt: skip
def test_images_that_do_not_go_together_are_refused(spoil, error, words):
    _, straight, shifted = views(742005, kind="lower_molar")
    with pytest.raises(error, match=words):
        estimate_two_views(*spoil(straight, shifted), shift="mesial", angle_deg=20.0)


def test_the_looser_spread_of_both_records_counts():
    _, straight, shifted = views(742006)
    tight = estimate_two_views(straight, shifted, shift="mesial", angle_deg=20.0)
    loose = estimate_two_views(
        straight, replace(shifted, marking=Marking(apex_mm=0.2)), shift="mesial", angle_deg=20.0
    )
    assert loose.canal_length.u > 1.3 * tight.canal_length.u
