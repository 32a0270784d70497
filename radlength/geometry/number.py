"""What counts as a number where a person or a program gives one."""

from __future__ import annotations

from numbers import Real


def is_number(given: object) -> bool:
    """Tell whether something is one real number: no text, no truth value, no list.

    Examples
    --------
    >>> [is_number(given) for given in (21, 0.25, "21", True, None, [21.0], 1j)]
    [True, True, False, False, False, False, False]
    """
    return isinstance(given, Real) and not isinstance(given, bool)
