"""Thousands of piecewise cubics lined up as arrays, asked all at once.

A row is one curve. Rows may have fewer knots than the widest; the rest is padded with infinite
knots. Whatever a row of `Cubics` answers, a `hermite.Cubic` of the same knots answers too.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selection.hydraulics.door import Bools, Floats, Ints
from selection.hydraulics.hermite import Cubic

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
        from selection.hydraulics.kernels import evaluate  # see there why only now

        return evaluate(self.knots, self.values, self.slopes, self.last, x)

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
        from selection.hydraulics.kernels import mix  # see there why only now

        return Cubics(
            *mix(
                self.knots,
                self.values,
                self.slopes,
                self.last,
                other.knots,
                other.values,
                other.slopes,
                other.last,
                share,
            )
        )

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


@dataclass(frozen=True, eq=False, kw_only=True)
class Marks:
    """Figures of head curves that move in proportion when a curve is stretched.

    start_flow, end_flow : (n,) range [m3/s]
    bep_flow, bep_efficiency, bep_head : (n,) at best efficiency [m3/s], [-], [m]
    shutoff_head, head_max : (n,) [m]
    stable : (n,) head falls throughout
    power_flow, power_shape : (n,) where flow times head over efficiency is greatest, and that
        product [m3/s], [m4/s]
    """

    start_flow: Floats
    end_flow: Floats
    bep_flow: Floats
    bep_efficiency: Floats
    bep_head: Floats
    shutoff_head: Floats
    head_max: Floats
    stable: Bools
    power_flow: Floats
    power_shape: Floats

    @classmethod
    def of(cls, head: Cubics, efficiency: Cubics) -> "Marks":
        """Find the figures of curves.

        head, efficiency : rows over the same flows
        returns : the figures
        """
        bep_flow, bep_efficiency = efficiency.peaks()
        shutoff = head.values[:, 0] + np.maximum(0.0, -head.slopes[:, 0]) * head.low / 2.0
        inside = head.inside
        falling = (np.diff(head.values, axis=1) < 0.0) | ~inside[:, 1:]
        power_flow, power_shape = _greatest_power(head, efficiency, bep_flow)
        return cls(
            start_flow=head.low,
            end_flow=head.high,
            bep_flow=bep_flow,
            bep_efficiency=bep_efficiency,
            bep_head=head.held(bep_flow),
            shutoff_head=shutoff,
            head_max=np.maximum(shutoff, np.where(inside, head.values, -np.inf).max(axis=1)),
            stable=np.asarray(falling.all(axis=1)),
            power_flow=power_flow,
            power_shape=power_shape,
        )

    def stretched(self, at: Ints, along: Floats, up: Floats, kept: Floats) -> "Marks":
        """Take rows and stretch them.

        at : (m,) row numbers [-]
        along, up, kept : (m,) factors on flow, head and efficiency [-]
        returns : (m,) rows
        """
        return Marks(
            start_flow=self.start_flow[at] * along,
            end_flow=self.end_flow[at] * along,
            bep_flow=self.bep_flow[at] * along,
            bep_efficiency=self.bep_efficiency[at] * kept,
            bep_head=self.bep_head[at] * up,
            shutoff_head=self.shutoff_head[at] * up,
            head_max=self.head_max[at] * up,
            stable=self.stable[at],
            power_flow=self.power_flow[at] * along,
            power_shape=self.power_shape[at] * (along * up / kept),
        )


def _greatest_power(head: Cubics, efficiency: Cubics, bep_flow: Floats) -> tuple[Floats, Floats]:
    """Greatest q·h/eta at the knots and four places inside each piece, from 15 % of best flow."""
    flow, made = head.sampled()
    _, eta = efficiency.sampled()
    counts = np.isfinite(flow) & (flow >= 0.15 * bep_flow[:, None]) & (eta > 0.0)
    shape = np.where(counts, flow, 0.0) * made / np.where(counts, eta, 1.0)
    at = np.argmax(shape, axis=1)[:, None]
    return np.take_along_axis(flow, at, 1)[:, 0], np.take_along_axis(shape, at, 1)[:, 0]


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
