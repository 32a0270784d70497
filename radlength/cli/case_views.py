"""A length of a case from its pair of a straight and a shifted image, measured in space."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from radlength.cli.case_marked import marked_image
from radlength.cli.talk import waiting

if TYPE_CHECKING:
    from radlength.finding import Finding
    from radlength.record.case import Case


def add_length_of_views(
    case: Case, folder: Path, number: int, canal: str, common: dict[str, Any]
) -> tuple[Case, tuple[Finding, ...]]:
    """Return the case with the length of a canal from two views, and the doubts about it.

    Parameters
    ----------
    case, folder
        The case and where its images lie.
    number
        Of the pair of views.
    canal
        The canal, under the same name on both images.
    common
        Flaring, who, and what it replaces.

    Raises
    ------
    RecordError
        No such pair or canal, or a record that changed since its image was added.
    RadlengthError
        The two images give no length.
    """
    from radlength.cli.records import open_marked
    from radlength.cli.views import marked_view
    from radlength.length import estimate_two_views
    from radlength.record.case_lengths import add_length
    from radlength.record.case_models import ViewPair

    pair = case.event(number, ViewPair)
    label = case.canal(canal).label
    marked = [open_marked(marked_image(case, folder, one), None) for one in (pair.straight, pair.shifted)]
    entry = marked[0][0].entry(label)
    straight, shifted = (marked_view(record, radiograph, None, ()) for record, radiograph in marked)
    with waiting("solving both images"):
        found = estimate_two_views(straight, shifted, shift=pair.shift, angle_deg=pair.angle_deg)
    one = found.canal(entry.canal.name)
    short_mm = one.terminus.distance_mm if one.terminus else 0.0
    case = add_length(
        case,
        label,
        one.working_length or one.canal_length,
        method="two views",
        landmark="radiographic apex",
        short_mm=short_mm,
        rule=one.terminus.words if one.terminus else None,
        views=number,
        **common,
    )
    return case, found.findings
