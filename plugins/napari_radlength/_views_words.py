"""What two images together say of a canal, as words: which length it is, where it ends, by what, and every doubt."""

from __future__ import annotations

from html import escape

from napari_radlength._pairing import Job
from napari_radlength._section_result import finding_line
from radlength.clean import counted
from radlength.cli.view_tables import SIDES
from radlength.length.two_views import CanalOfTwoViews, TwoViewEstimate
from radlength.trade import NOT_CONFIRMED

NO_TERMINUS = "No working length: state on the straight image where the work ends."


def result_words(job: Job, found: TwoViewEstimate) -> str:
    """Return the length of the canal that was asked for, from both images; what is serious stands right below it.

    Parameters
    ----------
    job
        What was brought together.
    found
        What the core made of it.
    """
    one = job.canal_of(found)
    parts = [escape(job.words), escape(_alone(one)), escape(_bend(one, found)), escape(_angle(found))]
    named = [
        finding for finding in found.findings if finding.subject in (None, one.canal.name, one.canal.label)
    ]
    others = [finding for finding in found.findings if finding not in named]
    named += [finding for finding in others if finding.severity == "serious"]
    others = [finding for finding in others if finding.severity != "serious"]
    if others:
        parts.append(f"{counted(len(others), 'finding')} about the other canals: choose them to read.")
    doubts = (*job.findings, *named)
    first = [finding for finding in doubts if finding.severity == "serious"]
    rest = [finding for finding in doubts if finding.severity != "serious"]
    return "".join(
        [
            f"<p>{_length(one)}</p>",
            *map(finding_line, first),
            *(f"<p>{part}</p>" for part in parts),
            *map(finding_line, rest),
        ]
    )


def _length(one: CanalOfTwoViews) -> str:
    canal = escape(one.canal.label)
    found, kind = one.canal_length, "canal length"
    ends = f"to the marked apex. {NO_TERMINUS}"
    if one.working_length is not None and one.terminus is not None:
        found, kind, ends = one.working_length, "working length", escape(one.terminus.words)
    return "<br>".join(
        [
            f"<b>{kind}, {canal}, from two views</b>",
            f"<span style='font-size: large'><b>{found}</b></span>",
            f"95 % interval in brackets; {ends}",
            f"<b>{escape(NOT_CONFIRMED)}</b>",
        ]
    )


def _alone(one: CanalOfTwoViews) -> str:
    return (
        f"canal length: two views {one.canal_length}; straight image alone {one.straight.canal_length}; "
        f"shifted image alone {one.shifted.canal_length}"
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
