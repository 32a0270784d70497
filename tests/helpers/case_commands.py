"""Words of the commands of a case."""

from __future__ import annotations

LENGTH = (
    *("--canal", "46 MB", "--flaring", "before flaring", "--method", "tactile", "--value", "21"),
    *("--limit", "0.5", "--ends-at", "radiographic apex"),
)
LOCATOR = (
    *("--canal", "46 MB", "--flaring", "after flaring", "--method", "apex locator", "--read", "21.5"),
    *("--mark", "0.0", "--deduct", "0.5", "--limit", "0.5", "--ends-at", "apical foramen", "--size", "15"),
    *("--moisture", "moist", "--no-metal", "--stable", "--ruler", "steel", "--ruler-limit", "0.1"),
)


def said(text: str) -> str:
    """Return printed words on one line."""
    return " ".join(text.split())
