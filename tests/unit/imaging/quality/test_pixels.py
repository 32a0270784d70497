from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from helpers.quality_scenes import marked

from radlength.imaging import FileFacts, Radiograph, read_radiograph
from radlength.imaging.quality import Measure, not_measured, pixel_measures
from radlength.imaging.quality.blank import blank_border, distance_to_blank
from radlength.imaging.quality.clipping import clipped_values, clipping, clipping_near
from radlength.imaging.quality.depth import bit_depth, missing_codes
from radlength.imaging.quality.edited import edit_history
from radlength.imaging.quality.noise import noise_sd
from radlength.imaging.quality.rescaled import block_grid, resampling_line, rescaled


def _soft(seed: int = 0, shape: tuple[int, int] = (400, 300), *, sd: float = 3.0) -> np.ndarray:
    """Return smooth grey with white noise, float."""
    rng = np.random.default_rng(seed)
    coarse = rng.uniform(60, 200, (shape[0] // 40, shape[1] // 40)).astype(np.float32)
    return cv2.resize(coarse, shape[::-1], interpolation=cv2.INTER_CUBIC) + rng.normal(0, sd, shape)


def _grey(image: np.ndarray) -> np.ndarray:
    return np.rint(np.clip(image, 0, 255)).astype(np.uint8)


def test_only_a_doubt_is_a_finding() -> None:
    doubt = Measure("cone_cut", 3.0, "%", "doubt", "Cut.", "source", "Look.", "serious").about("46 MB")
    assert doubt.finding is not None
    assert doubt.finding.as_dict() == {
        "code": "quality-cone-cut",
        "sentence": "Cut.",
        "remedy": "Look.",
        "severity": "serious",
        "subject": "46 MB",
    }
    unknown = not_measured("noise", "%", "Too small.", "source")
    assert (unknown.value, unknown.finding) == (None, None)


def test_every_measure_says_why_and_by_whom() -> None:
    for measure in pixel_measures(Radiograph.from_array(_grey(_soft()))):
        assert measure.why.endswith(".")
        assert measure.source
        assert measure.remedy or measure.verdict != "doubt"


@pytest.mark.parametrize(
    "grey",
    [
        np.zeros((1, 1), np.uint8),
        np.zeros((2, 900), np.uint16),
        np.full((300, 300), 255, np.uint8),
        np.zeros((300, 300), np.uint16),
        np.tile(np.array([0, 65535], np.uint16), (200, 100)),
        np.random.default_rng(0).integers(0, 65536, (300, 300)).astype(np.uint16),
        np.pad(np.full((290, 290), 9, np.uint8), 5),
    ],
    ids=["one pixel", "two rows", "white", "black", "two values", "noise", "frame"],
)
def test_odd_images_are_measured_without_an_error(grey: np.ndarray) -> None:
    measures = pixel_measures(Radiograph.from_array(grey))
    assert len(measures) == 10
    assert all(measure.value is None or np.isfinite(measure.value) for measure in measures)


class TestClipping:
    def test_shares_are_exact(self) -> None:
        grey = np.random.default_rng(0).integers(10, 240, (100, 100)).astype(np.uint8)
        grey[:10] = 255
        grey[10:30] = 0
        dark, bright = clipping(Radiograph.from_array(grey))
        assert (dark.value, bright.value) == (pytest.approx(20.0), pytest.approx(10.0))
        assert (dark.verdict, bright.verdict) == ("doubt", "doubt")

    def test_monochrome1_turns_the_ends(self) -> None:
        grey = np.random.default_rng(0).integers(10, 240, (100, 100)).astype(np.uint8)
        grey[:10] = 255
        image = Radiograph.from_array(grey)
        turned = replace(image, facts=FileFacts(bits=8, photometric="MONOCHROME1"))
        assert [measure.value for measure in clipping(turned)] == [pytest.approx(10.0), 0.0]

    def test_a_pile_short_of_the_range_counts(self) -> None:
        grey = np.clip(np.random.default_rng(0).normal(100, 40, (200, 200)), 30, 180).astype(np.uint8)
        assert clipped_values(grey, FileFacts(bits=8)) == (30, 180)

    def test_twelve_bits_in_sixteen_end_at_4095(self) -> None:
        grey = np.clip(np.random.default_rng(0).normal(3000, 600, (200, 200)), 0, 4095).astype(np.uint16)
        assert clipped_values(grey, FileFacts(bits=12))[1] == 4095
        assert clipped_values(grey // 2, FileFacts(bits=12))[1] == 2047

    @pytest.mark.parametrize("apex", [(-50.0, 10.0), (1e6, 3.0)])
    def test_an_apex_outside_is_not_measured(self, apex: tuple[float, float]) -> None:
        image = Radiograph.from_array(_grey(_soft()))
        assert clipping_near(image, apex, 30).verdict == "not measured"


class TestDepth:
    @pytest.mark.parametrize(
        ("change", "verdicts"),
        [
            (_grey, ("good", "good")),
            (lambda soft: _grey(soft).astype(np.uint16) * 16, ("doubt", "doubt")),
            (lambda soft: _grey(soft).astype(np.uint16), ("doubt", "good")),
            (lambda soft: np.rint(soft * 200).astype(np.uint16), ("good", "good")),
            (lambda soft: _grey(_grey(soft) * 1.4 - 60), ("good", "doubt")),
        ],
        ids=["8 bits", "8 bits times 16", "8 bits in 16", "16 bits", "stretched"],
    )
    def test_verdicts(self, change, verdicts) -> None:
        image = np.clip(_soft(shape=(800, 700), sd=6.0), 0, 255)
        assert tuple(item.verdict for item in bit_depth(Radiograph.from_array(change(image)))) == verdicts

    def test_numbers_are_told_without_exponent_and_one_is_one(self) -> None:
        flat = bit_depth(Radiograph.from_array(np.full((90, 90), 7, np.uint8)))[0]
        assert flat.why.startswith("1 different value is used, 0.0 bits")
        codes = np.repeat(np.arange(0, 45_000, 9, dtype=np.uint16), 200).reshape(1000, 1000)
        gaps = bit_depth(Radiograph.from_array(codes))[1]
        assert gaps.why.startswith("100 % of the codes never occur")
        clipped = clipping(Radiograph.from_array(np.full((90, 90), 255, np.uint8)))
        assert not any("e+" in one.why for one in clipped)

    def test_missing_codes_need_filled_neighbours(self) -> None:
        assert missing_codes(np.zeros(300, np.int64)) == (0.0, 0)
        assert missing_codes(np.full(300, 50))[0] == 0.0


class TestNoise:
    @pytest.mark.parametrize("sd", [1.0, 4.0, 15.0])
    def test_white_noise_on_a_soft_image_with_edges(self, sd: float) -> None:
        image = _soft(sd=sd).astype(np.float32)
        image[:, 150:] += 60
        assert noise_sd(image) == pytest.approx(sd, rel=0.04)


class TestBlank:
    def test_a_straight_cut_and_its_distance(self) -> None:
        grey = _grey(_soft(shape=(600, 450)) * 0.8)
        grey[:, :90] = 255
        found = blank_border(grey)
        assert found is not None
        assert (found.shape, found.end) == ("straight", "bright")
        assert found.share == pytest.approx(0.2, abs=0.01)
        assert distance_to_blank(found, (300.0, 190.0)) == pytest.approx(101, abs=2)
        assert distance_to_blank(None, (0.0, 0.0)) == np.inf

    def test_a_ragged_burnt_out_border_is_none(self) -> None:
        grey = _grey(_soft(shape=(600, 450)) * 0.8)
        ragged = 60 + cv2.resize(
            np.random.default_rng(1).uniform(0, 120, (12, 1)).astype(np.float32), (1, 600)
        )
        grey[np.arange(450)[None] < ragged] = 255
        assert blank_border(grey) is None

    def test_a_white_disc_inside_is_none(self) -> None:
        grey = cv2.circle(_grey(_soft(shape=(600, 450)) * 0.8), (225, 300), 120, 255, -1)
        assert blank_border(grey) is None

    def test_a_round_cut_whichever_way_it_is_stored(self) -> None:
        rows, columns = np.indices((600, 450))
        outside = np.hypot(rows - 260, columns - 150) > 330
        bright = np.where(outside, 255, _grey(_soft(shape=(600, 450)) * 0.8)).astype(np.uint8)
        as_stored, turned = blank_border(bright), blank_border(255 - bright, inverted=True)
        assert as_stored is not None
        assert turned is not None
        assert (as_stored.shape, turned.shape) == ("round", "round")
        assert as_stored.share == turned.share


class TestTraces:
    def test_an_enlarged_image_has_its_period(self) -> None:
        soft = _soft(shape=(700, 600))
        plain, large = (
            _grey(soft),
            _grey(cv2.resize(soft, None, fx=1.4, fy=1.4, interpolation=cv2.INTER_LINEAR)),
        )
        assert resampling_line(plain)[0] < 12
        height, period = resampling_line(large)
        assert height > 30
        assert min(abs(period - 3.5), abs(period - 1.4 / 0.4)) < 0.05

    @pytest.mark.parametrize("quality", [40, 60, 85, 95])
    def test_a_jpeg_in_its_own_size_is_not_rescaled(self, quality: int) -> None:
        data = cv2.imencode(".jpg", marked().pixels, [cv2.IMWRITE_JPEG_QUALITY, quality])[1]
        image = Radiograph.from_array(cv2.imdecode(data, cv2.IMREAD_UNCHANGED))
        assert rescaled(image).verdict == "good"

    @pytest.mark.parametrize(("top", "left"), [(0, 0), (3, 5)])
    def test_the_grid_of_a_jpeg_is_found_where_it_lies(self, top: int, left: int) -> None:
        data = cv2.imencode(".jpg", _grey(_soft(shape=(640, 560))), [cv2.IMWRITE_JPEG_QUALITY, 60])[1]
        strength, start = block_grid(cv2.imdecode(data, cv2.IMREAD_UNCHANGED)[top:, left:])
        assert strength > 1.25
        assert start == ((8 - top) % 8, (8 - left) % 8)

    def test_a_cropped_jpeg_is_told_from_a_whole_one(self, tmp_path: Path) -> None:
        grey = _grey(_soft(shape=(640, 560)))
        once = cv2.imdecode(
            cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, 55])[1], cv2.IMREAD_UNCHANGED
        )
        verdicts = []
        for name, image, quality in (("whole", grey, 55), ("cropped", once[3:, 5:], 97)):
            path = tmp_path / f"{name}.jpg"
            path.write_bytes(cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, quality])[1].tobytes())
            measures = {item.name: item for item in pixel_measures(read_radiograph(path))}
            verdicts.append(measures["jpeg_before"].verdict)
        assert verdicts == ["good", "doubt"]


class TestEdited:
    @pytest.mark.parametrize(("listed", "verdict"), [(True, "doubt"), (False, "good")])
    def test_a_list_of_editing_steps(self, tmp_path: Path, listed: bool, verdict: str) -> None:
        path = tmp_path / "tooth.jpg"
        data = cv2.imencode(".jpg", _grey(_soft()))[1].tobytes()
        words = b"invented\0" + (b"<xmpMM:History><stEvt:action/>" if listed else b"<x:xmpmeta/>")
        path.write_bytes(data[:2] + b"\xff\xe1" + (len(words) + 2).to_bytes(2, "big") + words + data[2:])
        assert edit_history(read_radiograph(path)).verdict == verdict

    def test_a_file_that_has_gone_is_not_measured(self, tmp_path: Path) -> None:
        path = tmp_path / "tooth.png"
        path.write_bytes(cv2.imencode(".png", _grey(_soft()))[1].tobytes())
        image = read_radiograph(path)
        path.unlink()
        assert edit_history(image).verdict == "not measured"
