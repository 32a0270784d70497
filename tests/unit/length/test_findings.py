import numpy as np
import pytest
from helpers.shapes import bent_canal

from radlength.geometry import CARRIED, Assist
from radlength.imaging import FileFacts, HeaderScale, Radiograph
from radlength.length import Canal, Terminus, estimate_length
from radlength.scale import Reference
from radlength.uncertainty import Marking

PATH = bent_canal(22.0, 20.0) * 40 + 50
KNOWN = bent_canal(22.0, 20.0, count=441)[0:409:34] * 40 + 50
"""An instrument in that canal, 20.4 mm from stop to tip."""


def findings(path=PATH, tooth="11", radiograph=None, of_canal=None, **change):
    fields = {"path_px": KNOWN, "length_mm": 20.4, "limit_mm": 0.25} | change
    canal = Canal(tooth=tooth, name="single", path_px=path, **of_canal or {})
    estimate = estimate_length(canal, Reference(**fields), radiograph=radiograph)
    return {finding.code: finding for finding in estimate.findings}


def image(shape=(1200, 900), scale=None):
    return Radiograph(
        stored=np.zeros(shape, np.uint8), name="t.png", facts=FileFacts(), scale=scale or HeaderScale()
    )


def test_a_well_marked_front_tooth_has_no_finding():
    assert findings() == {}


def test_a_canal_stated_straight_says_on_what_the_interval_counts():
    found = findings(of_canal={"straight": "second view at 20 degrees"})["straight-stated"]
    assert found.sentence.endswith("second view at 20 degrees.")
    assert "straight-stated" not in findings(of_canal={"straight": "second view"}, placement="beside")


def test_what_a_program_placed_is_said_with_its_least_confidence():
    sure, unsure = Assist(1, 3, "canal trace", "1", 0.9), Assist(5, 5, "canal trace", "1", 0.4)
    found = findings(of_canal={"assists": (sure, unsure)})["placed-by-program"]
    assert found.sentence.startswith("4 points were placed by a program")
    assert "0.40" in found.sentence
    tip = Assist(11, 11, "instrument tip", "1", 0.7)
    one = findings(assists=(tip,))["placed-by-program"]
    assert one.sentence.startswith("1 point was placed by a program (least sure: instrument tip")


def test_points_of_another_image_that_nobody_moved_are_a_question_and_no_programs():
    carried, traced = Assist(0, 3, CARRIED, "1", 0.0), Assist(4, 5, "canal trace", "1", 0.9)
    found = findings(of_canal={"assists": (carried, traced)}, assists=(Assist(12, 12, CARRIED, "1", 0.0),))
    asked = found["marks-carried"]
    assert (asked.severity, asked.remedy) == ("question", "Drag each of them to its place on this image.")
    assert asked.sentence == "5 points were placed on another image and not moved on this one."
    assert found["placed-by-program"].sentence.startswith(
        "2 points were placed by a program (least sure: canal trace"
    )
    alone = findings(of_canal={"assists": (Assist(0, 0, CARRIED, "1", 0.0),)})
    assert "placed-by-program" not in alone
    assert str(alone["marks-carried"]).startswith(
        "1 point was placed on another image and not moved on this one. Drag it"
    )


def test_few_clicks():
    assert "The canal has 3 clicks;" in findings(path=PATH[[0, 6, 11]])["few-clicks"].sentence
    doubled = np.repeat(PATH[[0, 6, 11]], 2, axis=0)
    assert "The canal has 6 clicks, 3 of them apart;" in findings(path=doubled)["few-clicks"].sentence


def test_clicks_that_leave_most_of_the_canal_unmarked():
    fine = bent_canal(22.0, 20.0, count=441) * 40 + 50
    apical = fine[[0, 280, 310, 340, 370, 400, 440]]
    assert (
        "Between two clicks 14.0 mm of the canal are unmarked"
        in findings(path=apical)["clicks-uneven"].sentence
    )
    assert "clicks-uneven" not in findings(path=fine[[0, 140, 200, 260, 320, 380, 440]])


def test_scattered_clicks():
    path = PATH.copy()
    path[5, 1] += 120
    assert "clicks-scatter" in findings(path=path)


def test_a_short_reference():
    found = findings(path_px=PATH[:6], length_mm=10.0)
    assert "The reference is 10 mm" in found["reference-short"].sentence


