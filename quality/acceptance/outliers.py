"""Which readings leave the smooth curve of the others, and what slip of the pen explains it.

Each reading is compared with a low polynomial through all the others, speed differences taken
out. The worst is set aside and the rest looked at again, so that one gross slip does not put its
neighbours under suspicion.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

LEAST_POINTS = 5
"""With fewer points there is no curve of the others to speak of."""

PLAIN_SCATTER = 0.04
"""A residual below this share of the median value is ordinary scatter (common practice: the
permitted fluctuation of heads and powers in grade 2 is of this size)."""

ROBUST = 6.0
"""A suspect's residual is also above this many times the others' median residual."""

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
    left = np.arange(len(numbers))
    found: dict[int, Suspect] = {}
    while len(left) >= LEAST_POINTS and len(found) <= len(numbers) // 4:
        expected = _without_each(flow[left], value[left])
        residual = np.abs(value[left] - expected)
        worst = int(np.argmax(residual))
        usual = float(np.median(np.delete(residual, worst)))
        floor = PLAIN_SCATTER * float(np.median(np.abs(value[left])))
        if residual[worst] <= max(floor, ROBUST * usual):
            break
        index = int(left[worst])
        scale = float(ratio[index] ** power)
        meant, slip = _slip(values[index], float(expected[worst]) / scale, unit_factor)
        found[index] = Suspect(
            number=numbers[index],
            value=values[index],
            expected=float(expected[worst]) / scale,
            meant=meant,
            slip=slip,
        )
        left = np.delete(left, worst)
    return _exchanged(found, numbers)


def _without_each(flow: Floats, value: Floats) -> Floats:
    """What a low polynomial through the others gives at each point."""
    count = len(flow)
    degree = max(1, min(3, count - 3, len(np.unique(flow)) - 2))
    largest = float(np.max(np.abs(flow))) or 1.0
    powers = np.vander(flow / largest, degree + 1)
    # Leave-one-out prediction by the hat matrix: e_i / (1 − h_ii), without n separate fits.
    basis, _ = np.linalg.qr(powers)
    fitted = basis @ (basis.T @ value)
    leverage = np.sum(basis**2, axis=1)
    away = (value - fitted) / np.maximum(1 - leverage, 1e-9)
    return np.asarray(value - away, dtype=float)


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
