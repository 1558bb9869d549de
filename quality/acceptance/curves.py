"""Curves through measured points: one to judge by, one to draw.

For judgement a curve runs through every point and never overshoots between two of them: monotone
piecewise cubics, or straight pieces. For drawing, a least-squares polynomial with the band within
which its mean lies. Neither says anything outside the measured range.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from quality.acceptance import piecewise
from quality.acceptance.errors import CurveTooShort, NotANumber, OutsideMeasuredRange
from quality.acceptance.student import student_quantile

Floats = NDArray[np.float64]

SAME_FLOW = 0.002
"""Flows nearer to each other than this share of the largest are one setting of the valve: their
mean is used, because two points side by side with ordinary scatter would bend the curve between
them beyond reason (common practice)."""


class Pieces(StrEnum):
    """How the curve runs between neighbouring points."""

    MONOTONE = "monotone piecewise cubic"
    STRAIGHT = "straight pieces"


@dataclass(frozen=True, kw_only=True, eq=False)
class Curve:
    """A quantity over flow, through the measured points.

    name : of the quantity
    flow : (n,) strictly ascending [m3/s]
    value : (n,) in the quantity's own unit
    pieces : how it runs between the points
    """

    name: str
    flow: Floats
    value: Floats
    pieces: Pieces
    _pieces: Floats

    @property
    def lowest(self) -> float:
        """The smallest measured flow [m3/s]."""
        return float(self.flow[0])

    @property
    def highest(self) -> float:
        """The largest measured flow [m3/s]."""
        return float(self.flow[-1])

    def covers(self, flow: float) -> bool:
        """Whether a flow lies within the measured range.

        flow : [m3/s]
        returns : True within, the ends included
        """
        slack = 1e-9 * self.highest
        return self.lowest - slack <= flow <= self.highest + slack

    def at(self, flow: float) -> float:
        """The quantity at a flow.

        flow : within the measured range [m3/s]
        returns : value in the quantity's unit
        raises : OutsideMeasuredRange
        """
        if not self.covers(flow):
            raise OutsideMeasuredRange(
                what=self.name, flow=flow, lowest=self.lowest, highest=self.highest
            )
        inside = np.array([min(max(flow, self.lowest), self.highest)])
        return float(piecewise.along(self.flow, self._pieces, inside)[0])

    def along(self, flow: Floats) -> Floats:
        """The quantity at many flows, not-a-number outside the measured range.

        flow : (m,) [m3/s]
        returns : (m,) in the quantity's unit
        """
        return piecewise.along(self.flow, self._pieces, flow)

    def crossings(self, *, level: float = 0.0, slope: float = 0.0) -> tuple[float, ...]:
        """Flows at which the curve meets the straight line level + slope · flow.

        level : of the line at no flow, in the quantity's unit
        slope : of the line, in the quantity's unit per m3/s
        returns : flows in ascending order, within the measured range [m3/s]
        """
        less_line = self._pieces.copy()
        less_line[3] -= level + slope * self.flow[:-1]
        less_line[2] -= slope
        found = piecewise.roots(self.flow, less_line)
        # A root exactly at a measured point can fall between two pieces.
        gap = self.value - (level + slope * self.flow)
        touch = np.abs(gap) <= 1e-12 * max(1.0, float(np.max(np.abs(self.value))))
        found += [float(flow) for flow in self.flow[touch]]
        near = 1e-9 * self.highest
        distinct: list[float] = []
        for flow in sorted(found):
            if not distinct or flow - distinct[-1] > near:
                distinct.append(flow)
        return tuple(distinct)

    def peak(self) -> tuple[float, float]:
        """The largest value of the curve and the flow where it stands.

        returns : flow [m3/s] and value in the quantity's unit
        """
        flow = np.linspace(self.lowest, self.highest, 2001)
        values = self.along(flow)
        top = int(np.argmax(values))
        return float(flow[top]), float(values[top])


def settings_of_the_valve(flow: Floats, *others: Floats) -> tuple[Floats, ...]:
    """Points at one setting of the valve brought together as their mean.

    flow : (n,) in any order [m3/s]
    others : each (n,)
    returns : flow strictly ascending, and the others in the same order
    """
    order = np.argsort(flow, kind="stable")
    sorted_flow = flow[order]
    step = SAME_FLOW * float(np.max(np.abs(flow), initial=0.0))
    group = np.concatenate(([0], np.cumsum(np.diff(sorted_flow) > step)))
    count = np.bincount(group)
    return tuple(
        np.bincount(group, weights=values) / count
        for values in (sorted_flow, *(other[order] for other in others))
    )


def curve_through(
    name: str, flow: Floats, value: Floats, pieces: Pieces = Pieces.MONOTONE
) -> Curve:
    """The curve to judge by.

    name : of the quantity, for sentences
    flow : (n,) in any order [m3/s]
    value : (n,) in the quantity's unit
    pieces : how it runs between neighbouring points
    returns : a curve through every setting of the valve
    raises : NotANumber, CurveTooShort
    source : monotone piecewise cubic interpolation, Fritsch and Butland 1984; ISO 9906 asks for a
        best-fit curve and imposes no polynomial (from memory)
    """
    for values, what in ((flow, "A flow"), (value, f"A value of {name}")):
        if (bad := np.flatnonzero(~np.isfinite(values))).size:
            raise NotANumber(
                what=f"{what} at point {int(bad[0]) + 1}",
                value=float(values[bad[0]]),
                right="a finite number",
            )
    if len(flow) < 2:
        raise CurveTooShort(needed=2, count=len(flow))
    x, y = settings_of_the_valve(flow, value)
    if len(x) < 2:
        raise CurveTooShort(needed=2, count=len(x))
    return Curve(name=name, flow=x, value=y, pieces=pieces, _pieces=cubics(x, y, pieces))


def cubics(flow: Floats, value: Floats, pieces: Pieces) -> Floats:
    """The pieces of one curve, or of many at once.

    flow : (..., n) strictly ascending along the last axis [m3/s]
    value : (..., n) in the quantity's unit
    pieces : how they run between neighbouring points
    returns : (4, ..., n-1)
    """
    if pieces is Pieces.STRAIGHT:
        return piecewise.straight(flow, value)
    return piecewise.coefficients(flow, value, piecewise.monotone_slopes(flow, value))


@dataclass(frozen=True, kw_only=True, eq=False)
class DrawnCurve:
    """A least-squares polynomial for the chart, with its band.

    name : of the quantity
    lowest, highest : measured range [m3/s]
    degree : of the polynomial
    scatter : standard deviation of the points about it, in the quantity's unit
    coverage : of the band
    """

    name: str
    lowest: float
    highest: float
    degree: int
    scatter: float
    coverage: float
    _coefficients: Floats
    _spread: Floats
    _reach: float

    def along(self, flow: Floats) -> Floats:
        """The curve at many flows, not-a-number outside the measured range.

        flow : (m,) [m3/s]
        returns : (m,) in the quantity's unit
        """
        return np.where(self._within(flow), self._powers(flow) @ self._coefficients, np.nan)

    def band(self, flow: Floats) -> Floats:
        """Half the width of the band in which the mean curve lies.

        flow : (m,) [m3/s]
        returns : (m,) in the quantity's unit
        """
        powers = self._powers(flow)
        variance = np.einsum("ij,jk,ik->i", powers, self._spread, powers)
        half = self._reach * self.scatter * np.sqrt(np.maximum(variance, 0.0))
        return np.where(self._within(flow), half, np.nan)

    def _within(self, flow: Floats) -> NDArray[np.bool_]:
        slack = 1e-9 * self.highest
        return (flow >= self.lowest - slack) & (flow <= self.highest + slack)

    def _powers(self, flow: Floats) -> Floats:
        return np.vander(flow / self.highest, self.degree + 1)


def drawn_through(
    name: str, flow: Floats, value: Floats, *, degree: int = 3, coverage: float = 0.95
) -> DrawnCurve:
    """The curve to draw, by least squares.

    name : of the quantity
    flow : (n,) in any order [m3/s]
    value : (n,) in the quantity's unit
    degree : at most; lowered so that at least one point is left over
    coverage : of the band, 0 to 1 [-]
    returns : polynomial with its band; the band is nothing when no point is left over
    raises : CurveTooShort
    source : ordinary least squares; band of the mean from Student's distribution
    """
    distinct = len(np.unique(flow))
    if distinct < 2:
        raise CurveTooShort(needed=2, count=distinct)
    degree = max(1, min(degree, distinct - 2))
    highest = float(flow.max())
    powers = np.vander(flow / highest, degree + 1)
    basis, triangle = np.linalg.qr(powers)
    back = np.linalg.inv(triangle)
    coefficients = back @ (basis.T @ value)
    left_over = len(flow) - (degree + 1)
    residual = value - powers @ coefficients
    scatter = float(np.sqrt(residual @ residual / left_over)) if left_over > 0 else 0.0
    reach = student_quantile((1 + coverage) / 2, left_over) if left_over > 0 else 0.0
    return DrawnCurve(
        name=name,
        lowest=float(flow.min()),
        highest=highest,
        degree=degree,
        scatter=scatter,
        coverage=coverage,
        _coefficients=np.asarray(coefficients, dtype=np.float64),
        _spread=np.asarray(back @ back.T, dtype=np.float64),
        _reach=reach,
    )


def nearest(flows: Sequence[float], to: float) -> float | None:
    """The flow nearest to another, the smaller of two equally near.

    flows : any number [m3/s]
    to : the flow looked for [m3/s]
    returns : the nearest, None when there are none [m3/s]
    """
    return min(flows, key=lambda flow: (abs(flow - to), flow), default=None)
