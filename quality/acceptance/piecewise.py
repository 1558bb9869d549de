"""Cubic pieces between points, for one curve or for many at once.

Monotone pieces take the slopes of Fritsch and Butland, so that a curve never overshoots its
points. All functions take leading axes: a measured test is one curve, a test with its inputs moved
one by one within their uncertainty is many curves of the same shape.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def monotone_slopes(x: Floats, y: Floats) -> Floats:
    """Slopes at the points for which cubic pieces are monotone between them.

    x : (..., n) strictly ascending along the last axis, n >= 2
    y : (..., n)
    returns : (..., n)
    source : F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984), with the end
        slopes of Moler, Numerical Computing with MATLAB, 3.6
    """
    h = np.diff(x)
    secant = np.diff(y) / h
    if x.shape[-1] == 2:
        return np.concatenate([secant, secant], axis=-1)
    before, after = secant[..., :-1], secant[..., 1:]
    turns = before * after <= 0
    first, second = 2 * h[..., 1:] + h[..., :-1], h[..., 1:] + 2 * h[..., :-1]
    safe_before, safe_after = np.where(turns, 1.0, before), np.where(turns, 1.0, after)
    inner = np.where(turns, 0.0, (first + second) / (first / safe_before + second / safe_after))
    left = _end_slope(h[..., 0], h[..., 1], secant[..., 0], secant[..., 1])
    right = _end_slope(h[..., -1], h[..., -2], secant[..., -1], secant[..., -2])
    return np.concatenate([left[..., None], inner, right[..., None]], axis=-1)


def _end_slope(h0: Floats, h1: Floats, secant0: Floats, secant1: Floats) -> Floats:
    slope = ((2 * h0 + h1) * secant0 - h0 * secant1) / (h0 + h1)
    slope = np.where(np.sign(slope) != np.sign(secant0), 0.0, slope)
    steep = (np.sign(secant0) != np.sign(secant1)) & (np.abs(slope) > 3 * np.abs(secant0))
    return np.where(steep, 3 * secant0, slope)


def coefficients(x: Floats, y: Floats, slopes: Floats) -> Floats:
    """Cubic pieces through points with given slopes.

    x : (..., n) strictly ascending along the last axis
    y, slopes : (..., n)
    returns : (4, ..., n-1) of the powers 3, 2, 1, 0 of the distance from the left point
    """
    h = np.diff(x)
    secant = np.diff(y) / h
    left, right = slopes[..., :-1], slopes[..., 1:]
    return np.stack(
        [
            (left + right - 2 * secant) / h**2,
            (3 * secant - 2 * left - right) / h,
            left,
            y[..., :-1],
        ]
    )


def straight(x: Floats, y: Floats) -> Floats:
    """Straight pieces through points, in the form of `coefficients`.

    x : (..., n) strictly ascending along the last axis
    y : (..., n)
    returns : (4, ..., n-1)
    """
    secant = np.diff(y) / np.diff(x)
    nothing = np.zeros_like(secant)
    return np.stack([nothing, nothing, secant, y[..., :-1]])


def values(x: Floats, pieces: Floats, at: Floats) -> tuple[Floats, Floats]:
    """Value and slope of each curve at its own place; the end pieces are continued beyond.

    x : (k, n) strictly ascending along the last axis
    pieces : (4, k, n-1)
    at : (k,) one place a curve
    returns : (k,) value, and (k,) slope
    """
    each = np.arange(len(at))
    inside = np.count_nonzero(x[:, 1:-1] <= at[:, None], axis=1)
    step = at - x[each, inside]
    c3, c2, c1, c0 = pieces[:, each, inside]
    value = ((c3 * step + c2) * step + c1) * step + c0
    return value, (3 * c3 * step + 2 * c2) * step + c1


def along(x: Floats, pieces: Floats, at: Floats) -> Floats:
    """One curve at many places, not-a-number beyond its ends.

    x : (n,) strictly ascending
    pieces : (4, n-1)
    at : (m,)
    returns : (m,)
    """
    index = np.clip(np.searchsorted(x, at, side="right") - 1, 0, len(x) - 2)
    step = at - x[index]
    c3, c2, c1, c0 = pieces[:, index]
    value = ((c3 * step + c2) * step + c1) * step + c0
    return np.where((at >= x[0]) & (at <= x[-1]), value, np.nan)


def roots(x: Floats, pieces: Floats) -> list[float]:
    """Places where one curve is nothing.

    x : (n,) strictly ascending
    pieces : (4, n-1)
    returns : in ascending order; of a stretch that is nothing throughout, its ends
    """
    h = np.diff(x)
    c3, c2, c1, c0 = pieces
    # Bernstein coefficients enclose a piece: where all have one sign there is no root.
    enclosing = np.stack(
        [
            c0,
            c0 + c1 * h / 3,
            c0 + 2 * c1 * h / 3 + c2 * h**2 / 3,
            c0 + (c1 + (c2 + c3 * h) * h) * h,
        ]
    )
    possible = ~(np.all(enclosing > 0, axis=0) | np.all(enclosing < 0, axis=0))
    found: list[float] = []
    for i in np.flatnonzero(possible):
        # Scaled to the piece's own length, so that tiny high powers do not spoil the roots.
        scaled = pieces[:, i] * h[i] ** np.array([3.0, 2.0, 1.0, 0.0])
        if not np.any(scaled):
            found += [float(x[i]), float(x[i + 1])]
            continue
        size = np.max(np.abs(scaled))
        scaled[np.abs(scaled) < 1e-13 * size] = 0.0
        for root in np.roots(scaled):
            if abs(root.imag) < 1e-7 and -1e-9 <= root.real <= 1 + 1e-9:
                found.append(float(x[i] + min(max(root.real, 0.0), 1.0) * h[i]))
    return sorted(found)
