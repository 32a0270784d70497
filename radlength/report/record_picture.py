"""The annotated picture of all a record holds: canals that can be measured are drawn, the others named."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.imaging import Radiograph
from radlength.record import Record, measure_record, stated_radiograph
from radlength.report.content import measured_or_why
from radlength.report.picture import annotated_picture
from radlength.report.words import status_words


def record_picture(
    record: Record, radiograph: Radiograph
) -> tuple[NDArray[np.uint8], tuple[tuple[str, str], ...]]:
    """Return the picture, and of every canal that cannot be measured its name and why.

    Parameters
    ----------
    record, radiograph
        The record and its image.

    Returns
    -------
    tuple
        RGB, shape (rows, columns, 3), uint8, as :func:`radlength.report.picture.annotated_picture`; and the names.

    Raises
    ------
    RadlengthError
        No canal is marked, or none can be measured.
    """
    found = [(entry.canal.label, *measured_or_why(record, entry, radiograph)) for entry in record.canals]
    measured = [estimate for _, estimate, _ in found if estimate is not None]
    if not measured:
        measure_record(record, radiograph)  # says why
    left = tuple((label, why) for label, estimate, why in found if estimate is None)
    picture = annotated_picture(
        stated_radiograph(record, radiograph), measured, status=status_words(record), unmeasured=left
    )
    return picture, left
