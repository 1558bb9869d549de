"""The innermost loops of the catalogue search, compiled by numba: one row, one curve.

Rows are piecewise cubics as `many.Cubics` holds them. The arithmetic is that of `hermite.Cubic`;
the tests hold the two together. Imported by the functions that need it, because numba takes a
second to load, which a web server's start need not wait for.
"""

import math
from collections.abc import Callable
from typing import TypeVar, cast

import numba
import numpy as np

from selection.hydraulics.door import Bools, Floats, Ints

F = TypeVar("F", bound=Callable[..., object])

# States of a meeting, the same numbers as `solve.Alone`.
MEETS, BEYOND_END, TOO_LITTLE_HEAD = 0, 1, 2
_ROUNDING = 1e-15  # as near as double numbers let a root be told
_STEPS_MOST = 100


def compiled(function: F) -> F:
    """Compile a function at its first call; the machine code is kept where the folder allows.

    function : to be compiled
    returns : the compiled one
    """
    try:
        return cast(F, numba.njit(cache=True, error_model="numpy")(function))
    except RuntimeError:
        # Installed where nothing may be written: compiled anew by each process instead.
        return cast(F, numba.njit(error_model="numpy")(function))


@compiled
def piece_at(
    knots: Floats, values: Floats, slopes: Floats, last: int, x: float
) -> tuple[float, float, float, float, float, float]:
    """Coefficients of the piece that holds x, in the share of its width.

    knots, values, slopes : (k,) one row [any]
    last : index of its last knot [-]
    x : place, within the range [any]
    returns : start, width, and four coefficients by rising power [any]
    """
    at = 0
    while at < last - 1 and knots[at + 1] <= x:
        at += 1
    width = knots[at + 1] - knots[at]
    rise = values[at + 1] - values[at]
    c1, end = slopes[at] * width, slopes[at + 1] * width
    return (
        knots[at],
        width,
        values[at],
        c1,
        3.0 * rise - 2.0 * c1 - end,
        c1 + end - 2.0 * rise,
    )


@compiled
def held_at(knots: Floats, values: Floats, slopes: Floats, last: int, x: float) -> float:
    """Value at x, the end's value beyond the range.

    knots, values, slopes : (k,) one row [any]
    last : index of its last knot [-]
    x : place [any]
    returns : value [any]
    """
    x = min(max(x, knots[0]), knots[last])
    start, width, c0, c1, c2, c3 = piece_at(knots, values, slopes, last, x)
    t = (x - start) / width
    return float(c0 + t * (c1 + t * (c2 + t * c3)))


@compiled
def evaluate(knots: Floats, values: Floats, slopes: Floats, last: Ints, x: Floats) -> Floats:
    """Value of each row at its place, the end's value beyond its range.

    knots, values, slopes : (n, k) rows [any]
    last : (n,) index of each row's last knot [-]
    x : (n,) places [any]
    returns : (n,) [any]
    """
    result = np.empty(len(x))
    for row in range(len(x)):
        if math.isnan(x[row]):
            result[row] = math.nan
        else:
            result[row] = held_at(knots[row], values[row], slopes[row], last[row], x[row])
    return result


@compiled
def _power(base: float, exponent: float) -> float:
    return base * base if exponent == 2.0 else base**exponent


