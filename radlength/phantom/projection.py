"""One exposure: where tube and detector stand, and where a point in space falls on the image.

Point source, plane detector. World millimetres with the middle of the tooth at (0, 0, 0):
x mesio-distal, y apical, z toward the tube. Image points are (row, column) pixels, centre of the top-left
pixel at (0, 0).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import PhantomError

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class View:
    """Where tube and detector stand. The central ray passes through the middle of the tooth.

    Parameters
    ----------
    theta_deg
        Tilt of the detector from the tooth's axis: its apical end goes away from the tooth.
    phi_deg
        Vertical tube angle, from the apical side. ``theta / 2`` is the bisecting rule.
    horizontal_deg
        Horizontal tube angle, toward +x.
    yaw_deg, roll_deg
        Turn of the detector about the tooth's axis, and in its own plane.
    depth_mm
        Distance of the middle of the tooth from the detector plane.
    sdd_mm
        Distance from source to detector along the central ray.
    pitch_mm
        Pixel pitch.
    shape_px
        Rows and columns of the image.
    centre_px
        (row, column) where the middle of the tooth falls; ``None`` for the middle of the image.
    roots_up
        Whether roots point up on the image, as those of upper teeth do.
    """

    theta_deg: float = 0.0
    phi_deg: float = 0.0
    horizontal_deg: float = 0.0
    yaw_deg: float = 0.0
    roll_deg: float = 0.0
    depth_mm: float = 8.0
    sdd_mm: float = 300.0
    pitch_mm: float = 0.025
    shape_px: tuple[int, int] = (1400, 1040)
    centre_px: tuple[float, float] | None = None
    roots_up: bool = False

    @property
    def origin_px(self) -> tuple[float, float]:
        """(row, column) where the middle of the tooth falls."""
        if self.centre_px is not None:
            return self.centre_px
        return (self.shape_px[0] - 1) / 2, (self.shape_px[1] - 1) / 2


@dataclass(frozen=True, slots=True, eq=False)
class Camera:
    """A view worked out: millimetres in the world frame, all arrays of shape (3,).

    Parameters
    ----------
    source_mm, detector_mm
        The focal spot, and where the central ray meets the detector.
    column_axis, row_axis, normal
        Unit vectors along a row (columns grow), along a column (rows grow), and toward the tube.
    pitch_mm, origin_px
        As in :class:`View`.
    """

    source_mm: FloatArray
    detector_mm: FloatArray
    column_axis: FloatArray
    row_axis: FloatArray
    normal: FloatArray
    pitch_mm: float
    origin_px: tuple[float, float]

    @classmethod
    def of(cls, view: View) -> Camera:
        """Return the camera of a view.

        Raises
        ------
        PhantomError
            The tube stands behind the detector, or the tooth does.
        """
        normal = _direction(view.theta_deg, view.yaw_deg)
        toward = _direction(view.phi_deg, view.horizontal_deg)
        facing = float(normal @ toward)
        if facing <= 0.05 or not 0 < view.depth_mm / max(facing, 0.05) < view.sdd_mm:
            raise PhantomError(
                f"a tooth {view.depth_mm} mm before the detector, {facing:.2f} of the beam facing it",
                "a tooth between tube and detector, and a beam that meets the detector's face",
                code="phantom-view",
            )
        behind = view.depth_mm / facing
        columns, rows = _axes(view)
        return cls(
            source_mm=toward * (view.sdd_mm - behind),
            detector_mm=-toward * behind,
            column_axis=columns,
            row_axis=rows,
            normal=normal,
            pitch_mm=view.pitch_mm,
            origin_px=view.origin_px,
        )

    def project(self, points_mm: ArrayLike) -> FloatArray:
        """Return where points in space fall on the image.

        Parameters
        ----------
        points_mm
            World (x, y, z) in millimetres, shape (..., 3).

        Returns
        -------
        ndarray
            (row, column) pixels, shape (..., 2).
        """
        rays = np.asarray(points_mm, dtype=np.float64) - self.source_mm
        reach = (self.detector_mm - self.source_mm) @ self.normal
        plane = rays @ np.column_stack([self.row_axis, self.column_axis])
        start = np.array([self.row_axis @ self.source_mm, self.column_axis @ self.source_mm])
        foot = np.array([self.row_axis @ self.detector_mm, self.column_axis @ self.detector_mm])
        on_plane = plane * (reach / (rays @ self.normal))[..., None] + (start - foot)
        return np.asarray(on_plane / self.pitch_mm + self.origin_px)

    def magnification(self, points_mm: ArrayLike) -> FloatArray:
        """Return the distance source-detector over source-object along the detector's normal, shape (...)."""
        rays = np.asarray(points_mm, dtype=np.float64) - self.source_mm
        return np.asarray(((self.detector_mm - self.source_mm) @ self.normal) / (rays @ self.normal))

    def pixel_mm(self, points_px: ArrayLike) -> FloatArray:
        """Return where image points lie in space, on the detector, shape (..., 3)."""
        away = (np.asarray(points_px, dtype=np.float64) - self.origin_px) * self.pitch_mm
        return np.asarray(self.detector_mm + away[..., :1] * self.row_axis + away[..., 1:] * self.column_axis)


