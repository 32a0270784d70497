"""How well a printed value is known. The value itself and its source stand in the table that uses it."""

from __future__ import annotations

from typing import Literal

Status = Literal["read", "from memory", "computed"]
"""``read``: seen in print. ``from memory``: nobody has looked it up. ``computed``: worked out from values read."""
