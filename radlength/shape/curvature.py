"""How much a canal bends in the plane of the image, by every usual method, with its uncertainty.

The methods disagree by definition, so each figure names its own. A bend along the beam is not seen: the true bend is
never less than what one view shows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from radlength.errors import MarkError
from radlength.finding import Finding
from radlength.geometry.bend import Bends, fit_bends, refit_bends
from radlength.geometry.heading import Heading, fit_heading
from radlength.imaging import Radiograph
from radlength.length import Canal
from radlength.scale import Reference, image_scale
from radlength.shape.bend_methods import SOURCES as METHOD_SOURCES
from radlength.shape.bend_methods import angles_of, leaving
from radlength.shape.curvature_doubts import (
    STRAIGHT_DEG,
    bends_at_an_end,
    between_clicks,
    curvature_doubts,
    end_doubt,
)
from radlength.shape.reading import Reading, reading
from radlength.trade.curvature_classes import CurvatureRule
from radlength.uncertainty import Marking

FloatArray = NDArray[np.float64]
DRAWS = 400
SECOND_BEND_DEG = 10.0
"""A second bend must turn this much against the first, and so must the first."""

BETTER = 16.0
"""By how much the squares must fall, in variances of a mark, before two bends are believed."""

BENT = 7.81
"""By how much the squares must fall below those of a straight line, in variances of a mark, before no bend at all is
outside the interval: 95 % of chi-square with the three degrees of freedom of an arc."""

DOUBLED_MM = 0.05
"""Clicks that lie nearer than this to the one before them are that one again (a tenth of what is usual between)."""
PLACED = 0.5
"""Share of the canal that the interval of a place may cover and still tell something."""
FLAT = 0.01
"""Share of the largest curvature that it must rise above the smallest before a place is told for it: on one wide arc
every place bends alike."""


@dataclass(frozen=True, slots=True)
class Profile:
    """Curvature along a canal.

    Parameters
    ----------
    at_mm
        Distances from the apical end along the canal, shape (N,).
    per_mm, low, high
        Curvature in 1/mm, its sign the side, and its 95 % interval, shape (N,).
    """

    at_mm: FloatArray
    per_mm: FloatArray
    low: FloatArray
    high: FloatArray


@dataclass(frozen=True, slots=True)
class Curvature:
    """The bend of one canal.

    Parameters
    ----------
    label
        Tooth and canal.
    form
        ``"straight"``, ``"one bend"`` or ``"S, two bends"``.
    readings
        Every figure, the methods named.
    profile
        Curvature in steps along the canal.
    leaves_px
        Where the canal leaves its straight part, (row, column) pixels, one for each bend.
    classed
        (rule, class of the Schneider angle, every class its interval touches), or ``None`` without a rule.
    findings
        Doubts.
    """

    label: str
    form: str
    readings: tuple[Reading, ...]
    profile: Profile
    leaves_px: tuple[tuple[float, float], ...]
    classed: tuple[str, str, tuple[str, ...]] | None
    findings: tuple[Finding, ...]

    def reading(self, name: str) -> Reading:
        """Return a figure by its name.

        Raises
        ------
        MarkError
            There is none of that name.
        """
        for one in self.readings:
            if one.name == name:
                return one
        raise MarkError(
            f"no figure is called {name!r}",
            f"one of: {', '.join(one.name for one in self.readings)}",
            code="reading-unknown",
            subject=self.label,
        )

    def as_dict(self) -> dict[str, Any]:
        """Return everything as plain data."""
        at = self.profile
        rule, name, touched = self.classed or (None, None, ())
        return {
            "canal": self.label,
            "form": self.form,
            "plane": "of the image only",
            "readings": [one.as_dict() for one in self.readings],
            "profile": {
                "mm_from_apical_end": at.at_mm.tolist(),
                "per_mm": at.per_mm.tolist(),
                "low": at.low.tolist(),
                "high": at.high.tolist(),
            },
            "leaves_px": [list(place) for place in self.leaves_px],
            "rule": rule,
            "class": name,
            "classes_of_interval": list(touched),
            "findings": [finding.as_dict() for finding in self.findings],
        }


def measure_curvature(
    canal: Canal,
    reference: Reference | None,
    *,
    radiograph: Radiograph | None = None,
    marking: Marking | None = None,
    from_mm: float = 0.0,
    step_mm: float = 0.5,
    rule: CurvatureRule | None = None,
    seed: int = 0,
) -> Curvature:
    """Measure the bend of a canal.

    Parameters
    ----------
    canal
        The marked canal, from the reference point to the apex.
    reference, radiograph
        Its scale, as for a length.
    marking
        Spread of the marks; the default of :class:`Marking` without it.
    from_mm
        Where the canal begins, in millimetres from the reference point along it: the orifice. What lies above does not
        count. 0 takes the whole path.
    step_mm
        Step of the profile (0.5 mm: Sonntag et al. 2006).
    rule
        Classes for the angle, chosen by name; none is a default.
    seed
        Seed of the draws.

    Raises
    ------
    MarkError
        Fewer than six points between the orifice and the apex.
    ScaleError
        No scale.
    """
    marking = marking or Marking()
    (row, column), u_share = image_scale(reference, radiograph, canal_name=canal.label)
    points = _once(_from(np.asarray(canal.path_px) * (row, column), from_mm, canal.label))
    return _Measuring(canal.label, points, marking, u_share, step_mm, rule, seed).run((row, column))


@dataclass(slots=True)
class _Measuring:
    label: str
    points: FloatArray
    marking: Marking
    u_share: float
    step_mm: float
    rule: CurvatureRule | None
    seed: int

    def run(self, mm_per_px: tuple[float, float]) -> Curvature:
        rng = np.random.default_rng(self.seed)
        draws = self._draws(rng)
        share = 1 + self.u_share * rng.standard_normal(DRAWS)
        found, two = self._fit()
        many = refit_bends(found, draws, noise=self.marking.path_mm)
        straight = not two and abs(math.degrees(found.angle_rad()[0])) < STRAIGHT_DEG
        profile, more, doubts = self._profile(found, draws, share, straight=straight)
        readings = self._readings(found, many, share)
        form = "S, two bends" if two else "one bend"
        if straight:
            form = "straight"
            readings = [one for one in readings if one.name != "radius"]
        untold = between_clicks(found)
        readings = [one for one in readings if one.name not in untold]
        classed = None
        if self.rule is not None:
            name = "Schneider angle" if not two else "Schneider angle, first bend"
            angle = next(one for one in readings if one.name == name)
            classed = (
                self.rule.name,
                self.rule.classify(angle.value),
                self.rule.between(angle.low, angle.high),
            )
        leaves = [tuple(map(float, leaving(found, arc)[0][0] / mm_per_px)) for arc in range(found.arcs)]
        return Curvature(
            label=self.label,
            form=form,
            readings=(*readings, *more),
            profile=profile,
            leaves_px=tuple((a, b) for a, b in leaves),
            classed=classed,
            findings=(
                *curvature_doubts(self.label, found, (*readings, *more), self.marking.path_mm),
                *doubts,
            ),
        )

    def _draws(self, rng: np.random.Generator) -> FloatArray:
        sd = np.full(len(self.points), self.marking.path_mm)
        sd[0], sd[-1] = self.marking.stop_mm, self.marking.apex_mm
        return np.asarray(self.points + rng.standard_normal((DRAWS, *self.points.shape)) * sd[:, None])

    def _fit(self) -> tuple[Bends, bool]:
        one = fit_bends(self.points)
        if len(self.points) < 9:
            return one, False
        two = fit_bends(self.points, arcs=2)
        first, second = (math.degrees(two.angle_rad(arc)[0]) for arc in (0, 1))
        fall = len(self.points) * (one.residual_rms[0] ** 2 - two.residual_rms[0] ** 2)
        opposed = first * second < 0 and min(abs(first), abs(second)) >= SECOND_BEND_DEG
        better = fall > BETTER * max(self.marking.path_mm, 0.02) ** 2
        return (two, True) if opposed and better else (one, False)

    def _readings(self, found: Bends, many: Bends, share: FloatArray) -> list[Reading]:
        one, all_of_them = angles_of(found), angles_of(many)
        straight_too = self._may_be_straight(found)
        readings = []
        for name, values in one.items():
            drawn = all_of_them[name]
            mm = name.startswith(("radius", "curvature height", "curvature distance"))
            method, source = METHOD_SOURCES[name.partition(",")[0]]
            made = reading(
                name,
                method,
                source,
                float(values[0]),
                drawn * share if mm else drawn,
                "mm" if mm else "deg",
            )
            readings.append(replace(made, low=0.0) if "angle" in name and straight_too else made)
        return readings

    def _may_be_straight(self, found: Bends) -> bool:
        """Tell whether a straight line fits about as well: an angle is never negative, so no draw would say none."""
        away = np.linalg.svd(self.points - self.points.mean(axis=0), compute_uv=False)[1] ** 2
        fall = away - len(self.points) * found.residual_rms[0] ** 2
        return bool(fall < BENT * self.marking.path_mm**2)

    def _profile(
        self, found: Bends, draws: FloatArray, share: FloatArray, *, straight: bool
    ) -> tuple[Profile, list[Reading], list[Finding]]:
        backwards = fit_heading(self.points[::-1])
        at = np.arange(0.0, backwards.length + 1e-9, self.step_mm)
        many = backwards.moved((draws - self.points)[:, ::-1])
        bent = backwards.curvatures(many, at) / share[:, None]
        per_mm = backwards.curvature(at)
        low, high = np.quantile(bent, [0.025, 0.975], axis=0)
        source = "Sonntag et al. 2006, steps along a smooth curve"
        peaks, value = _peaks(backwards, many), _peaks(backwards, backwards.coefficients[None])[0]
        readings = [
            reading("largest curvature", "profile", source, float(value[0]), peaks[:, 0] / share, "1/mm"),
            reading("mean curvature", "profile", source, float(value[1]), peaks[:, 1] / share, "1/mm"),
        ]
        end = "" if straight else bends_at_an_end(found, float(value[2]), backwards.length)
        doubts = [end_doubt(end, float(value[0]), self.label)] if end else []
        name = "apical end to the largest curvature"
        place = reading(name, "profile", source, float(value[2]), peaks[:, 2] * share, "mm")
        everywhere = np.abs(backwards.curvature(np.linspace(0.0, backwards.length, 101)))
        surely = place.high - place.low <= PLACED * backwards.length and np.ptp(everywhere) > FLAT * value[0]
        if surely and not end and not straight:
            readings.append(place)
        return Profile(at, per_mm, np.minimum(low, per_mm), np.maximum(high, per_mm)), readings, doubts


def _peaks(curve: Heading, coefficients: FloatArray) -> FloatArray:
    """Return the largest and the mean curvature and where the largest lies, shape (B, 3)."""
    s = np.linspace(0.0, curve.length, 101)
    bent = np.abs(curve.curvatures(coefficients, s))
    mean = (bent[:, 1:] + bent[:, :-1]).mean(axis=1) / 2
    return np.column_stack([bent.max(axis=1), mean, s[bent.argmax(axis=1)]])


def _once(points: FloatArray) -> FloatArray:
    """Return the points, clicks at one place once: between two of them a direction would be chance."""
    kept = [points[0]]
    for point in points[1:-1]:
        if min(np.hypot(*(point - kept[-1])), np.hypot(*(point - points[-1]))) > DOUBLED_MM:
            kept.append(point)
    return np.array([*kept, points[-1]])


def _from(points: FloatArray, from_mm: float, label: str) -> FloatArray:
    """Return the points beyond a distance along their polyline, a new first point at it."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    if not 0 <= from_mm < along[-1]:
        raise MarkError(
            f"a canal that begins {from_mm} mm from the reference point",
            f"0 mm up to less than its length, {along[-1]:.1f} mm",
            "measure the orifice along the canal from the reference point",
            code="orifice",
            subject=label,
        )
    if from_mm == 0:
        return points
    first = np.array([np.interp(from_mm, along, points[:, k]) for k in (0, 1)])
    kept = points[along > from_mm + 0.1]
    return np.vstack([first, kept])
