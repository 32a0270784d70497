"""Marks on a dock, and the layers that show them."""

from __future__ import annotations

from napari_radlength._convert import ROLE_KEY

CANAL = [(50.0, 150.0), (120.0, 152.0), (190.0, 156.0), (260.0, 164.0), (320.0, 178.0), (360.0, 192.0)]
REFERENCE = [*CANAL[:-1], (345.0, 187.0)]


def mark(session):
    """Mark a reference and a canal of tooth 11."""
    session.apply(session.with_canal(tooth="11"))
    session.apply(session.with_reference(path_px=tuple(REFERENCE), length_mm=21.0, limit_mm=0.25))
    session.apply(session.with_canal_path(CANAL))


def layer(viewer, role):
    """Return the layer of a role."""
    return next(one for one in viewer.layers if one.metadata.get(ROLE_KEY) == role)
