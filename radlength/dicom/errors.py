"""What this room refuses: a document that cannot be written or read, an archive that does not take or give."""

from __future__ import annotations

from radlength.errors import RadlengthError


class DicomError(RadlengthError):
    """A DICOM document that cannot be written, read or copied."""


class ArchiveError(DicomError):
    """An archive that cannot be reached, refuses, or does not hold what was sent."""
