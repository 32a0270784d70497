"""A point source, a flat detector, and how their image of a point changes: the solver's own projection.

Millimetres. x as columns run, y as rows run, z toward the tube; the detector is the plane z = 0.
"""

from __future__ import annotations

import numpy as np

from radlength.geometry.path import FloatArray

DEGREE = 4
"""Degree of the polynomial a canal is drawn with in space, as in the plane."""

TERMS = DEGREE + 1


_EYE: FloatArray = np.eye(3)


def cross_matrix(v: FloatArray) -> FloatArray:
    """Return the matrix that takes w to v x w, shape (3, 3)."""
    x, y, z = v
    return np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])


def rotation(v: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the matrix of a rotation vector, and its three derivatives.

    Parameters
    ----------
    v
        Axis times angle in radians, shape (3,).

    Returns
    -------
    tuple of ndarray
        Shapes (3, 3) and (3, 3, 3), the first axis of the second being the component of `v`.

    Notes
    -----
    Rodrigues' formula; the derivative after Gallego and Yezzi 2015, result 1.

    Examples
    --------
    >>> matrix, _ = rotation(np.array([0.0, 0.0, np.pi / 2]))
    >>> (matrix @ [1.0, 0.0, 0.0]).round(6) + 0.0
    array([0., 1., 0.])
    """
    square = float(v @ v)
    if square < 1e-16:
        turn = _EYE + cross_matrix(v)
        return turn, np.array([cross_matrix(axis) for axis in _EYE])
    angle = np.sqrt(square)
    hat = cross_matrix(v)
    turn = _EYE + np.sin(angle) / angle * hat + (1 - np.cos(angle)) / square * hat @ hat
    rest = _EYE - turn
    outer = rest.T[:, :, None] * v
    slopes = (v[:, None, None] * hat + outer - outer.transpose(0, 2, 1)) @ turn / square
    return turn, slopes


def project(points: FloatArray, source: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return images of points, and how they change with the points and with the source.

    Parameters
    ----------
    points
        In the frame of the detector, shape (N, 3).
    source
        The focal spot, shape (3,), or (N, 3): one for every point.

    Returns
    -------
    tuple of ndarray
        (x, y) on the detector, shape (N, 2); derivatives by the point, (N, 2, 3), and by the source, (N, 2, 3).

    Notes
    -----
    Similar triangles: the image lies m = d / (d - z) times as far from the foot of the source as the point.

    Examples
    --------
    Source 406.4 mm away, object 20 mm before the detector: 5.18 % larger.

    >>> image, _, _ = project(np.array([[10.0, 0.0, 20.0]]), np.array([[0.0, 0.0, 406.4]]))
    >>> image.round(3)
    array([[10.518,  0.   ]])
    """
    away = points[:, :2] - source[..., :2]
    distance, height = source[..., 2], points[:, 2]
    m = distance / (distance - height)
    image = source[..., :2] + away * m[:, None]
    by_point = np.zeros((len(points), 2, 3))
    by_source = np.zeros((len(points), 2, 3))
    by_point[:, 0, 0] = by_point[:, 1, 1] = m
    by_point[:, :, 2] = away * (m * m / distance)[:, None]
    by_source[:, 0, 0] = by_source[:, 1, 1] = 1 - m
    by_source[:, :, 2] = away * (-height * (m / distance) ** 2)[:, None]
    return image, by_point, by_source


def _coefficients() -> FloatArray:
    """Return the terms as polynomials: row n holds the coefficients of t^n, shape (TERMS, TERMS)."""
    table = np.zeros((TERMS, TERMS))
    table[0, 0], table[1, 0], table[1, 1] = 1.0, -1.0, 1.0
    for k in range(2, TERMS):
        table[k - 1, k], table[k, k] = 1.0, -1.0
    return table


def _derived(table: FloatArray) -> FloatArray:
    out = np.zeros_like(table)
    out[:-1] = table[1:] * np.arange(1, TERMS)[:, None]
    return out


_TERMS = _coefficients()
_SLOPES = _derived(_TERMS)
_BENDS = _derived(_SLOPES)
_BOTH = np.hstack([_TERMS, _SLOPES])


def powers(t: FloatArray) -> FloatArray:
    """Return 1, t, t^2 and so on, shape (..., TERMS)."""
    out = np.empty((TERMS, *t.shape))
    out[0] = 1.0
    for n in range(1, TERMS):
        np.multiply(out[n - 1], t, out=out[n])
    return out.reshape(TERMS, -1).T.reshape(*t.shape, TERMS)


def terms(t: FloatArray) -> FloatArray:
    """Return the pinned polynomial's terms at `t`: 1 - t, t, then t^k (1 - t) with k from 1; shape (..., TERMS)."""
    return np.asarray(powers(t) @ _TERMS)


def term_slopes(t: FloatArray) -> FloatArray:
    """Return the derivative of :func:`terms` by t, same shape."""
    return np.asarray(powers(t) @ _SLOPES)


def terms_and_slopes(t: FloatArray) -> FloatArray:
    """Return :func:`terms` and :func:`term_slopes` one above the other, shape (N, 2, TERMS), from `t` of shape (N,)."""
    return np.asarray(powers(t) @ _BOTH).reshape(len(t), 2, TERMS)


def term_bends(t: FloatArray) -> FloatArray:
    """Return the second derivative of :func:`terms` by t, same shape."""
    return np.asarray(powers(t) @ _BENDS)


def meeting_points(
    first: FloatArray, source1: FloatArray, second: FloatArray, source2: FloatArray
) -> FloatArray:
    """Return the points nearest to both rays of image pairs.

    Parameters
    ----------
    first, second
        Where the two images of each point lie in space, shape (N, 3).
    source1, source2
        The focal spots in the same frame, shape (3,).

    Returns
    -------
    ndarray
        Middle of the shortest line between the rays, shape (N, 3).
    """
    a, b = source1 - first, source2 - second
    a = a / np.linalg.norm(a, axis=1, keepdims=True)
    b = b / np.linalg.norm(b, axis=1, keepdims=True)
    between = second - first
    cosine = np.sum(a * b, axis=1)
    along_a, along_b = np.sum(a * between, axis=1), np.sum(b * between, axis=1)
    sine2 = np.maximum(1 - cosine**2, 1e-9)
    s = (along_a - cosine * along_b) / sine2
    r = (cosine * along_a - along_b) / sine2
    return np.asarray((first + s[:, None] * a + second + r[:, None] * b) / 2)


def rigid_fit(shape: FloatArray, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the rotation and translation that take a shape nearest to points (Kabsch 1976).

    Parameters
    ----------
    shape, points
        Shape (M, 3) each.
    """
    middle, centre = shape.mean(axis=0), points.mean(axis=0)
    u, _, vt = np.linalg.svd((points - centre).T @ (shape - middle))
    flip = np.diag([1.0, 1.0, np.sign(np.linalg.det(u @ vt))])
    turn = u @ flip @ vt
    return turn, centre - turn @ middle


def thickness(shape: FloatArray) -> float:
    """Return how far points spread from their best plane, root mean square, in their unit."""
    return float(np.linalg.svd(shape - shape.mean(axis=0), compute_uv=False)[-1] / np.sqrt(len(shape)))
