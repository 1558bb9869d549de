"""Checks at the door: numbers are finite, positive and plausible before anything is computed."""

from collections.abc import Sequence
from enum import StrEnum

import numpy as np
from numpy.typing import ArrayLike, NDArray

from selection.hydraulics.errors import NotFinite, OutOfBounds

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Ints = NDArray[np.intp]
Words = NDArray[np.object_]  # of str

GRAVITY = 9.80665  # standard gravity [m/s2], ISO 80000-3

# Nothing a split-case pump meets lies beyond these; a larger number is a mistaken unit.
FLOW_CEILING_M3S = 50.0
HEAD_CEILING_M = 3000.0
SPEED_CEILING_RPM = 10_000.0
DIAMETER_CEILING_MM = 5000.0

_HINTS = {
    "m3/s": "Was it meant in m³/h or L/s?",
    "m": "Was it meant in kPa or feet?",
    "rev/min": "Speed is in revolutions a minute.",
    "mm": "Diameters are in millimetres.",
    "K": "Temperatures are absolute: 20 °C is 293.15 K.",
    "-": "A share is written as a fraction: 78 % is 0.78.",
}


class Certainty(StrEnum):
    """How sure a figure is, as the reference tables use the words."""

    CONFIRMED = "confirmed"
    SECOND_HAND = "confirmed-2nd"
    MEMORY = "from memory"
    PRACTICE = "common practice"


def number(
    value: float, quantity: str, unit: str, low: float = -np.inf, high: float = np.inf
) -> float:
    """Give the number back as a float, or say what is wrong with it.

    value : the number [any]
    quantity : its name in a sentence
    unit : of value, low and high
    low, high : bounds, both allowed [any]
    returns : the same number [any]
    raises : NotFinite, OutOfBounds
    """
    try:
        given = float(value)
    except (TypeError, ValueError):
        raise NotFinite(quantity=quantity) from None
    if not np.isfinite(given):
        raise NotFinite(quantity=quantity)
    if not low <= given <= high:
        raise OutOfBounds(
            quantity=quantity,
            value=given,
            unit=unit,
            low=low,
            high=high,
            hint=_HINTS.get(unit, "") if given > high else "",
        )
    return given


def positive(value: float, quantity: str, unit: str, high: float = np.inf) -> float:
    """Give the number back when it is above nought and not absurd.

    value : the number, > 0 [any]
    quantity : its name in a sentence
    unit : of value and high
    high : greatest plausible value [any]
    returns : the same number [any]
    raises : NotFinite, OutOfBounds
    """
    return number(value, quantity, unit, float(np.nextafter(0.0, 1.0)), high)


def column(
    values: ArrayLike | Sequence[float],
    quantity: str,
    unit: str,
    low: float = -np.inf,
    high: float = np.inf,
    *,
    gaps: bool = False,
) -> Floats:
    """Copy a column of numbers into a read-only array after checking each.

    values : (n,) the numbers [any]
    quantity : the column's name in a sentence
    unit : of the values and bounds
    low, high : bounds, both allowed [any]
    gaps : NaN is taken as "not measured"
    returns : (n,) read-only [any]
    raises : NotFinite, OutOfBounds with the point's index
    """
    array = np.array(values, dtype=np.float64).ravel()
    wrong = np.isinf(array) if gaps else ~np.isfinite(array)
    if wrong.any():
        raise NotFinite(quantity=quantity, index=int(np.argmax(wrong)))
    outside = (array < low) | (array > high)
    if outside.any():
        at = int(np.argmax(outside))
        raise OutOfBounds(
            quantity=quantity,
            value=float(array[at]),
            unit=unit,
            low=low,
            high=high,
            index=at,
            hint=_HINTS.get(unit, "") if array[at] > high else "",
        )
    array.setflags(write=False)
    return array
