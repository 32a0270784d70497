"""The published two-stage example, replayed as a case.

Ingle & Bakland, Endodontics, legend of the figure on working length, from memory: the pre-operative image reads
23 mm, less 1 mm for safety gives a tentative 22 mm; a file at 22 mm lies 1.5 mm short on the image, so the canal is
23.5 mm; less 1.0 mm the final working length is 22.5 mm.
"""

from helpers.made_case import NOON, with_canal, with_decision, with_length
from helpers.records import canal, radiograph

from radlength.length import Terminus, confirm_length
from radlength.record import Record, add_image, add_length_of_image, canal_state, save_record
from radlength.trade import NOT_CONFIRMED

STEP_MM = 1.0
PATH = [(100.0, 410.0), (250.0, 410.0)]


def test_the_two_stage_example_as_a_case(tmp_path):
    case = with_length(
        with_canal(), 23.0 - STEP_MM, method="pre-operative estimate", short_mm=STEP_MM, limit_mm=1.0
    )
    tentative = case.lengths("46 MB")[0]
    assert tentative.length.value_mm == 22.0

    image = radiograph(name="file-in-place.tif")
    record = Record.new(image, canals=[canal()], terminus=Terminus(offset_mm=STEP_MM), when=NOON)
    record = record.with_stated_pitch(0.01, 0.01)
    done = confirm_length(
        tentative.length.value_mm,
        PATH,
        mm_per_px=0.01,
        rule="tip within 1 mm",
        terminus=Terminus(offset_mm=STEP_MM),
    )
    assert (done.gap.value_mm, done.canal_length.value_mm, done.verdict) == (1.5, 23.5, "repeat")
    record = record.with_confirmation(record.canals[0].id, done, PATH, when=NOON)
    (tmp_path / image.name).write_bytes(b"invented")
    save_record(record, tmp_path / image.name)
    case = add_image(case, tmp_path, image.name, stage="working length", taken=NOON.date(), when=NOON)
    case = add_length_of_image(case, "46 MB", record, len(case.events), flaring="before flaring", when=NOON)

    final = case.lengths("46 MB")[-1]
    assert (final.length.value_mm, final.short_mm) == (22.5, STEP_MM)
    state = canal_state(case, "46 MB")
    assert state.status == NOT_CONFIRMED
    assert [moved.length.value for moved in state.side_by_side.at_apex] == [23.0, 23.5]
    assert state.side_by_side.pairs[0].e_n < 1

    decided = with_decision(case, 22.5, short_mm=STEP_MM, based_on=[tentative.number, final.number])
    assert decided.decision("46 MB").value_mm == 22.5
    assert "decision-outside" not in [f.code for f in canal_state(decided, "46 MB").findings]
