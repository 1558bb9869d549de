"""Roots of falling functions, many at once, with a report of how the search went."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from selection.hydraulics.door import Bools, Floats

STEPS_MOST = 200


@dataclass(frozen=True, eq=False)
class Roots:
    """Where functions cross nought.

    x : best answer, NaN where the ends show no change of sign [any]
    converged : whether the answer is as good as the numbers allow
    steps : how many evaluations it took [-]
    why_not : in words, empty when all converged
    """

    x: Floats
    converged: Bools
    steps: int
    why_not: str


def bracketed_root(
    function: Callable[[Floats], Floats],
    low: Floats,
    high: Floats,
    relative: float = 4e-15,
) -> Roots:
    """Find where functions cross nought between two ends of differing sign.

    Chandrupatla's method on all elements at once: inverse quadratic steps where they are safe,
    halving where they are not, so it converges always and fast mostly.

    function : takes and gives an array of low's shape [any]
    low, high : ends [any]
    relative : accepted width of the bracket over the answer's size [-]
    returns : the roots and how the search went
    source : Chandrupatla 1997
    """
    a, b = np.array(high, dtype=np.float64), np.array(low, dtype=np.float64)
    fa, fb = function(a), function(b)
    bracketed = np.sign(fa) * np.sign(fb) <= 0.0
    # A root at nought has no size of its own to be close to.
    floor = 1e-18 * np.abs(a - b) + 1e-300
    c, fc = a.copy(), fa.copy()
    t = np.full(a.shape, 0.5)
    best = np.where(np.abs(fa) < np.abs(fb), a, b)
    done = (fa == 0.0) | (fb == 0.0) | ~bracketed
    steps = 2
    while steps < STEPS_MOST and not done.all():
        x = a + t * (b - a)
        fx = function(x)
        steps += 1
        same = np.sign(fx) == np.sign(fa)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        a, fa = x, fx
        smaller = np.abs(fa) < np.abs(fb)
        now = np.where(smaller, a, b)
        best = np.where(done, best, now)
        with np.errstate(divide="ignore", invalid="ignore"):
            tolerance = 2.0 * relative * np.abs(now) + floor
            t_least = 0.5 * tolerance / np.abs(b - a)
            done |= (t_least > 0.5) | (np.where(smaller, fa, fb) == 0.0)
            xi = (a - b) / (c - b)
            phi = (fa - fb) / (fc - fb)
            safe = (1.0 - np.sqrt(1.0 - xi) < phi) & (phi < np.sqrt(xi))
            quadratic = (fa / (fb - fa)) * (fc / (fb - fc)) + ((c - a) / (b - a)) * (
                fa / (fc - fa)
            ) * (fb / (fc - fb))
        t = np.where(safe & np.isfinite(quadratic), quadratic, 0.5)
        t = np.clip(t, np.nan_to_num(t_least), 1.0 - np.nan_to_num(t_least))
        t = np.where(np.isfinite(t), t, 0.5)
    found = np.where(bracketed, best, np.nan)
    converged = done & bracketed
    why = ""
    if not bracketed.all():
        why = f"{int((~bracketed).sum())} without a change of sign between their ends"
    elif not converged.all():
        why = f"{int((~converged).sum())} not settled after {steps} evaluations"
    return Roots(found, converged, steps, why)
