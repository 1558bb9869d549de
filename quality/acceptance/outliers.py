"""Which readings leave the smooth curve of the others, and what slip of the pen explains it.

Speed differences are taken out and the one or two readings without which the rest fit best are set
aside, so that gross slips neither hide one another nor put their neighbours under suspicion. Each
is then compared with the curve of those left, and taken back unless it lies off by more than
ordinary scatter explains.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from quality.acceptance.student import student_quantile

Floats = NDArray[np.float64]

LEAST_POINTS = 5
"""With fewer points there is no curve of the others to speak of."""

ENOUGH_FOR_PAIRS = 8
"""With so many points two slips at once can be told from the curve."""

ENOUGH_FOR_CUBIC = 7
"""With fewer points left a parabola has to do."""

GROSS = 0.2
"""A residual above this share of the median value is suspicious even among few points, where
scatter cannot be judged."""

PLAIN_SCATTER = 0.04
"""A residual below this share of the median value is ordinary scatter (common practice: the
permitted fluctuation of heads and powers in grade 2 is of this size)."""

CHANCE_OF_SCATTER = 1e-3
"""Chance that ordinary scatter alone puts one of a test's readings under suspicion."""

FITS_AGAIN = 0.03
"""A corrected value explains the slip when it comes this near to the curve of the others."""


@dataclass(frozen=True, kw_only=True)
class Suspect:
    """A value off the curve of the others.

    number : of the reading
    value, expected : as read and as the others give it, in the unit handed in
    meant : what it may have been meant as, None without a simple explanation
    slip : the explanation in words
    swapped_with : number of the neighbour it may have been exchanged with
    """

    number: int
    value: float
    expected: float
    meant: float | None = None
    slip: str = ""
    swapped_with: int | None = None


def suspects(
    *,
    numbers: Sequence[int],
    flows: Sequence[float],
    values: Sequence[float],
    speeds: Sequence[float],
    power: int,
    unit_factor: float | None,
) -> list[Suspect]:
    """Readings that leave the curve of the others.

    numbers : (n,) of the readings
    flows : (n,) [m3/s]
    values : (n,) heads or powers, in one unit
    speeds : (n,) > 0 [rev/min]
    power : how the value varies with speed, 2 for head and 3 for power [-]
    unit_factor : SI value of the unit the values were typed in, so that exchanged digits can be
        looked for; None when the value was not typed itself
    returns : suspects in order of reading; none with fewer than five readings
    """
    if len(numbers) < LEAST_POINTS:
        return []
    speed = np.asarray(speeds, dtype=float)
    mean_speed = float(np.median(speed))
    ratio = mean_speed / speed
    flow = np.asarray(flows, dtype=float) * ratio
    value = np.asarray(values, dtype=float) * ratio**power
    found: dict[int, Suspect] = {}
    for index, expected in _off(flow, value).items():
        scale = float(ratio[index] ** power)
        meant, slip = _slip(values[index], expected / scale, unit_factor)
        found[index] = Suspect(
            number=numbers[index],
            value=values[index],
            expected=expected / scale,
            meant=meant,
            slip=slip,
        )
    return _exchanged(found, numbers)


