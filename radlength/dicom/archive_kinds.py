"""What is fetched from an archive by DIMSE: kinds of objects, ways of coding, what is said of what does not come."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from radlength.clean import counted
from radlength.dicom.archive_address import Address
from radlength.dicom.archive_model import PARTIAL
from radlength.dicom.errors import ArchiveError

if TYPE_CHECKING:
    from pynetdicom.presentation import PresentationContext

UNCOMPRESSED = ("1.2.840.10008.1.2.1", "1.2.840.10008.1.2")
COMPRESSED = (
    "1.2.840.10008.1.2.4.70", "1.2.840.10008.1.2.4.57", "1.2.840.10008.1.2.4.80", "1.2.840.10008.1.2.4.90",
    "1.2.840.10008.1.2.5", "1.2.840.10008.1.2.4.50", "1.2.840.10008.1.2.4.51", "1.2.840.10008.1.2.4.81",
    "1.2.840.10008.1.2.4.91", "1.2.840.10008.1.2.1.99",
)  # fmt: skip
IMAGES = (
    "1.2.840.10008.5.1.4.1.1.1.3", "1.2.840.10008.5.1.4.1.1.1.3.1", "1.2.840.10008.5.1.4.1.1.1.1",
    "1.2.840.10008.5.1.4.1.1.1", "1.2.840.10008.5.1.4.1.1.7",
)  # fmt: skip
DOCUMENTS = (
    "1.2.840.10008.5.1.4.1.1.88.33", "1.2.840.10008.5.1.4.1.1.88.22", "1.2.840.10008.5.1.4.1.1.88.11",
    "1.2.840.10008.5.1.4.1.1.11.1",
)  # fmt: skip
"""What is fetched: intra-oral, digital and computed radiographs, secondary captures, reports, presentations."""


def wanted_contexts() -> list[PresentationContext]:
    """Return a context for every class and way of coding that may be fetched."""
    from pynetdicom.presentation import build_context

    plain = [build_context(kind, syntax) for kind in (*IMAGES, *DOCUMENTS) for syntax in UNCOMPRESSED]
    return plain + [build_context(kind, syntax) for kind in IMAGES for syntax in COMPRESSED]


def not_everything(kinds: Sequence[str], address: Address) -> ArchiveError:
    """Return the end of a fetch that brought a part: how many did not come, and of which kinds."""
    named = ", ".join(f"{kinds.count(kind)} of {kind}" for kind in dict.fromkeys(kinds))
    return ArchiveError(
        f"not everything came, {counted(len(kinds), 'instance')} did not: {named}",
        "intra-oral, digital and computed radiographs, secondary captures, reports and presentations",
        "fetch what is missing with another program, or by the archive's DICOMweb address",
        code=PARTIAL,
        subject=str(address),
    )


def nothing_of_it(address: Address) -> ArchiveError:
    """Return the refusal of a study or series that the archive does not know."""
    return ArchiveError(
        "the archive has nothing of it",
        remedy="look with: radlength dicom find --help",
        code="archive-nothing",
        subject=str(address),
    )
