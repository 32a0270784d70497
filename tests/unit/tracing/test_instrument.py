"""Instruments drawn by hand: where axis and tip are known, and where there is none."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from helpers.object_images import PIXEL_MM, bent, drawn, fine_grid, image_of, instrument_grey

from radlength.errors import ImageError, MarkError, TradeError
from radlength.imaging import Radiograph
from radlength.imaging.radiograph import FileFacts
from radlength.length import Canal, estimate_length
from radlength.scale import Reference
from radlength.tracing import FoundInstrument, find_instrument
from radlength.tracing.instrument_doubt import NARROWS_MM, instrument_confidence, instrument_doubts
from radlength.tracing.instrument_signs import InstrumentSigns
from radlength.tracing.narrows import narrows_mm
from radlength.trade import tip_offset

TIP = 640.3
CLICKS = ((40, bent(40) + 4), (TIP - 6, bent(TIP) + 5))


def tip_error_mm(found: FoundInstrument, tip_row: float = TIP) -> float:
    """Distance of the edge that was found, the offset of the point taken away, from the square end."""
    along = found.tip_px - found.axis_px[-2]
    edge = found.tip_px - along / np.hypot(*along) * found.offset.mm / PIXEL_MM
    return float(np.hypot(*(edge - (tip_row, bent(tip_row)))) * PIXEL_MM)


LOOKS = {
    "as it is": {},
    "16 bit": {"bits": 16},
    "noisy": {"noise": 6.0},
}


@pytest.mark.parametrize("look", LOOKS.values(), ids=LOOKS)
def test_tip_and_axis_to_a_fraction_of_a_pixel(look):
    found = find_instrument(image_of(instrument_grey(), **look), *CLICKS)
    axis = found.axis_px[found.axis_px[:, 0] > 60]
    assert found.trusted, found.findings
    assert tip_error_mm(found) < 0.03
    assert np.abs(axis[:, 1] - bent(axis[:, 0])).max() * PIXEL_MM < 0.04
    assert found.confidence > 0.9
    assert 0 < found.u_tip_mm < 0.1


@pytest.mark.parametrize("seed", range(6))
def test_where_the_clicks_lie_hardly_matters(seed):
    off = np.random.default_rng(seed).normal(0, 0.2 / PIXEL_MM, (2, 2))
    found = find_instrument(image_of(instrument_grey()), *(np.array(CLICKS) + off))
    assert tip_error_mm(found) < 0.04


def test_the_click_at_the_stop_is_kept_and_the_path_runs_in_its_order():
    found = find_instrument(image_of(instrument_grey()), *CLICKS)
    assert found.path_px[0].tolist() == list(CLICKS[0])
    assert found.path_px[-1] == pytest.approx(found.tip_px)
    assert (np.diff(found.path_px[:, 0]) > 0).all()


def test_points_and_assist_go_into_a_reference():
    found = find_instrument(image_of(instrument_grey()), *CLICKS)
    points, assist = found.points_px(), found.assist()
    assert points.shape == (8, 2)
    assert (assist.first, assist.last, assist.method) == (1, 7, "instrument tip")
    assert assist.confidence == found.confidence
    reference = Reference(path_px=points, length_mm=18.0, assists=(assist,))
    canal = Canal(tooth="11", name="single", path_px=[*points[:-1], points[-1] + (20, 2)])
    assert 18.1 < estimate_length(canal, reference).canal_length.value_mm < 19.0


def test_a_dark_instrument_is_found_when_said_and_questioned_when_not():
    bright = image_of(instrument_grey())
    dark = Radiograph.from_array(255 - bright.stored, row_mm=PIXEL_MM, column_mm=PIXEL_MM)
    said = find_instrument(dark, *CLICKS, polarity="dark")
    assert said.trusted, said.findings
    assert tip_error_mm(said) < 0.03
    unsaid = find_instrument(dark, *CLICKS)
    assert not unsaid.trusted
    assert "instrument-dark" in [one.code for one in unsaid.findings]


def test_a_file_that_says_it_is_inverted_needs_no_word():
    facts = FileFacts(bits=8, photometric="MONOCHROME1")
    bright = image_of(instrument_grey())
    dark = Radiograph.from_array(255 - bright.stored, row_mm=PIXEL_MM, column_mm=PIXEL_MM)
    found = find_instrument(replace(dark, facts=facts), *CLICKS)
    assert found.trusted, found.findings
    assert tip_error_mm(found) < 0.03


def test_pixels_need_not_be_square():
    stored = image_of(instrument_grey()).stored[:, ::2].copy()
    image = Radiograph.from_array(stored, row_mm=PIXEL_MM, column_mm=2 * PIXEL_MM)
    found = find_instrument(image, *(np.array(CLICKS) / (1, 2)))
    edge_row = found.tip_px[0] - found.offset.mm / PIXEL_MM
    assert abs(edge_row - TIP) * PIXEL_MM < 0.06
    assert abs(found.tip_px[1] * 2 - bent(TIP)) * PIXEL_MM < 0.1


def test_the_offset_of_the_point_moves_the_tip_along_the_instrument():
    image = image_of(instrument_grey())
    plain, cone = (find_instrument(image, *CLICKS, size=25, tip_form=form) for form in ("rounded", "cone"))
    moved = np.hypot(*(cone.tip_px - plain.tip_px)) * PIXEL_MM
    assert moved == pytest.approx(cone.offset.mm - plain.offset.mm, abs=1e-9)
    assert cone.tip_px[0] > plain.tip_px[0]
    unknown = find_instrument(image, *CLICKS, size=25)
    assert unknown.u_tip_mm > cone.u_tip_mm


def test_size_of_a_pixel_may_be_stated():
    image = Radiograph.from_array(image_of(instrument_grey()).stored)
    assumed, stated = (
        find_instrument(image, *CLICKS),
        find_instrument(image, *CLICKS, stated_pixel_mm=PIXEL_MM),
    )
    assert "trace-pixel-assumed" in [one.code for one in assumed.findings]
    assert assumed.trusted
    assert stated.findings == ()


def _noise():
    return image_of(np.full((760, 320), 100.0), noise=6.0)


def _flat():
    return Radiograph.from_array(np.full((760, 320), 90, np.uint8), row_mm=PIXEL_MM, column_mm=PIXEL_MM)


def _white():
    return Radiograph.from_array(np.full((760, 320), 255, np.uint8), row_mm=PIXEL_MM, column_mm=PIXEL_MM)


def _goes_on():
    return image_of(instrument_grey(tip_row=900.0))


def _saturated():
    """Metal and, to the right of it, everything else white."""
    grey = instrument_grey(height=300.0)
    grey[:, round(bent(TIP)) + 18 :] += 220
    return image_of(grey)


def _two():
    grey = instrument_grey()
    return image_of(70 + (grey - 70) + np.roll(grey - 70, 12, axis=1))


DOUBTFUL = {
    "noise": (_noise, ("instrument-faint", "instrument-no-end")),
    "flat": (_flat, ("instrument-flat",)),
    "white": (_white, ("instrument-flat",)),
    "goes on": (_goes_on, ("instrument-no-end",)),
    "saturated": (_saturated, ("instrument-saturated",)),
    "another beside": (_two, ("instrument-meets-another", "instrument-reversed")),
}


@pytest.mark.parametrize(("image", "codes"), DOUBTFUL.values(), ids=DOUBTFUL)
def test_what_is_no_clear_instrument_is_questioned(image, codes):
    """A tip that nobody questions and is wrong makes every length measured by it wrong."""
    found = find_instrument(image(), *CLICKS, polarity="bright")
    assert not found.trusted
    assert set(codes) & {one.code for one in found.findings}
    assert np.isfinite(found.tip_px).all()
    assert np.isfinite(found.path_px).all()


def test_metal_that_alone_is_white_ends_where_white_ends():
    """Metal is white without detail on most exports of eight bits: that alone is no reason to ask."""
    found = find_instrument(image_of(instrument_grey(height=300.0)), *CLICKS)
    assert found.trusted, found.findings
    assert [one.code for one in found.findings] == ["instrument-white"]
    assert tip_error_mm(found) < 0.06
    grey = find_instrument(image_of(instrument_grey()), *CLICKS)
    assert found.u_tip_mm > grey.u_tip_mm


def test_a_line_that_cannot_show_in_a_white_crown_is_not_faint():
    grey = instrument_grey(height=300.0)
    grey[150:300] = np.maximum(grey[150:300], 254)
    found = find_instrument(image_of(grey, noise=0.0), *CLICKS)
    assert found.trusted, found.findings
    grey[150:300] = 120
    assert "instrument-faint" in [one.code for one in find_instrument(image_of(grey), *CLICKS).findings]


BAD_CLICKS = {
    "reversed": (CLICKS[1], CLICKS[0]),
    "tip clicked too short": (CLICKS[0], (TIP - 60, bent(TIP - 60))),
    "beside": (CLICKS[0], (TIP, bent(TIP) + 45)),
}


@pytest.mark.parametrize("clicks", BAD_CLICKS.values(), ids=BAD_CLICKS)
def test_clicks_that_are_not_on_stop_and_tip_are_questioned(clicks):
    assert not find_instrument(image_of(instrument_grey()), *clicks).trusted


@pytest.mark.parametrize(
    ("clicks", "code"),
    [
        (((40, 150), (60, 150)), "instrument-length"),
        (((40, 150), (40, 150)), "instrument-length"),
        (((-5, 150), (600, 150)), "click-outside"),
        (((40, 150), (600, 500)), "click-outside"),
        (((40, 150), (np.nan, 150)), "click-not-a-point"),
        (((40, 150, 1), (600, 150)), "click-not-a-point"),
    ],
    ids=["near", "same", "above", "beside", "no number", "three numbers"],
)
def test_clicks_no_instrument_can_lie_between_are_refused(clicks, code):
    with pytest.raises(MarkError, match="click") as caught:
        find_instrument(image_of(instrument_grey()), *clicks)
    assert caught.value.code == code


def test_clicks_too_far_apart_are_refused():
    image = image_of(np.zeros((1600, 60)) + 50)
    with pytest.raises(MarkError, match=r"48\.0 mm apart"):
        find_instrument(image, (0, 30), (1599, 30), stated_pixel_mm=None)


def test_unknown_point_and_pixel_are_refused():
    image = image_of(instrument_grey())
    with pytest.raises(TradeError, match="a point of the form"):
        find_instrument(image, *CLICKS, tip_form="round")
    bare = Radiograph.from_array(image.stored)
    with pytest.raises(ImageError, match="pixel pitch"):
        find_instrument(bare, *CLICKS, stated_pixel_mm=3.0)


@pytest.mark.parametrize("corner", [(0, 0), (0, 319), (759, 0), (759, 319)], ids=str)
def test_a_click_in_a_corner_gives_an_answer_that_is_questioned(corner):
    found = find_instrument(image_of(instrument_grey()), (380, 160), corner)
    assert not found.trusted
    assert np.isfinite(found.tip_px).all()


GOOD = InstrumentSigns(
    strength=6.0,
    weakest=4.0,
    gain=20.0,
    step=0.9,
    moved_mm=0.1,
    start_miss_mm=0.1,
    darker=0.5,
    thicker=0.8,
    saturated=0.0,
    flat=0.0,
    outside=False,
)
CHANGES = {
    "instrument-flat": {"flat": 0.5},
    "instrument-white": {"saturated": 0.9},
    "instrument-saturated": {"saturated": 0.9, "white_beside": 0.1},
    "instrument-faint": {"strength": 1.0},
    "instrument-cut-off": {"outside": True},
    "instrument-no-end": {"gain": 2.0},
    "instrument-off-click": {"moved_mm": 0.9},
    "instrument-off-stop": {"start_miss_mm": 1.2},
    "instrument-flank": {"darker": 2.5},
    "instrument-reversed": {"thicker": 2.0},
    "instrument-meets-another": {"meant": 0.8},
    "instrument-second": {"second_mm": 4.0},
    "instrument-bends": {"aside": 0.5},
}


def _signs(**changes):
    names = InstrumentSigns.__dataclass_fields__
    return InstrumentSigns(**({name: getattr(GOOD, name) for name in names} | changes))


@pytest.mark.parametrize(("code", "changes"), CHANGES.items(), ids=CHANGES)
def test_each_doubt_has_its_sign(code, changes):
    assert instrument_doubts(GOOD) == ()
    found = instrument_doubts(_signs(**changes))
    assert [one.code for one in found] == [code]
    assert (found[0].severity == "note") is (code in ("instrument-second", "instrument-white"))


@pytest.mark.parametrize("change", [{"second_mm": 4.0}, {"meant": 0.97}], ids=["second", "which"])
def test_where_white_may_be_two_instruments_it_is_asked(change):
    """Side by side, both white, neither can be taken out of the other's shadow."""
    assert [one.code for one in instrument_doubts(_signs(**change)) if one.severity != "note"] == []
    found = instrument_doubts(_signs(saturated=0.9, **change))
    assert [one.code for one in found] == ["instrument-saturated"]


