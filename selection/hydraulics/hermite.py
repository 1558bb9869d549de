"""Piecewise cubics that keep the shape of their points, one or thousands at once.

The slopes are those of Fritsch and Carlson's monotone scheme with Fritsch and Butland's weighted
harmonic mean, which SciPy calls PCHIP; they are computed here for many curves in one pass, and
the tests hold them to SciPy's. Between two points the curve never leaves the points' own range.
"""

from dataclasses import dataclass

import numpy as np

from selection.hydraulics.door import Floats
from selection.hydraulics.errors import DisagreeingTests


def shape_preserving_slopes(x: Floats, y: Floats) -> Floats:
    """Slopes at the knots of curves that share their number of points.

    x : (..., k) rising along the last axis, k >= 3 [any]
    y : (..., k) [any]
    returns : (..., k) slopes [y/x]
    source : Fritsch and Butland 1984, as in SciPy's PchipInterpolator
    """
    step = np.diff(x, axis=-1)
    chord = np.diff(y, axis=-1) / step
    left, right = chord[..., :-1], chord[..., 1:]
    wide_l = 2.0 * step[..., 1:] + step[..., :-1]
    wide_r = step[..., 1:] + 2.0 * step[..., :-1]
    turning = (left * right) <= 0.0
    safe_l = np.where(turning, 1.0, left)
    safe_r = np.where(turning, 1.0, right)
    with np.errstate(over="ignore"):  # an all but level piece has an infinite inverse
        mean = (wide_l + wide_r) / (wide_l / safe_l + wide_r / safe_r)
    inner = np.where(turning, 0.0, mean)
    first = _end_slope(step[..., 0], step[..., 1], chord[..., 0], chord[..., 1])
    last = _end_slope(step[..., -1], step[..., -2], chord[..., -1], chord[..., -2])
    return np.concatenate([first[..., None], inner, last[..., None]], axis=-1)


def _end_slope(h0: Floats, h1: Floats, d0: Floats, d1: Floats) -> Floats:
    """One-sided three-point slope, limited so that the end keeps its shape."""
    slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
    slope = np.where(np.sign(slope) != np.sign(d0), 0.0, slope)
    steep = (np.sign(d0) != np.sign(d1)) & (np.abs(slope) > 3.0 * np.abs(d0))
    return np.asarray(np.where(steep, 3.0 * d0, slope))


def peaked_slopes(x: Floats, y: Floats) -> Floats:
    """Slopes for a curve with one rounded peak, such as efficiency.

    The weighted harmonic mean pins the maximum on a tested point, which would make best
    efficiency jump from point to point. Here every inner point takes the slope of the parabola
    through itself and its neighbours, which finds a rounded peak between points, held within
    Fritsch and Carlson's limit so that rising stretches rise and falling ones fall.

    x : (..., k) rising along the last axis, k >= 3 [any]
    y : (..., k) [any]
    returns : (..., k) slopes [y/x]
    source : three-point parabolas, limited as Fritsch and Carlson 1980
    """
    slopes = shape_preserving_slopes(x, y)
    step = np.diff(x, axis=-1)
    chord = np.diff(y, axis=-1) / step
    d0, d1, h0, h1 = chord[..., :-1], chord[..., 1:], step[..., :-1], step[..., 1:]
    parabola = (d0 * h1 + d1 * h0) / (h0 + h1)
    limit = 3.0 * np.minimum(np.abs(d0), np.abs(d1))
    inner = np.clip(parabola, -limit, limit)
    # Only the highest point may lean over; a lesser hump or hollow keeps its turn on the point.
    turning = d0 * d1 <= 0.0
    highest = np.arange(1, x.shape[-1] - 1) == np.argmax(y, axis=-1)[..., None]
    slopes[..., 1:-1] = np.where(turning & ~highest, 0.0, inner)
    return slopes


