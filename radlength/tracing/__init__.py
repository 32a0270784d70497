"""Marks that a program suggests: the line of a canal between clicks, an instrument, objects of known size.

Everything here is a suggestion for a person to accept: it says how it was found, in which version, and how far it
trusts itself. Nothing here measures a length; nothing here knows a simulated scene.
"""

from __future__ import annotations

import lazy_loader as _lazy

__getattr__, __dir__, __all__ = _lazy.attach_stub(__name__, __file__)