@compiled
def meet(
    knots: Floats,
    values: Floats,
    slopes: Floats,
    last: Ints,
    static: Floats,
    coefficient: Floats,
    exponent: Floats,
) -> tuple[Floats, Ints, Ints, Bools]:
    """Where each row last falls to static + coefficient · x^exponent.

    The piece is found by going back from the end of the row; in it Newton's step is taken where
    it stays between the ends, halving where it does not.

    knots, values, slopes : (n, k) rows; knots >= 0 [any]
    last : (n,) index of each row's last knot [-]
    static, coefficient, exponent : (n,) of what is asked [any]
    returns : (n,) place, NaN where they do not meet; (n,) state; (n,) changes of sign along the
        knots; (n,) settled
    """
    count = len(last)
    place = np.full(count, math.nan)
    state, meetings = np.empty(count, dtype=np.intp), np.zeros(count, dtype=np.intp)
    settled = np.ones(count, dtype=np.bool_)
    for row in range(count):
        piece, above_next = -1, False
        for k in range(last[row], -1, -1):
            asked = static[row] + coefficient[row] * _power(knots[row, k], exponent[row])
            above = values[row, k] > asked
            if k < last[row] and above != above_next:
                meetings[row] += 1
            if above and piece < 0:
                piece = k
            above_next = above
        if piece < 0:
            state[row] = TOO_LITTLE_HEAD
            continue
        if piece == last[row]:
            state[row] = BEYOND_END
            continue
        state[row] = MEETS
        start, width, c0, c1, c2, c3 = piece_at(
            knots[row], values[row], slopes[row], last[row], knots[row, piece]
        )
        low, high, t = 0.0, 1.0, 0.5
        settled[row] = False
        for _ in range(_STEPS_MOST):
            x = start + t * width
            losses = coefficient[row] * _power(x, exponent[row])
            over = c0 + t * (c1 + t * (c2 + t * c3)) - static[row] - losses
            if abs(over) <= _ROUNDING * (abs(static[row]) + losses + abs(c0)):
                settled[row] = True
                break
            bend = c1 + t * (2.0 * c2 + t * 3.0 * c3)
            if x > 0.0:
                bend -= exponent[row] * losses / x * width
            if over > 0.0:
                low = t
            else:
                high = t
            there = t - over / bend if bend != 0.0 else -1.0
            if not low < there < high:
                there = 0.5 * (low + high)
            if abs(there - t) <= _ROUNDING:
                settled[row] = True
                t = there
                break
            t = there
        place[row] = start + t * width
    return place, state, meetings, settled


@compiled
def _mixed_head(
    diameter: float,
    flow: float,
    flow_power: float,
    head_power: float,
    one: tuple[Floats, Floats, Floats, int, float],
    two: tuple[Floats, Floats, Floats, int, float],
) -> float:
    first = math.log(diameter / one[4])
    second = math.log(diameter / two[4])
    below = held_at(one[0], one[1], one[2], one[3], flow * math.exp(-flow_power * first))
    above = held_at(two[0], two[1], two[2], two[3], flow * math.exp(-flow_power * second))
    share = (diameter - one[4]) / (two[4] - one[4])
    return float(
        (1.0 - share) * math.exp(head_power * first) * below
        + share * math.exp(head_power * second) * above
    )


