"""Thousands of piecewise cubics lined up as arrays, asked all at once.

A row is one curve. Rows may have fewer knots than the widest; the rest is padded with infinite
knots. Whatever a row of `Cubics` answers, a `hermite.Cubic` of the same knots answers too.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from selection.hydraulics.door import Bools, Floats, Ints
from selection.hydraulics.hermite import Cubic

_ROUNDING = 1e-15  # as near as double numbers let a root be told
_FRACTIONS = (0.2, 0.4, 0.6, 0.8)  # places inside a piece where maxima are looked for


@dataclass(frozen=True, eq=False)
class Cubics:
    """Rows of piecewise cubics.

    knots : (n, k) rising, padded with infinity [any]
    values : (n, k) padded with anything finite [any]
    slopes : (n, k) padded with nought [values/knots]
    last : (n,) index of each row's last knot [-]
    """

    knots: Floats
    values: Floats
    slopes: Floats
    last: Ints

    @classmethod
    def stack(cls, rows: Sequence[Cubic]) -> "Cubics":
        """Line up single curves.

        rows : at least one
        returns : the rows in the order given
        """
        width = max(len(row.knots) for row in rows)
        knots = np.full((len(rows), width), np.inf)
        values = np.zeros((len(rows), width))
        slopes = np.zeros((len(rows), width))
        last = np.empty(len(rows), dtype=np.intp)
        for at, row in enumerate(rows):
            k = len(row.knots)
            knots[at, :k], values[at, :k], slopes[at, :k] = row.knots, row.values, row.slopes
            values[at, k:], last[at] = row.values[-1], k - 1
        return cls(knots, values, slopes, last)

    def rows(self, at: Ints) -> "Cubics":
        """Take rows, repeated or reordered.

        at : (m,) row numbers [-]
        returns : (m, k) rows
        """
        return Cubics(self.knots[at], self.values[at], self.slopes[at], self.last[at])

    def scaled(self, along: Floats, up: Floats) -> "Cubics":
        """Stretch each row.

        along : (n,) factor on the knots, > 0 [-]
        up : (n,) factor on the values [-]
        returns : the stretched rows
        """
        return Cubics(
            self.knots * along[:, None],
            self.values * up[:, None],
            self.slopes * (up / along)[:, None],
            self.last,
        )

    @property
    def low(self) -> Floats:
        """Start of each row's range [any]."""
        return self.knots[:, 0]

    @property
    def high(self) -> Floats:
        """End of each row's range [any]."""
        return self._take(self.knots, self.last)

    def _take(self, table: Floats, at: Ints) -> Floats:
        start = np.arange(len(table)) * table.shape[1]
        return np.asarray(table.ravel()[start + at])

    def piece_of(self, x: Floats) -> Ints:
        """Number of the piece that holds x, the end pieces beyond the range.

        x : (n,) one a row [any]
        returns : (n,) [-]
        """
        count = np.count_nonzero(self.knots <= x[:, None], axis=1) - 1
        return np.asarray(np.clip(count, 0, self.last - 1), dtype=np.intp)

    def pieces(self, at: Ints) -> "Pieces":
        """Take one piece a row as coefficients.

        at : (n,) piece numbers [-]
        returns : the pieces
        """
        start = np.arange(len(self.knots)) * self.knots.shape[1] + at
        knots, values, slopes = self.knots.ravel(), self.values.ravel(), self.slopes.ravel()
        x0, y0, m0 = knots.take(start), values.take(start), slopes.take(start)
        x1, y1, m1 = knots.take(start + 1), values.take(start + 1), slopes.take(start + 1)
        width = x1 - x0
        width = np.where(width > 0.0, width, 1.0)
        rise, c1, end = y1 - y0, m0 * width, m1 * width
        return Pieces(x0, width, y0, c1, 3.0 * rise - 2.0 * c1 - end, c1 + end - 2.0 * rise)

    def at(self, x: Floats) -> Floats:
        """Value of each row, NaN outside its range.

        x : (n,) one a row [any]
        returns : (n,) [any]
        """
        value = self.held(x)
        return np.where((x >= self.low) & (x <= self.high), value, np.nan)

    def held(self, x: Floats) -> Floats:
        """Value of each row, the end's value beyond its range.

        x : (n,) one a row [any]
        returns : (n,) [any]
        """
        x = np.clip(x, self.low, self.high)
        return self.pieces(self.piece_of(x)).at(x)

    def slope_at(self, x: Floats) -> Floats:
        """Slope of each row at x within its range.

        x : (n,) one a row [any]
        returns : (n,) [any]
        """
        return self.pieces(self.piece_of(x)).slope_at(x)

    @property
    def inside(self) -> Bools:
        """(n, k) which knots are real, not padding."""
        return np.arange(self.knots.shape[1])[None, :] <= self.last[:, None]

    def peaks(self) -> tuple[Floats, Floats]:
        """Where each row is highest and how high.

        returns : (n,) place and (n,) value [any]
        """
        masked = np.where(self.inside, self.values, -np.inf)
        top = np.argmax(masked, axis=1)
        x, value = self._take(self.knots, top), self._take(self.values, top)
        for at in (np.maximum(top - 1, 0), np.minimum(top, self.last - 1)):
            turn, height = self.pieces(at).top()
            better = height > value
            x, value = np.where(better, turn, x), np.where(better, height, value)
        return x, value

    def mixed(self, other: "Cubics", share: Floats) -> "Cubics":
        """Mix rows with another's over the range of both; exact, on the knots of both.

        other : as many rows
        share : (n,) of the other, 0 to 1 [-]
        returns : rows with as many knots as both together
        """
        low, high = np.maximum(self.low, other.low), np.minimum(self.high, other.high)
        knots = np.concatenate([self.knots, other.knots], axis=1)
        outside = (knots < low[:, None]) | (knots > high[:, None])
        knots = np.sort(np.where(outside, np.inf, knots), axis=1)
        repeated = np.zeros_like(outside)
        repeated[:, 1:] = knots[:, 1:] == knots[:, :-1]
        knots = np.sort(np.where(repeated, np.inf, knots), axis=1)
        last = np.count_nonzero(np.isfinite(knots), axis=1) - 1
        values, slopes = np.zeros_like(knots), np.zeros_like(knots)
        for k in range(knots.shape[1]):
            x = np.clip(knots[:, k], low, high)
            values[:, k] = (1.0 - share) * self.held(x) + share * other.held(x)
            real = np.isfinite(knots[:, k])
            mix = (1.0 - share) * self.slope_at(x) + share * other.slope_at(x)
            slopes[:, k] = np.where(real, mix, 0.0)
        return Cubics(knots, values, slopes, last)

    def sampled(self) -> tuple[Floats, Floats]:
        """Flows and values at the knots and at four places inside each piece.

        returns : (n, 5k - 4) places, infinite in padding, and (n, 5k - 4) values [any]
        """
        x0, x1 = self.knots[:, :-1], self.knots[:, 1:]
        real = np.isfinite(x1)
        width = np.where(real, x1 - np.where(np.isfinite(x0), x0, 0.0), 0.0)
        y0, rise = self.values[:, :-1], self.values[:, 1:] - self.values[:, :-1]
        c1, end = self.slopes[:, :-1] * width, self.slopes[:, 1:] * width
        c2, c3 = 3.0 * rise - 2.0 * c1 - end, c1 + end - 2.0 * rise
        places, values = [self.knots], [self.values]
        for t in _FRACTIONS:
            places.append(np.where(real, x0 + t * width, np.inf))
            values.append(y0 + t * (c1 + t * (c2 + t * c3)))
        return np.concatenate(places, axis=1), np.concatenate(values, axis=1)