def _direction(vertical_deg: float, horizontal_deg: float) -> FloatArray:
    up, side = math.radians(vertical_deg), math.radians(horizontal_deg)
    return np.array([math.sin(side) * math.cos(up), math.sin(up), math.cos(side) * math.cos(up)])


def _axes(view: View) -> tuple[FloatArray, FloatArray]:
    theta, yaw = math.radians(view.theta_deg), math.radians(view.yaw_deg)
    across = np.array([math.cos(yaw), 0.0, -math.sin(yaw)])
    along = np.array([-math.sin(yaw) * math.sin(theta), math.cos(theta), -math.cos(yaw) * math.sin(theta)])
    roll = math.radians(view.roll_deg + (180.0 if view.roots_up else 0.0))
    columns = math.cos(roll) * across + math.sin(roll) * along
    rows = -math.sin(roll) * across + math.cos(roll) * along
    return columns, rows


def project(points_mm: ArrayLike, view: View) -> FloatArray:
    """Return where points in space fall on the image of a view.

    Parameters
    ----------
    points_mm
        World (x, y, z) in millimetres, shape (..., 3).
    view
        Where tube and detector stand.

    Returns
    -------
    ndarray
        (row, column) pixels, shape (..., 2).

    Examples
    --------
    Magnification is source-detector over source-object distance:

    >>> view = View(depth_mm=20, sdd_mm=406.4, pitch_mm=1.0, shape_px=(101, 101))
    >>> row, column = project((0, 10, 0), view)
    >>> print(f"{row - 50:.3f} {column - 50:.3f}")
    10.518 0.000
    """
    return Camera.of(view).project(points_mm)


def shifted_view(view: View, shift_deg: float) -> View:
    """Return the view with the tube swung horizontally, the detector left where it is.

    Parameters
    ----------
    view
        The first view.
    shift_deg
        Added to the horizontal tube angle; positive toward +x.

    Examples
    --------
    >>> shifted_view(View(horizontal_deg=2.0), 20.0).horizontal_deg
    22.0
    """
    return replace(view, horizontal_deg=view.horizontal_deg + shift_deg)


def second_exposure(view: View, shift_deg: float, rng: np.random.Generator) -> View:
    """Return a second exposure as a person makes it: tube swung, and everything put up again a little otherwise.

    Parameters
    ----------
    view
        The first view.
    shift_deg
        Horizontal shift meant; positive toward +x.
    rng
        Source of what differs.

    Notes
    -----
    Assumed spreads, no source: detector tilt N(0, 2), vertical tube angle N(0, 3), horizontal N(0, 2), yaw
    N(0, 3), roll N(0, 3) degrees; depth N(0, 0.5) but no nearer than 80 % of the first, source N(0, 8) mm.

    Examples
    --------
    >>> rng = np.random.default_rng(0)
    >>> print(f"{second_exposure(View(), 20.0, rng).horizontal_deg:.1f}")
    21.3
    """
    theta, phi, side, yaw, roll, depth, sdd = rng.standard_normal(7)
    return replace(
        view,
        theta_deg=view.theta_deg + 2 * theta,
        phi_deg=view.phi_deg + 3 * phi,
        horizontal_deg=view.horizontal_deg + shift_deg + 2 * side,
        yaw_deg=view.yaw_deg + 3 * yaw,
        roll_deg=view.roll_deg + 3 * roll,
        depth_mm=max(view.depth_mm + 0.5 * depth, 0.8 * view.depth_mm),
        sdd_mm=view.sdd_mm + 8 * sdd,
    )


def unsharpness_mm(focal_spot_mm: float, oid_mm: float, sod_mm: float) -> float:
    """Return the geometric unsharpness of an edge, focal spot x object-detector / source-object distance.

    Parameters
    ----------
    focal_spot_mm
        Size of the focal spot.
    oid_mm, sod_mm
        Distance from object to detector, and from source to object.

    Notes
    -----
    The usual formula of radiography texts, Ug = F x OID / SOD.

    Examples
    --------
    >>> print(f"{unsharpness_mm(0.7, 20.0, 386.4):.4f}")
    0.0362
    """
    return focal_spot_mm * oid_mm / sod_mm
