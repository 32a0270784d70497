"""Everything radlength refuses to do, and with which words.

::

    RadlengthError
    ├── MarkError      a path, point or mark that cannot be measured
    ├── ScaleError     a known length or a header scale that cannot be used
    ├── ImageError     a file that is not one readable grey image
    ├── RecordError    a record that cannot be read, written or trusted
    ├── TradeError     a tooth, instrument, table or rule that does not exist
    ├── PhantomError   a simulated scene that cannot be made
    ├── ReportError    a picture or page that cannot be made
    ├── BatchError     many images that cannot be worked on together
    └── and, beside what they are about: DicomError, ArchiveError, ExerciseError

A doubt is not an error: see :class:`radlength.finding.Finding`.
"""

from __future__ import annotations


class RadlengthError(Exception):
    """Base of every refusal of radlength.

    Parameters
    ----------
    wrong
        What is wrong, with the value and its unit.
    allowed
        What is allowed. May be empty.
    remedy
        What to do. May be empty.
    code
        Short stable name of the refusal, words joined by ``-``.
    subject
        The file, canal or field it is about.

    Examples
    --------
    >>> error = MarkError(
    ...     "a path has 1 point",
    ...     "a path needs at least two (row, column) points",
    ...     "mark the other end",
    ...     code="path-too-short",
    ...     subject="46 MB",
    ... )
    >>> print(error)
    46 MB: a path has 1 point; a path needs at least two (row, column) points; mark the other end
    >>> error.code
    'path-too-short'
    """

    def __init__(
        self,
        wrong: str,
        allowed: str = "",
        remedy: str = "",
        *,
        code: str,
        subject: str | None = None,
    ) -> None:
        self.wrong = wrong
        self.allowed = allowed
        self.remedy = remedy
        self.code = code
        self.subject = subject
        sentence = "; ".join(part for part in (wrong, allowed, remedy) if part)
        super().__init__(f"{subject}: {sentence}" if subject else sentence)

    def __reduce__(self) -> tuple[object, ...]:
        """Pickle by the parts, so that an error survives a worker process."""
        return _rebuild, (type(self), self.wrong, self.allowed, self.remedy, self.code, self.subject)

    def as_dict(self) -> dict[str, str | None]:
        """Return the error as plain data, as ``--json`` prints it."""
        return {
            "code": self.code,
            "subject": self.subject,
            "wrong": self.wrong,
            "allowed": self.allowed,
            "remedy": self.remedy,
            "message": str(self),
        }


def _rebuild(
    kind: type[RadlengthError], wrong: str, allowed: str, remedy: str, code: str, subject: str | None
) -> RadlengthError:
    return kind(wrong, allowed, remedy, code=code, subject=subject)


class MarkError(RadlengthError):
    """A path, point or mark that cannot be measured."""


class ScaleError(RadlengthError):
    """A known length or a header scale that cannot be used."""


class ImageError(RadlengthError):
    """A file that is not one readable grey image."""


class RecordError(RadlengthError):
    """A record that cannot be read, written or trusted."""


class TradeError(RadlengthError):
    """A tooth, instrument, table or rule that does not exist."""


class PhantomError(RadlengthError):
    """A simulated scene that cannot be made."""


class ReportError(RadlengthError):
    """A picture or page that cannot be made."""


class BatchError(RadlengthError):
    """Many images that cannot be worked on together."""
