"""Canals of straight parts and circular arcs, whose angles and radii are known by construction."""

from __future__ import annotations

import numpy as np


def bent(lead, radius, angle_deg, tail, count):
    """Points equally spaced along a straight lead, an arc and a straight tail: (row, column), shape (count, 2)."""
    return bends([(lead, radius, angle_deg)], tail, count)


def bends(parts, tail, count):
    """Points along several (lead, radius, signed angle) parts and a straight tail, shape (count, 2)."""
    pieces = [(lead, radius, angle) for lead, radius, angle in parts]
    total = sum(lead + radius * abs(np.radians(angle)) for lead, radius, angle in pieces) + tail
    return np.array([_at(pieces, s) for s in np.linspace(0.0, total, count)])


def _at(pieces, s):
    place, heading = np.zeros(2), 0.0
    for lead, radius, angle_deg in pieces:
        ahead = min(s, lead)
        place = place + ahead * _unit(heading)
        s -= ahead
        turn = np.sign(angle_deg) * min(s / radius, abs(np.radians(angle_deg)))
        if turn:
            place = place + 2 * radius * np.sin(abs(turn) / 2) * _unit(heading + turn / 2)
            s -= radius * abs(turn)
            heading += turn
        if s <= 1e-12:
            return place
    return place + s * _unit(heading)


def _unit(heading):
    return np.array([np.cos(heading), np.sin(heading)])