@dataclass(frozen=True, eq=False)
class Cubic:
    """One piecewise cubic: knots, values and slopes there.

    knots : (k,) rising [any]
    values : (k,) [any]
    slopes : (k,) [values/knots]
    """

    knots: Floats
    values: Floats
    slopes: Floats

    @classmethod
    def through(cls, x: Floats, y: Floats, *, peaked: bool = False) -> "Cubic":
        """Fit through points.

        x : (k,) rising, k >= 3 [any]
        y : (k,) [any]
        peaked : let the maximum lie between points
        returns : the curve
        """
        slopes = peaked_slopes(x, y) if peaked else shape_preserving_slopes(x, y)
        return cls(x, y, slopes)

    @property
    def low(self) -> float:
        """Start of the range [any]."""
        return float(self.knots[0])

    @property
    def high(self) -> float:
        """End of the range [any]."""
        return float(self.knots[-1])

    def _pieces(self, x: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats, Floats]:
        at = np.clip(np.searchsorted(self.knots, x, side="right") - 1, 0, len(self.knots) - 2)
        width = self.knots[at + 1] - self.knots[at]
        along = (x - self.knots[at]) / width
        return (
            along,
            width,
            self.values[at],
            self.values[at + 1],
            self.slopes[at],
            self.slopes[at + 1],
        )

    def __call__(self, x: Floats | float) -> Floats:
        """Value at x, NaN outside the range.

        x : any shape [any]
        returns : same shape [any]
        """
        x = np.asarray(x, dtype=np.float64)
        t, h, y0, y1, m0, m1 = self._pieces(x)
        value = y0 + t * (
            h * m0
            + t * (3.0 * (y1 - y0) - h * (2.0 * m0 + m1) + t * (2.0 * (y0 - y1) + h * (m0 + m1)))
        )
        return np.where((x >= self.low) & (x <= self.high), value, np.nan)

    def slope(self, x: Floats | float) -> Floats:
        """Slope at x, NaN outside the range.

        x : any shape [any]
        returns : same shape [any]
        """
        x = np.asarray(x, dtype=np.float64)
        t, h, y0, y1, m0, m1 = self._pieces(x)
        value = m0 + t * (
            2.0 * (3.0 * (y1 - y0) / h - 2.0 * m0 - m1) + t * 3.0 * (2.0 * (y0 - y1) / h + m0 + m1)
        )
        return np.where((x >= self.low) & (x <= self.high), value, np.nan)

    def scaled(self, along: float, up: float) -> "Cubic":
        """Stretch the curve.

        along : factor on the knots, > 0 [-]
        up : factor on the values [-]
        returns : the stretched curve
        """
        return Cubic(self.knots * along, self.values * up, self.slopes * (up / along))

    def mixed(self, other: "Cubic", share: float) -> "Cubic":
        """Mix with another curve over the range of both; exact, on the knots of both.

        other : second curve
        share : of the second, 0 to 1 [-]
        returns : (1 - share) of this plus share of the other
        raises : DisagreeingTests
        """
        low, high = max(self.low, other.low), min(self.high, other.high)
        if not low < high:
            raise DisagreeingTests(reason="their ranges of flow do not overlap")
        x = np.unique(np.concatenate([self.knots, other.knots, [low, high]]))
        x = x[(x >= low) & (x <= high)]
        return Cubic(
            x,
            (1.0 - share) * self(x) + share * other(x),
            (1.0 - share) * self.slope(x) + share * other.slope(x),
        )

    def peak(self) -> tuple[float, float]:
        """Where the curve is highest and how high.

        returns : x and value at the maximum [any]
        """
        top = int(np.argmax(self.values))
        best = (float(self.knots[top]), float(self.values[top]))
        for at in (top - 1, top):
            if not 0 <= at < len(self.knots) - 1:
                continue
            for x in _turning_points(self, at):
                value = float(self(x))
                if value > best[1]:
                    best = (x, value)
        return best


def _turning_points(curve: Cubic, at: int) -> list[float]:
    """Places inside one piece where its slope is nought."""
    h = float(curve.knots[at + 1] - curve.knots[at])
    y0, y1 = float(curve.values[at]), float(curve.values[at + 1])
    m0, m1 = float(curve.slopes[at]), float(curve.slopes[at + 1])
    c1 = m0
    c2 = 2.0 * (3.0 * (y1 - y0) / h - 2.0 * m0 - m1)
    c3 = 3.0 * (2.0 * (y0 - y1) / h + m0 + m1)
    roots = np.roots([c3, c2, c1]) if abs(c3) > 0.0 else np.roots([c2, c1])
    return [
        float(curve.knots[at] + h * root.real)
        for root in roots
        if abs(root.imag) < 1e-12 and 0.0 < root.real < 1.0
    ]