def test_an_end_that_is_not_sure_is_questioned():
    assert [one.code for one in instrument_doubts(GOOD, sure=0.5)] == ["instrument-no-end"]


TWO = {
    "another end may be meant": ({"meant": 0.9}, {"meant": 0.95}),
    "another end, this one far from the click": (
        {"meant": 0.98, "moved_mm": 0.5},
        {"meant": 0.98, "moved_mm": 0.2},
    ),
    "one lies on the other": ({"narrows_mm": 0.15}, {"narrows_mm": 0.06}),
    "two that are not told apart": ({"narrows_mm": 0.15}, {"narrows_mm": 0.15, "better": 1.3}),
}


@pytest.mark.parametrize(("said", "unsaid"), TWO.values(), ids=TWO)
def test_a_tip_that_may_be_that_of_another_instrument_is_questioned(said, unsaid):
    assert [one.code for one in instrument_doubts(_signs(**said))] == ["instrument-meets-another"]
    assert instrument_doubts(_signs(**unsaid)) == ()


@pytest.mark.parametrize("aside_px", [-5, 5])
def test_of_two_shadows_on_one_line_the_one_that_ends_before_is_not_taken_silently(aside_px):
    """They overlap and look like one thick line, which narrows near its tip."""
    other = np.roll(instrument_grey(tip_row=TIP - 15) - 70, aside_px, axis=1)
    image = image_of(np.minimum(instrument_grey() + other, 200))
    rows = np.linspace(TIP - 100, TIP, 60)
    axis = np.column_stack([rows, bent(rows)]) * PIXEL_MM
    assert narrows_mm(image.stored, axis, np.full(2, PIXEL_MM)) > NARROWS_MM
    found = find_instrument(image, *CLICKS)
    assert "instrument-meets-another" in [one.code for one in found.findings]


