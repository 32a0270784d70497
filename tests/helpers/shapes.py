"""Plane curves whose lengths are known by hand or by a closed formula."""

from __future__ import annotations

import numpy as np


def bent_canal(length=21.0, bend_deg=40.0, bend_mm=7.0, count=12, samples=4001):
    """Points equally spaced along a canal that is straight, then turns evenly: shape (count, 2)."""
    s = np.linspace(0.0, length, samples)
    angle = np.radians(np.clip((s - (length - bend_mm)) / bend_mm, 0.0, 1.0) * bend_deg)
    steps = np.diff(s)[:, None] * np.column_stack([_mid(np.cos(angle)), _mid(np.sin(angle))])
    points = np.vstack([[0.0, 0.0], np.cumsum(steps, axis=0)])
    return points[np.linspace(0, samples - 1, count).round().astype(int)]


def arc(radius, angle_deg, count, lead=0.0):
    """Points on a circular arc, after a straight lead: shape (count, 2), equally spaced."""
    angle = np.radians(angle_deg)
    s = np.linspace(0.0, lead + radius * angle, count)
    turned = np.clip(s - lead, 0.0, None) / radius
    straight = np.minimum(s, lead)
    return np.column_stack([straight + radius * np.sin(turned), radius * (1 - np.cos(turned))])


def _mid(values):
    return (values[1:] + values[:-1]) / 2