@compiled
def trim_between(
    knots: Floats,
    values: Floats,
    slopes: Floats,
    last: Ints,
    tested: Floats,
    lower: Ints,
    upper: Ints,
    flow: Floats,
    head: Floats,
    flow_power: Floats,
    head_power: Floats,
    low: Floats,
    high: Floats,
) -> tuple[Floats, Ints, Bools]:
    """Diameter between two tested ones at which the mixed curve makes a head at a flow.

    False position with the stale end's weight halved (Illinois), halving as its safeguard.

    knots, values, slopes, last, tested : rows of all tests and their diameters [any], [mm]
    lower, upper : (n,) tests to mix [-]
    flow, head : (n,) asked, at the tests' speed [m3/s], [m]
    flow_power, head_power : (n,) of the trim law [-]
    low, high : (n,) diameters to stay between [mm]
    returns : (n,) diameter; (n,) 0 found, 1 short of head at high, 2 too much at low; (n,)
        settled
    """
    count = len(lower)
    diameter, fit = np.empty(count), np.zeros(count, dtype=np.intp)
    settled = np.ones(count, dtype=np.bool_)
    for row in range(count):
        one, two = lower[row], upper[row]
        first = (knots[one], values[one], slopes[one], last[one], tested[one])
        second = (knots[two], values[two], slopes[two], last[two], tested[two])
        a, b = low[row], high[row]
        q, fp, hp = flow[row], flow_power[row], head_power[row]
        fa = _mixed_head(a, q, fp, hp, first, second) - head[row]
        fb = _mixed_head(b, q, fp, hp, first, second) - head[row]
        if fb < 0.0:
            diameter[row], fit[row] = b, 1
            continue
        if fa > 0.0:
            diameter[row], fit[row] = a, 2
            continue
        settled[row] = False
        side, weight_a, weight_b = 0, fa, fb
        best, width = a, b - a
        for step in range(_STEPS_MOST):
            best = b - weight_b * (b - a) / (weight_b - weight_a) if weight_b != weight_a else a
            if not a < best < b or (step % 8 == 7 and b - a > 0.5 * width):
                best = 0.5 * (a + b)
            if step % 8 == 7:
                width = b - a
            f = _mixed_head(best, q, fp, hp, first, second) - head[row]
            if abs(f) <= _ROUNDING * head[row] or b - a <= 2.0 * _ROUNDING * b:
                settled[row] = True
                break
            if f > 0.0:
                b, weight_b = best, f
                if side == 1:
                    weight_a *= 0.5
                side = 1
            else:
                a, weight_a = best, f
                if side == -1:
                    weight_b *= 0.5
                side = -1
        diameter[row] = best
    return diameter, fit, settled


@compiled
def mix(
    knots: Floats,
    values: Floats,
    slopes: Floats,
    last: Ints,
    other_knots: Floats,
    other_values: Floats,
    other_slopes: Floats,
    other_last: Ints,
    share: Floats,
) -> tuple[Floats, Floats, Floats, Ints]:
    """Mix rows with another's over the range of both, on the knots of both.

    knots, values, slopes, last : (n, k) rows [any]
    other_knots, other_values, other_slopes, other_last : (n, j) rows [any]
    share : (n,) of the other, 0 to 1 [-]
    returns : (n, k + j) knots, values, slopes and (n,) last
    """
    count, width = len(last), knots.shape[1] + other_knots.shape[1]
    out_x = np.full((count, width), math.inf)
    out_y, out_m = np.zeros((count, width)), np.zeros((count, width))
    out_last = np.zeros(count, dtype=np.intp)
    for row in range(count):
        low = max(knots[row, 0], other_knots[row, 0])
        high = min(knots[row, last[row]], other_knots[row, other_last[row]])
        i, j, at = 0, 0, -1
        while i <= last[row] or j <= other_last[row]:
            if j > other_last[row] or (i <= last[row] and knots[row, i] <= other_knots[row, j]):
                x = knots[row, i]
                i += 1
            else:
                x = other_knots[row, j]
                j += 1
            if x < low or x > high or (at >= 0 and x == out_x[row, at]):
                continue
            at += 1
            s0, w0, a0, a1, a2, a3 = piece_at(knots[row], values[row], slopes[row], last[row], x)
            s1, w1, b0, b1, b2, b3 = piece_at(
                other_knots[row], other_values[row], other_slopes[row], other_last[row], x
            )
            t, u = (x - s0) / w0, (x - s1) / w1
            mine, theirs = 1.0 - share[row], share[row]
            out_x[row, at] = x
            out_y[row, at] = mine * (a0 + t * (a1 + t * (a2 + t * a3))) + theirs * (
                b0 + u * (b1 + u * (b2 + u * b3))
            )
            out_m[row, at] = (
                mine * (a1 + t * (2.0 * a2 + t * 3.0 * a3)) / w0
                + theirs * (b1 + u * (2.0 * b2 + u * 3.0 * b3)) / w1
            )
        out_last[row] = max(at, 1)
        for k in range(at + 1, width):
            out_y[row, k] = out_y[row, max(at, 0)]
    return out_x, out_y, out_m, out_last