MEETING = {"ends before": (9, TIP - 15), "ends beyond": (9, TIP + 15), "ends beside": (12, TIP)}


@pytest.mark.parametrize("part", [0.0, 0.5], ids=["click at the tip", "click between"])
@pytest.mark.parametrize(("aside_px", "tip_row"), MEETING.values(), ids=MEETING)
def test_where_two_instruments_meet_the_tip_is_right_or_questioned(aside_px, tip_row, part):
    """Shadows of two instruments in two canals of one root, their tips up to half a millimetre apart."""
    other = np.roll(instrument_grey(tip_row=tip_row) - 70, aside_px, axis=1)
    click = (TIP, bent(TIP) + part * aside_px)
    found = find_instrument(image_of(instrument_grey() + other), CLICKS[0], click)
    codes = {one.code for one in found.findings if one.severity != "note"}
    assert codes & {"instrument-meets-another", "instrument-no-end"} or tip_error_mm(found) < 0.03


def hooked(turn_deg, length_mm, *, tip_row=640.3):
    """An instrument along `bent` whose last millimetres turn; (image, true tip in pixels)."""
    reach = length_mm / PIXEL_MM
    start = np.array([tip_row - reach, bent(tip_row - reach)])
    way = np.arctan2(bent(start[0]) - bent(start[0] - 5), 5.0) + np.radians(turn_deg)
    tip = start + reach * np.array([np.cos(way), np.sin(way)])
    rows, columns = fine_grid((760, 320))
    along = (rows - start[0]) * np.cos(way) + (columns - start[1]) * np.sin(way)
    across = (columns - start[1]) * np.cos(way) - (rows - start[0]) * np.sin(way)
    last = (np.abs(across) < 5) & (along > -3) & (along < reach)
    shaft = (np.abs(columns - bent(rows)) < 5 + 0.01 * (tip_row - rows)) & (rows < start[0])
    return image_of(70 + 110 * drawn(shaft | last, (760, 320))), tip


