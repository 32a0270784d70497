"""Triangle meshes of the phantom's round bodies, for renderers that want triangles."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from radlength.phantom.chords import Tube

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


def tube_mesh(tube: Tube, facets: int = 192, turned: float = 0.0) -> tuple[FloatArray, IntArray]:
    """Return vertices (N, 3) in millimetres and triangles (M, 3): a ring at every station, lids at the ends.

    `turned` moves the facets round by a share of one facet.
    """
    scale = np.array([1.0, 1.0, 1.0 / tube.stretch])
    centres, normals = tube.centres_mm * scale, tube.tangents * scale
    normals = normals / np.linalg.norm(normals, axis=1)[:, None]
    turn = (np.arange(facets) + turned) * (2 * np.pi / facets)
    across = np.cross(normals, (0.0, 0.0, 1.0))
    across /= np.linalg.norm(across, axis=1)[:, None]
    up = np.cross(normals, across)
    circle = np.cos(turn)[None, :, None] * across[:, None] + np.sin(turn)[None, :, None] * up[:, None]
    rings = (centres[:, None] + circle * tube.radii_mm[:, None, None]) / scale
    return _closed(rings, tube.centres_mm[0], tube.centres_mm[-1])


def ball_mesh(
    centre: FloatArray, radius: float, facets: int = 192, turned: float = 0.0
) -> tuple[FloatArray, IntArray]:
    """Return vertices and triangles of a ball, as rings between two poles."""
    down = np.linspace(0, np.pi, facets // 2 + 1)[1:-1]
    turn = (np.arange(facets) + turned) * (2 * np.pi / facets)
    x, z = np.cos(turn)[None] * np.sin(down)[:, None], np.sin(turn)[None] * np.sin(down)[:, None]
    y = np.broadcast_to(np.cos(down)[:, None], x.shape)
    rings = centre + radius * np.stack([x, y, z], axis=-1)
    pole = np.array([0.0, radius, 0.0])
    return _closed(rings, centre + pole, centre - pole)


def _closed(rings: FloatArray, first: FloatArray, last: FloatArray) -> tuple[FloatArray, IntArray]:
    count, facets = rings.shape[:2]
    vertices = np.vstack([rings.reshape(-1, 3), first, last])
    here = np.arange(facets)
    there = (here + 1) % facets
    start, end = count * facets, count * facets + 1
    faces = [np.column_stack([np.full(facets, start), there, here])]
    for ring in range(count - 1):
        a, b = ring * facets, (ring + 1) * facets
        faces.append(np.column_stack([a + here, a + there, b + here]))
        faces.append(np.column_stack([a + there, b + there, b + here]))
    base = (count - 1) * facets
    faces.append(np.column_stack([np.full(facets, end), base + here, base + there]))
    return vertices, np.vstack(faces)


def volume(vertices: FloatArray, faces: IntArray) -> float:
    """Return the signed volume a mesh encloses (divergence theorem), for checking that it is closed."""
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)