def _off(flow: Floats, value: Floats) -> dict[int, float]:
    """Indices of readings off the curve of the others, with what the others give there."""
    left = list(range(len(flow)))
    off: dict[int, float] = {}
    while len(left) >= LEAST_POINTS and len(off) < max(1, len(flow) // 4):
        aside = _fit_worst(flow[left], value[left], pair=len(left) >= ENOUGH_FOR_PAIRS)
        away = [left[i] for i in aside]
        kept = [i for i in left if i not in away]
        # The last one fits best: it is the first to be taken back, and helps with the next.
        confirmed = []
        for index in reversed(away):
            expected, spread, freedom = _predicted(flow[kept], value[kept], float(flow[index]))
            gap = abs(float(value[index]) - expected)
            floor = PLAIN_SCATTER * float(np.median(np.abs(value[kept])))
            reach = student_quantile(1 - CHANCE_OF_SCATTER / len(flow) / 2, freedom)
            gross = GROSS / PLAIN_SCATTER * floor
            if gap > floor and (gap > reach * spread or gap > gross):
                off[index] = expected
                confirmed.append(index)
            else:
                kept.append(index)
        if not confirmed:
            break
        left = sorted(kept)
    return off


def _fit_worst(flow: Floats, value: Floats, *, pair: bool) -> list[int]:
    """The one or two points without which a low polynomial fits best, worst first."""
    count = len(flow)
    size = 2 if pair else 1
    powers, _, _ = _basis(flow, less=size)
    choices = np.array(list(combinations(range(count), size)))
    weight = np.ones((len(choices), count))
    weight[np.arange(len(choices))[:, None], choices] = 0.0
    # All choices in one go: normal equations of a low degree on a scaled flow are well behaved.
    normal = np.einsum("kn,ni,nj->kij", weight, powers, powers)
    right = np.einsum("kn,ni,n->ki", weight, powers, value)
    coefficients = np.einsum("kij,kj->ki", np.linalg.pinv(normal), right)
    residual = value - coefficients @ powers.T
    best = int(np.argmin(np.sum(weight * residual**2, axis=1)))
    return sorted((int(i) for i in choices[best]), key=lambda i: -abs(residual[best, i]))


def _basis(flow: Floats, less: int = 0) -> tuple[Floats, int, float]:
    """Powers of flow for a low polynomial, its degree, and the flow they are scaled by."""
    largest = float(np.max(np.abs(flow))) or 1.0
    left = min(len(flow), len(np.unique(flow)) + 1) - less
    degree = 3 if left >= ENOUGH_FOR_CUBIC else max(1, min(2, left - 2))
    return np.vander(flow / largest, degree + 1), degree, largest


def _predicted(flow: Floats, value: Floats, at: float) -> tuple[float, float, int]:
    """What a low polynomial gives at a flow, its standard error for one reading, its freedom."""
    powers, degree, largest = _basis(flow)
    inverse = np.linalg.pinv(powers)
    coefficients = inverse @ value
    residual = value - powers @ coefficients
    freedom = max(1, len(flow) - degree - 1)
    scatter = float(np.sqrt(residual @ residual / freedom))
    there = np.vander(np.array([at / largest]), degree + 1)[0]
    weight = there @ inverse
    return float(there @ coefficients), scatter * float(np.sqrt(1 + weight @ weight)), freedom


def _slip(value: float, expected: float, unit_factor: float | None) -> tuple[float | None, str]:
    """A slip of the pen that brings a value back to the curve."""
    for factor, words in (
        (10.0, "decimal mark one place too far left"),
        (0.1, "decimal mark one place too far right"),
        (100.0, "decimal mark two places too far left"),
        (0.01, "decimal mark two places too far right"),
    ):
        if abs(value * factor / expected - 1) <= FITS_AGAIN:
            return value * factor, words
    if unit_factor is None:
        return None, ""
    text = f"{value / unit_factor:.6g}"
    if "e" in text:
        return None, ""
    places = [i for i, mark in enumerate(text) if mark.isdigit()]
    best: tuple[float, float] | None = None
    for first, second in pairwise(places):
        if text[first] == text[second]:
            continue
        marks = list(text)
        marks[first], marks[second] = marks[second], marks[first]
        meant = float("".join(marks)) * unit_factor
        off = abs(meant / expected - 1)
        if off <= FITS_AGAIN and (best is None or off < best[0]):
            best = (off, meant)
    return (best[1], "two digits exchanged") if best else (None, "")


def _exchanged(found: dict[int, Suspect], numbers: Sequence[int]) -> list[Suspect]:
    """Two suspects whose values fit when exchanged are told so."""
    result = dict(found)
    for i, first in found.items():
        for j, second in found.items():
            fits = (
                abs(first.value / second.expected - 1) <= FITS_AGAIN
                and abs(second.value / first.expected - 1) <= FITS_AGAIN
            )
            if i < j and fits:
                result[i] = Suspect(
                    number=first.number,
                    value=first.value,
                    expected=first.expected,
                    swapped_with=numbers[j],
                )
                result.pop(j)
    return [result[i] for i in sorted(result)]
