"""Image quality with and without marks: every measure of one image, and no verdict on the whole.

Whether an image is acceptable is never computed: a person says it, see :mod:`radlength.record.quality_grades`.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from numpy.typing import ArrayLike

from radlength.errors import RecordError
from radlength.finding import Finding
from radlength.imaging import Radiograph
from radlength.imaging.quality import Measure, pixel_measures
from radlength.imaging.quality.blank import blank_border
from radlength.record.binding import check_binding
from radlength.record.quality_canal import canal_measures
from radlength.record.quality_reference import reference_measures, scales_agree
from radlength.record.record import Record
from radlength.trade import CAUTION


@dataclass(frozen=True, slots=True)
class ImageQuality:
    """Every measure of one image.

    Parameters
    ----------
    image
        File name.
    measures
        In the order in which they are shown.
    """

    image: str
    measures: tuple[Measure, ...]

    @property
    def doubts(self) -> tuple[Measure, ...]:
        """Measures that are in doubt."""
        return tuple(measure for measure in self.measures if measure.verdict == "doubt")

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Each doubt as a finding, with what would remove it."""
        return tuple(finding for measure in self.measures if (finding := measure.finding) is not None)

    def measure(self, name: str, subject: str | None = None) -> Measure:
        """Return a measure by its name, and by the canal or reference it is about.

        Raises
        ------
        RecordError
            There is none.
        """
        for measure in self.measures:
            if measure.name == name and subject in (None, measure.subject):
                return measure
        raise RecordError(
            f"no measure {name!r} of {subject or 'the image'}",
            ", ".join(dict.fromkeys(measure.name for measure in self.measures)),
            code="measure-unknown",
            subject=self.image,
        )

    def as_dict(self) -> dict[str, Any]:
        """Return the quality as plain data, with the caution."""
        return {
            "image": self.image,
            "measures": [measure.as_dict() for measure in self.measures],
            "doubts": [finding.as_dict() for finding in self.findings],
            "caution": CAUTION,
        }


def image_quality(
    radiograph: Radiograph,
    record: Record | None = None,
    *,
    straight: Collection[str] | None = None,
    edge_px: ArrayLike | None = None,
) -> ImageQuality:
    """Measure the quality of an image.

    Parameters
    ----------
    radiograph
        The image.
    record
        Its marks; without them only what pixels tell is measured.
    straight
        Names of the references that are straight in reality; ``None`` for every reference beside the tooth.
    edge_px
        Two (row, column) points on a straight, slightly slanted edge.

    Raises
    ------
    RecordError
        The record belongs to other pixels.
    MarkError
        The edge is not two points.
    """
    measures = list(pixel_measures(radiograph))
    if record is not None:
        check_binding(record, radiograph)
        inverted = radiograph.facts.photometric == "MONOCHROME1"
        blank = blank_border(radiograph.stored, inverted=inverted) if record.canals else None
        for entry in record.canals:
            measures += canal_measures(record, entry, radiograph, blank)
        for reference in record.references:
            declared = reference.placement == "beside" if straight is None else reference.name in straight
            measures += reference_measures(record, reference, radiograph, straight=declared)
        measures += scales_agree(record, radiograph)
    if edge_px is not None:
        measures += _edge(record, radiograph, edge_px)
    return ImageQuality(radiograph.name, tuple(measures))


def _edge(record: Record | None, radiograph: Radiograph, edge_px: ArrayLike) -> tuple[Measure, ...]:
    from radlength.imaging.quality.slanted import slanted_edge
    from radlength.record.quality_scale import mean_mm_per_px

    reference = record.references[0] if record is not None and record.references else None
    return slanted_edge(radiograph, edge_px, mean_mm_per_px(record, reference, radiograph))
