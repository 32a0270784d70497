"""One image laid on another of the same view: a sub-pixel similarity or plane map, its residual, and refusals.

A similarity (shift, turn, size) is all that may differ between two radiographs of one view. What is left over after it
is looked at block by block: a tooth seen from another side shifts its parts against each other and is refused.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import ImageError
from radlength.shape.blocks import Blocks, block_shifts
from radlength.shape.coarse import coarse_map
from radlength.shape.contrast import even_contrast
from radlength.shape.refine import refine_map

FloatArray = NDArray[np.float64]
Kind = Literal["radiograph", "block"]
"""``radiograph``: a similarity. ``block``: photographs of a flat block, a plane map, for a camera that leans."""

LIMIT_PX = 1.0
"""Largest shift left over in three quarters of the blocks that is let pass."""

LEAST_BLOCKS = 8
LEAST_SHARE = 0.35
"""Share of the blocks with texture that must be found again."""

LARGEST_LEAN = 0.12
"""By how much a plane map may stretch one direction against the other: a camera within about 27 degrees."""


@dataclass(frozen=True, slots=True)
class Registration:
    """How one image lies on another.

    Parameters
    ----------
    matrix
        From (column, row, 1) of the first image to those of the second, homogeneous, shape (3, 3).
    kind
        What was allowed to differ.
    residual_px
        Median of the shifts left over in the blocks beyond what noise explains, pixels of the first image.
    worst_px
        Three quarters of the blocks have a smaller one: some may hold what was changed.
    blocks
        The blocks of the first image and the shift left over in each.
    """

    matrix: FloatArray
    kind: Kind
    residual_px: float
    worst_px: float
    blocks: Blocks

    @property
    def u_px(self) -> float:
        """Standard uncertainty of the map itself, from the noise of its blocks, pixels of the first image.

        Each block gives two numbers with that noise, and they share the four or eight numbers of the map; three times
        that, as found on pairs whose map is known.
        """
        free = 4 if self.kind == "radiograph" else 8
        noise = self.blocks.noise_px / math.sqrt(2)
        whole = math.sqrt(1 / float(np.sum(1 / np.maximum(noise, 1e-3) ** 2)))
        return 3 * whole * math.sqrt(free / 2)

    @property
    def turn_deg(self) -> float:
        """Turn of the second image against the first, degrees."""
        return math.degrees(math.atan2(self.matrix[1, 0], self.matrix[0, 0]))

    @property
    def size(self) -> float:
        """Size of the second image over the first, at the origin."""
        return float(math.sqrt(abs(np.linalg.det(self.matrix[:2, :2]))))

    def to_second(self, points_px: ArrayLike) -> FloatArray:
        """Return where (row, column) points of the first image lie in the second, shape (N, 2)."""
        return moved(self.matrix, points_px)

    def to_first(self, points_px: ArrayLike) -> FloatArray:
        """Return where (row, column) points of the second image lie in the first, shape (N, 2)."""
        return moved(np.asarray(np.linalg.inv(self.matrix), dtype=np.float64), points_px)

    def as_dict(self) -> dict[str, Any]:
        """Return the figures as plain data."""
        return {
            "kind": self.kind,
            "matrix": self.matrix.tolist(),
            "turn_deg": self.turn_deg,
            "size": self.size,
            "u_px": self.u_px,
            "residual_px": self.residual_px,
            "worst_px": self.worst_px,
            "blocks": len(self.blocks.places_px),
            "found_share": self.blocks.found_share,
        }


def moved(matrix: FloatArray, points_px: ArrayLike) -> FloatArray:
    """Return (row, column) points under a map of (column, row, 1), shape (N, 2)."""
    points = np.atleast_2d(np.asarray(points_px, dtype=np.float64))
    out = np.column_stack([points[:, ::-1], np.ones(len(points))]) @ matrix.T
    return np.asarray((out[:, :2] / out[:, 2:])[:, ::-1])


def register(
    first: NDArray[Any],
    second: NDArray[Any],
    *,
    kind: Kind = "radiograph",
    ignore: NDArray[np.bool_] | None = None,
    limit_px: float = LIMIT_PX,
    names: Sequence[str] = ("the first image", "the second image"),
) -> Registration:
    """Lay the second image on the first.

    Parameters
    ----------
    first, second
        Grey images, 8 or 16 bit, whose sizes may differ.
    kind
        What may differ between them.
    ignore
        Places of the first image that are known to have changed: the canal; shape of the first image.
    limit_px
        Largest residual, in pixels of the first image.
    names
        What the images are called in a refusal.

    Raises
    ------
    ImageError
        Nothing in common, a changed view, or a residual above the limit.

    Notes
    -----
    Features and a robust fit (SIFT, RANSAC) to begin with; then Gauss-Newton on grey values of even contrast with
    Tukey's weights, so that a shaped canal, a filling or dust does not pull; then the shift left over in every block.
    """
    even = [even_contrast(image, name) for image, name in zip((first, second), names, strict=True)]
    began = coarse_map(even[0], even[1], plane=kind == "block", ignore=ignore, names=names)
    matrix = refine_map(even[0], even[1], began, plane=kind == "block", ignore=ignore)
    if kind == "block":
        _check_lean(matrix, first.shape, names)
    blocks = block_shifts(even[0], even[1], matrix, ignore=ignore)
    if len(blocks.places_px) < LEAST_BLOCKS or blocks.found_share < LEAST_SHARE:
        raise ImageError(
            f"only {100 * blocks.found_share:.0f} % of {names[0]} is found again in {names[1]}",
            f"{100 * LEAST_SHARE:.0f} % or more: the same view of the same tooth",
            "take the second image from the same direction, with a holder; nothing is compared",
            code="view-changed",
        )
    worst = float(np.quantile(blocks.left_px, 0.75))
    if worst > limit_px:
        raise ImageError(
            f"parts of {names[1]} lie up to {worst:.1f} pixels from where one view would put them",
            f"{limit_px:g} pixel{'s' * (limit_px != 1)} at most",
            "the view has changed, or the tooth has: take the second image from the same direction; "
            "nothing is compared",
            code="view-changed",
        )
    return Registration(matrix, kind, float(np.median(blocks.left_px)), worst, blocks)


def _stretch(matrix: FloatArray, shape: tuple[int, ...]) -> float:
    """Return how much the map stretches one direction against the other, the most among middle and corners."""
    ratios = []
    for x, y in ((0.5, 0.5), (0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)):
        out = matrix @ (x * shape[1], y * shape[0], 1.0)
        slopes = (matrix[:2, :2] - np.outer(out[:2] / out[2], matrix[2, :2])) / out[2]
        large, small = np.linalg.svd(slopes, compute_uv=False)
        ratios.append(float(large / max(small, 1e-9)))
    return max(ratios)


def _check_lean(matrix: FloatArray, shape: tuple[int, ...], names: Sequence[str]) -> None:
    stretch = _stretch(matrix, shape)
    if stretch > 1 + LARGEST_LEAN:
        raise ImageError(
            f"{names[1]} is stretched by {100 * (stretch - 1):.0f} % in one direction against {names[0]}",
            f"{100 * LARGEST_LEAN:.0f} % at most",
            "photograph the block from straight above both times",
            code="view-changed",
        )