@dataclass(frozen=True, eq=False)
class Pieces:
    """One cubic a row, in the share t of its width: c0 + c1·t + c2·t² + c3·t³.

    start : (n,) first knot [any]
    width : (n,) > 0 [any]
    c0, c1, c2, c3 : (n,) coefficients [any]
    """

    start: Floats
    width: Floats
    c0: Floats
    c1: Floats
    c2: Floats
    c3: Floats

    def at(self, x: Floats) -> Floats:
        """Value at x.

        x : (n,) [any]
        returns : (n,) [any]
        """
        t = (x - self.start) / self.width
        return self.c0 + t * (self.c1 + t * (self.c2 + t * self.c3))

    def slope_at(self, x: Floats) -> Floats:
        """Slope at x.

        x : (n,) [any]
        returns : (n,) [any]
        """
        t = (x - self.start) / self.width
        return (self.c1 + t * (2.0 * self.c2 + t * 3.0 * self.c3)) / self.width

    def top(self) -> tuple[Floats, Floats]:
        """Highest place inside the pieces; minus infinity where the slope has no nought.

        returns : (n,) place and (n,) value [any]
        """
        a, b, c = 3.0 * self.c3, 2.0 * self.c2, self.c1
        under = b * b - 4.0 * a * c
        root = np.sqrt(np.maximum(under, 0.0))
        # The stable pair of roots: no cancellation whichever sign b has.
        half = -0.5 * (b + np.where(b >= 0.0, root, -root))
        place, value = self.start, np.full_like(self.c0, -np.inf)
        for top, bottom in ((half, a), (c, half)):
            t = np.divide(top, bottom, out=np.full_like(top, -1.0), where=bottom != 0.0)
            good = (under >= 0.0) & (t > 0.0) & (t < 1.0)
            height = self.c0 + t * (self.c1 + t * (self.c2 + t * self.c3))
            better = good & (height > value)
            place = np.where(better, self.start + t * self.width, place)
            value = np.where(better, height, value)
        return place, value

    def falls_to(
        self, asked: Callable[[Floats], tuple[Floats, Floats]], steps_most: int = 60
    ) -> tuple[Floats, Bools]:
        """Where each piece meets what is asked of it, from above to below along the piece.

        Newton's step where it stays between the ends, halving where it does not.

        asked : gives value and slope asked at places (n,) [any]
        steps_most : steps before it gives up [-]
        returns : (n,) place, (n,) settled [any]
        """
        low, high = np.zeros_like(self.c0), np.ones_like(self.c0)
        t = np.full_like(self.c0, 0.5)
        settled = np.zeros(t.shape, dtype=bool)
        for _ in range(steps_most):
            value, slope = asked(self.start + t * self.width)
            over = self.c0 + t * (self.c1 + t * (self.c2 + t * self.c3)) - value
            settled |= np.abs(over) <= _ROUNDING * (np.abs(value) + np.abs(self.c0))
            if settled.all():
                break
            bend = self.c1 + t * (2.0 * self.c2 + t * 3.0 * self.c3) - slope * self.width
            low, high = np.where(over > 0.0, t, low), np.where(over <= 0.0, t, high)
            there = t - np.divide(over, bend, out=np.full_like(t, np.inf), where=bend != 0.0)
            inside = (there > low) & (there < high)
            there = np.where(inside, there, 0.5 * (low + high))
            settled |= np.abs(there - t) <= _ROUNDING
            t = np.where(settled, t, there)
        return self.start + t * self.width, settled