def test_a_reference_that_is_not_parallel():
    slanted = [(50.0, 50.0), (800.0, 300.0)]
    assert "reference-not-parallel" in findings(path_px=slanted, placement="beside")
    assert "reference-not-parallel" not in findings(placement="beside")


def test_a_stamped_length_is_a_note():
    assert findings(limit_mm=0.5)["reference-stamped"].severity == "note"


def test_a_tip_beside_the_canal_is_serious():
    other = KNOWN + np.linspace(0, 60, len(KNOWN))[:, None] * (0, 1)
    assert findings(path_px=other)["reference-elsewhere"].severity == "serious"


def test_opposite_directions_are_serious():
    assert findings(path=PATH[::-1])["path-reversed"].severity == "serious"


def test_a_tip_beyond_the_apex_is_serious():
    found = findings(path=PATH[:-1], path_px=PATH, length_mm=22.0)
    assert found["tip-beyond-apex"].severity == "serious"


def test_a_gap_over_two_millimetres():
    assert "gap-large" in findings(path_px=PATH[:-2], length_mm=18.0)


def test_a_path_that_crosses_itself():
    path = [*PATH[:6], PATH[2] + (5, 40), PATH[2] + (5, -40), *PATH[7:]]
    assert findings(path=path)["path-crosses-itself"].severity == "serious"


def test_a_path_that_leaves_the_image():
    found = findings(radiograph=image(shape=(700, 900)))
    assert found["path-outside-image"].sentence.endswith("leaves the image (700 x 900).")


def test_a_coarse_image():
    assert "One pixel is 0.20 mm" in findings(path=PATH / 8, path_px=KNOWN / 8)["image-coarse"].sentence


@pytest.mark.parametrize(("tooth", "length", "asked"), [("11", 20.4, False), ("13", 20.4, True)])
def test_a_length_far_from_the_table_is_a_question(tooth, length, asked):
    found = findings(tooth=tooth, length_mm=length)
    assert ("far-from-table" in found) is asked
    if asked:
        assert found["far-from-table"].severity == "question"
        assert "Ash & Nelson" in found["far-from-table"].sentence


@pytest.mark.parametrize(
    ("length", "severity"), [(2.1, "serious"), (14.0, "question"), (29.0, "question"), (42.0, "serious")]
)
def test_a_length_that_no_tooth_has_is_serious(length, severity):
    """A reference length wrong by a factor shows nowhere else where the file has no pitch."""
    assert findings(tooth="11", length_mm=length)["far-from-table"].severity == severity


@pytest.mark.parametrize(("rows", "said"), [(30.0, True), (60.0, False)])
def test_an_offset_that_leaves_nothing_is_serious(rows, said):
    canal = Canal(tooth="11", name="single", path_px=[(50.0, 50.0), (50.0 + rows, 50.0)])
    known = Reference([(50.0, 50.0), (850.0, 50.0)], 20.0, 0.25)
    found = estimate_length(canal, known, terminus=Terminus(offset_mm=1.0)).findings
    told = [one for one in found if one.code == "working-length-none-left"]
    assert [one.severity for one in told] == ["serious"] * said
    assert all("canal of 0.8 mm is no longer than the offset of 1 mm" in one.sentence for one in told)
    assert "working-length-none-left" not in {one.code for one in estimate_length(canal, known).findings}


def test_a_back_tooth_carries_the_published_caution():
    assert "ElAyouti 2001" in findings(tooth="46")["posterior"].sentence


def test_a_header_that_disagrees_with_the_reference():
    agreeing = image(scale=HeaderScale(0.025, 0.025, "fiducial"))
    odd = image(scale=HeaderScale(0.020, 0.020, "fiducial"))
    assert "header-disagrees" not in findings(radiograph=agreeing)
    assert "header-disagrees" in findings(radiograph=odd)


@pytest.mark.parametrize(
    ("pitch_mm", "code", "severity", "told"),
    [
        pytest.param(0.0260, None, None, "", id="usual"),
        pytest.param(0.0248, None, None, "", id="1 within the limit of the reference"),
        pytest.param(0.0240, "magnification-below-1", "question", "0.96: tooth, receptor or", id="leaning"),
        pytest.param(0.0220, "magnification-odd", "serious", "0.88; 0.9 to 1.3", id="too small"),
        pytest.param(0.0340, "magnification-odd", "serious", "1.36; 0.9 to 1.3", id="too large"),
    ],
)
def test_a_shadow_a_little_smaller_than_its_object_is_asked_about(pitch_mm, code, severity, told):
    found = findings(radiograph=image(scale=HeaderScale(pitch_mm, pitch_mm, "detector")))
    said = {name: one for name, one in found.items() if name.startswith("magnification")}
    assert list(said) == [code] * (code is not None)
    for one in said.values():
        assert one.severity == severity
        assert told in one.sentence


