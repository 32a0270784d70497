"""What two images together say of a canal, as words: which length it is, where it ends, by what, and every doubt."""

from __future__ import annotations

from html import escape

from napari_radlength._pairing import Job
from napari_radlength._section_result import finding_line
from radlength.cli.view_tables import SIDES
from radlength.length.two_views import CanalOfTwoViews, TwoViewEstimate
from radlength.trade import NOT_CONFIRMED

NO_TERMINUS = "No working length: state on the straight image where the work ends."


def result_words(job: Job, found: TwoViewEstimate) -> str:
    """Return the length of the canal that was asked for, from both images.

    Parameters
    ----------
    job
        What was brought together.
    found
        What the core made of it.
    """
    one = job.canal_of(found)
    lines = [*_length(one), escape(_alone(one)), escape(_bend(one, found)), escape(_angle(found))]
    lines.append(f"<b>{escape(NOT_CONFIRMED)}</b>")
    lines.append(escape(job.words))
    named = [
        finding for finding in found.findings if finding.subject in (None, one.canal.name, one.canal.label)
    ]
    others = len(found.findings) - len(named)
    if others:
        lines.append(f"{others} more about the other canals: choose them to read.")
    doubts = "".join(map(finding_line, (*job.findings, *named)))
    return f"<p>{'<br>'.join(lines)}</p>{doubts}"


def _length(one: CanalOfTwoViews) -> list[str]:
    canal = escape(one.canal.label)
    if one.working_length is None or one.terminus is None:
        return [
            f"<b>canal length, {canal}, from two views</b>",
            f"<span style='font-size: large'><b>{one.canal_length}</b></span>",
            f"95 % interval in brackets; to the marked apex. {NO_TERMINUS}",
        ]
    return [
        f"<b>working length, {canal}, from two views</b>",
        f"<span style='font-size: large'><b>{one.working_length}</b></span>",
        f"95 % interval in brackets; {escape(one.terminus.words)}",
        f"canal length {one.canal_length}",
    ]


def _alone(one: CanalOfTwoViews) -> str:
    return (
        f"canal length by one image: straight {one.straight.canal_length}, shifted {one.shifted.canal_length}"
    )


def _bend(one: CanalOfTwoViews, found: TwoViewEstimate) -> str:
    space = one.in_space
    what = "the other canals" if len(found.canals) > 1 else "the marker"
    bend = f"bend along the beam {space.bend_along_beam_deg:+.0f}° ±{2 * space.u_bend_deg:.0f}°"
    return f"{bend}; {SIDES[space.side].format(what=what)}"


def _angle(found: TwoViewEstimate) -> str:
    result = found.result
    angle = f"angle between the views {abs(result.shift_deg):.0f}° ±{2 * result.u_shift_deg:.0f}°"
    if result.method == "marker":
        return f"{angle}, found from the marker"
    return f"{angle}, as declared; sides and bends are as right as the direction: {found.shift}"
