"""The shadow of a ball from one click in it: an ellipse to a fraction of a pixel. Knows no scale."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from radlength.errors import MarkError
from radlength.finding import Finding
from radlength.imaging import Radiograph
from radlength.scale.ball import MOST_AXIS_RATIO, Ellipse
from radlength.tracing.anchors import assumed_mm, pixel_mm
from radlength.tracing.ball_edges import circle_through_most, falls
from radlength.tracing.distance import distance
from radlength.tracing.evidence import Polarity
from radlength.tracing.grey import grey_ends
from radlength.tracing.objects import FoundObject, looked_for, nothing
from radlength.tracing.round_shadow import Shadow, outline, round_shadow

FloatArray = NDArray[np.float64]

METHOD = "ball outline"
RADII_MM = (0.4, 6.0)
LEAST_SHARE = 0.45
"""Of the rays; where fewer meet a rim there is no ball."""
TRUSTED_SHARE = 0.7
NO_CONTRAST, LEAST_CONTRAST = 2.0, 6.0
"""Height of the rim over the noise beside it."""
ROUGH_MM = 0.03
RIM_MM = 0.05
"""How well the rim that is seen tells the true one: by tone curve, blur, sharpening and what passes through metal it
lies up to 0.08 mm inside and, where metal is white early, up to 0.13 mm outside (SD 0.037 of 97 simulated balls)."""
CENTRE_MM = 0.006
"""How well the middle of that rim tells the middle of the ball, a coordinate: brighter bone on one side moves the rim
there, and the ellipse goes with it, so that nothing strays from it (SD of 55 balls on images of another simulation)."""
WHITE_SHARE = 0.3


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class FoundBall(FoundObject):
    """A suggested ball.

    Parameters
    ----------
    centre_px
        (row, column) of the middle of its shadow, shape (2,).
    ellipse
        Its rim in millimetres on the detector (x as columns run), as :func:`radlength.scale.ball.ball_scale` takes it.
    outline_px
        Sixteen (row, column) points of that ellipse, shape (16, 2).
    u_centre_mm, u_radius_mm
        Standard uncertainty of the centre and of the semi-axes, a coordinate; the second knows that the rim seen lies
        inside or outside the true one by an amount that follows from the tone curve.
    confidence
        From 0 to 1: the share of the rim that was seen and lies on the ellipse.
    trusted, findings, method, version
        See :class:`radlength.tracing.objects.FoundObject`.
    """

    centre_px: FloatArray
    ellipse: Ellipse
    outline_px: FloatArray
    u_centre_mm: float
    u_radius_mm: float
    method: str = METHOD

    @property
    def diameter_mm(self) -> float:
        """Minor diameter of the shadow on the detector, millimetres; magnified, not the ball's own."""
        return 2 * self.ellipse.minor


def find_ball(
    radiograph: Radiograph,
    click_px: ArrayLike,
    *,
    stated_pixel_mm: float | None = None,
    polarity: Polarity = "auto",
) -> FoundBall:
    """Return the suggested outline of a ball's shadow, from one click anywhere well inside it.

    Parameters
    ----------
    radiograph
        The image.
    click_px
        (row, column) pixels.
    stated_pixel_mm
        Size of a pixel where the file states none; assumed from the size of the image otherwise.
    polarity
        ``"bright"`` or ``"dark"`` metal; ``"auto"`` takes what the file says, and the other where that finds no ball.

    Notes
    -----
    Places where grey falls along 96 rays; the circle through most of them; on that circle the steepest place of each
    ray to a fraction of a pixel; an ellipse through these (direct least squares), far ones left out.

    Raises
    ------
    MarkError
        A click that is not on the image, or no round shadow 0.8 to 12 mm wide round it.
    ImageError
        A stated size of a pixel that no detector has.

    Examples
    --------
    >>> rows, columns = np.mgrid[:200, :200]
    >>> grey = 40 + 180 / (1 + np.exp(2 * (np.hypot(rows - 101.3, columns - 97.6) - 60))) + rows % 2
    >>> image = Radiograph.from_array(grey.astype(np.uint8), row_mm=0.03, column_mm=0.03)
    >>> ball = find_ball(image, (90, 110))
    >>> bool(abs(ball.centre_px - (101.3, 97.6)).max() < 0.1), round(ball.diameter_mm, 1), ball.trusted
    (True, 3.6, True)
    """
    side_mm, said = pixel_mm(radiograph, stated_pixel_mm)

    def look(grey: NDArray[np.generic], click: FloatArray) -> FoundBall:
        return _ball(radiograph, grey, click * side_mm, side_mm, said)

    return looked_for(radiograph, click_px, polarity, look)


def _ball(
    radiograph: Radiograph,
    grey: NDArray[np.generic],
    click_mm: FloatArray,
    side_mm: FloatArray,
    said: tuple[Finding, ...],
) -> FoundBall:
    low, high = (2 * radius for radius in RADII_MM)
    none = nothing(
        radiograph, "ball", f"a round shadow {low:g} to {high:g} mm wide, at {side_mm[0]:.3g} mm a pixel"
    )
    centre, radius, share = circle_through_most(*falls(grey, click_mm, 2 * RADII_MM[1], side_mm), RADII_MM)
    if share < LEAST_SHARE or np.hypot(*(click_mm - centre)) > radius:
        raise none
    try:
        shadow = round_shadow(grey, centre, radius, side_mm, grey_ends(radiograph)[1])
    except MarkError as error:
        raise none from error
    if shadow.share < LEAST_SHARE or shadow.contrast < NO_CONTRAST:
        raise none
    doubts = _doubts(shadow, assumed_mm(side_mm, said))
    return FoundBall(
        centre_px=shadow.centre_mm / side_mm,
        ellipse=shadow.ellipse,
        outline_px=outline(shadow.ellipse) / side_mm,
        u_centre_mm=float(np.hypot(shadow.u_mm, CENTRE_MM)),
        u_radius_mm=float(np.hypot(shadow.u_mm, RIM_MM)),
        confidence=shadow.share,
        trusted=not doubts,
        findings=(*said, *doubts),
    )


def _doubts(shadow: Shadow, assumed: float | None = None) -> tuple[Finding, ...]:
    hand = "Mark its outline by hand."
    longer = shadow.ellipse.major / shadow.ellipse.minor
    hidden = (
        f"Only {100 * shadow.share:.0f} % of the rim is seen on one ellipse; the rest is cut off or hidden."
    )
    off = distance(shadow.off_mm, 2, assumed_mm=assumed)
    shape = f"The rim strays by {off} from an ellipse {longer:.2f} times as long as wide."
    white = "Much of what lies beside the ball is as white as the image can store: the rim is lost there."
    said = (
        (shadow.share < TRUSTED_SHARE, "ball-rim-hidden", hidden),
        (shadow.off_mm > ROUGH_MM or longer > MOST_AXIS_RATIO, "ball-not-round", shape),
        (
            shadow.contrast < LEAST_CONTRAST,
            "ball-faint",
            "The rim hardly stands out from the noise beside it.",
        ),
        (shadow.white > WHITE_SHARE, "ball-saturated", white),
    )
    return tuple(Finding(code, words, hand) for true, code, words in said if true)