def test_the_worst_comes_first_and_every_finding_says_what_removes_it():
    found = findings(path=PATH[[0, 6, 10]], tooth="46", path_px=PATH, length_mm=22.0, limit_mm=0.5)
    rank = {"serious": 0, "question": 1, "note": 2}
    ranks = [rank[finding.severity] for finding in found.values()]
    assert ranks == sorted(ranks)
    assert len(found) >= 4
    assert all(finding.remedy and finding.subject == "46 single" for finding in found.values())


def beside(length=20.4, name="wire"):
    """Return a wire beside the tooth, at the scale of the instrument; its stated length may be wrong."""
    return Reference(KNOWN + np.array([0, 300]), length, 0.25, "beside", name)


def codes(reference, others):
    estimate = estimate_length(Canal("11", "single", PATH), reference, others=others)
    return [finding.code for finding in estimate.findings], estimate.canal_length


def test_another_reference_that_disagrees_is_named_and_changes_no_number():
    instrument = Reference(KNOWN, 20.4, 0.25, name="instrument")
    alone, length = codes(instrument, ())
    assert codes(instrument, (instrument, beside())) == (alone, length)
    found, same = codes(instrument, (instrument, beside(26.0)))
    assert (found, same) == (["scales-disagree", *alone], length)


def test_of_three_references_the_odd_one_is_named():
    instrument = Reference(KNOWN, 20.4, 0.25, name="instrument")
    others = (beside(), beside(27.0, "rod"))
    found = estimate_length(Canal("11", "single", PATH), instrument, others=others).findings
    assert "rod is the odd one out" in {one.code: one for one in found}["scales-disagree"].sentence


def test_references_without_names_are_compared_too():
    instrument, wire = Reference(KNOWN, 20.4, 0.25), beside(26.0, "")
    found = estimate_length(Canal("11", "single", PATH), instrument, others=(instrument, wire)).findings
    sentence = {one.code: one for one in found}["scales-disagree"].sentence
    assert "the instrument in the canal and the reference beside the tooth differ by" in sentence
    again = estimate_length(Canal("11", "single", PATH), beside(20.4, ""), others=(wire,)).findings
    assert "scales-disagree" in {one.code for one in again}


def test_another_reference_that_is_short_for_its_marks_refuses_no_length():
    marking = Marking(apex_mm=0.5, stop_mm=0.4, tip_mm=0.5, path_mm=0.3)
    instrument = Reference(KNOWN, 20.4, 0.25, name="instrument")
    ball = Reference([(0, 300), (40, 300)], 1.0, 0.05, "beside", "ball")
    canal = Canal("11", "single", PATH)
    alone = estimate_length(canal, instrument, marking=marking)
    both = estimate_length(canal, instrument, marking=marking, others=(instrument, ball))
    assert both.canal_length == alone.canal_length
    assert [one.code for one in both.findings] == [one.code for one in alone.findings]


@pytest.mark.parametrize(
    ("tooth", "measured", "lies_in", "severity"),
    [
        ("16", "MB", "P", "serious"),
        ("16", "P", "DB", "serious"),
        ("24", "B", "p", "serious"),
        ("16", "MB", "DB", "question"),
        ("46", "MB", "D", "question"),
        ("11", "single", "P", "question"),
    ],
)
def test_a_reference_from_a_root_that_parts_along_the_beam_is_serious(tooth, measured, lies_in, severity):
    """Simulated palatal instruments that lean 20 to 30° more: 65 of 100 buccal canals too long for their interval."""
    canal = Canal(tooth=tooth, name=measured, path_px=PATH)
    reference = Reference(path_px=KNOWN, length_mm=20.4, limit_mm=0.25, canal=lies_in)
    (told,) = [one for one in estimate_length(canal, reference).findings if one.code == "reference-borrowed"]
    assert told.severity == severity
    assert ("part along the beam" in told.sentence) is (severity == "serious")
