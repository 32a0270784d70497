"""Keeps a window alive on Python 3.11 with PySide6 6.12, which would end it in the middle of the work.

That Qt binding takes None for immortal, which it is from Python 3.12 on: on 3.11 every call that returns nothing
gives away a reference to None, and after some thousands of clicks Python stops with a fatal error. So None is given
more references than any day of work can use up.
"""

from __future__ import annotations

import ctypes
import platform
import sys

ENOUGH = 1 << 40


def needed() -> bool:
    """Return whether None can be used up: CPython before 3.12 in a usual build, and not guarded yet."""
    mortal = sys.version_info < (3, 12) and platform.python_implementation() == "CPython"
    return mortal and not hasattr(sys, "gettotalrefcount") and sys.getrefcount(None) < ENOUGH // 2


def guard() -> None:
    """Give None references that nobody can use up; doing it twice changes nothing.

    Examples
    --------
    >>> guard()
    >>> needed()
    False
    """
    if needed():
        ctypes.c_ssize_t.from_address(id(None)).value += ENOUGH