@pytest.mark.parametrize(("turn_deg", "length_mm"), [(40, 0.8), (-40, 1.0), (60, 0.8), (-60, 1.0), (75, 0.7)])
@pytest.mark.parametrize("seed", range(2))
def test_an_instrument_that_bends_sharply_near_its_tip_is_right_or_questioned(turn_deg, length_mm, seed):
    """A reference taken too short makes every length measured by it too long."""
    image, tip = hooked(turn_deg, length_mm)
    off = np.random.default_rng(seed).normal(0, 0.1 / PIXEL_MM, (2, 2))
    found = find_instrument(image, CLICKS[0] + off[0], tip + off[1], size=30)
    assert not found.trusted or np.hypot(*(found.tip_px - tip)) * PIXEL_MM < 0.3


def test_two_equal_ends_near_the_click_are_said_to_meet():
    other = np.roll(instrument_grey() - 70, 12, axis=1)
    found = find_instrument(image_of(instrument_grey() + other), CLICKS[0], (TIP, bent(TIP) + 6))
    assert "instrument-meets-another" in [one.code for one in found.findings]
    assert found.signs is not None
    assert 0.4 < found.signs.meant < 0.6


def test_a_second_instrument_further_off_is_a_note():
    """It runs 0.9 mm beside: the tip is sure, and that another is there is said."""
    other = np.roll(instrument_grey() - 70, 30, axis=1)
    found = find_instrument(image_of(instrument_grey() + other), *CLICKS)
    assert tip_error_mm(found) < 0.03
    assert found.trusted
    assert [one.code for one in found.findings] == ["instrument-second"]


def test_the_flank_of_dark_metal_is_no_instrument():
    """Grey beside dark metal looks like a bright line that ends where the metal does."""
    bright = image_of(instrument_grey())
    dark = Radiograph.from_array(255 - bright.stored, row_mm=PIXEL_MM, column_mm=PIXEL_MM)
    found = find_instrument(dark, *CLICKS, polarity="bright")
    assert "instrument-flank" in [one.code for one in found.findings]


def test_confidence_is_nothing_where_the_image_shows_nothing():
    found = find_instrument(_flat(), *CLICKS)
    assert found.confidence == 0
    assert found.signs is not None
    assert found.offset == tip_offset()
    assert callable(instrument_confidence)
