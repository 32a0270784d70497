"""The refusal of this room: a set, an attempt or a truth that cannot be used."""

from __future__ import annotations

from radlength.errors import RadlengthError


class ExerciseError(RadlengthError):
    """A set of exercises, an attempt or a sealed truth that cannot be used."""
