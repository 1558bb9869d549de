"""From figures to places: linear and time scales, and the round figures for their ticks."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta


@dataclass(frozen=True)
class Linear:
    """A straight scale.

    low, high : figures at the ends; low < high
    start, end : places of the ends [px]
    """

    low: float
    high: float
    start: float
    end: float

    def __call__(self, value: float) -> float:
        return self.start + (value - self.low) / (self.high - self.low) * (self.end - self.start)


@dataclass(frozen=True)
class TimeScale:
    """A scale of instants.

    first, last : instants at the ends, aware, first < last
    start, end : places of the ends [px]
    """

    first: datetime
    last: datetime
    start: float
    end: float

    def __call__(self, at: datetime) -> float:
        # by timestamp: two instants of one zone subtract by wall time, wrong over a clock change
        first, last = self.first.timestamp(), self.last.timestamp()
        share = (at.timestamp() - first) / (last - first)
        return self.start + share * (self.end - self.start)

    def within(self, at: datetime) -> float:
        """The place, held between the ends."""
        return min(max(self(at), self.start), self.end)


def nice_ticks(low: float, high: float, about: int = 6) -> tuple[float, ...]:
    """Round figures (1, 2, 2.5 or 5 times a power of ten) from at or below low to at or above high.

    about : ticks wished for; between half and twice as many come
    raises : ValueError when the bounds aren't finite or in order
    """
    if not (math.isfinite(low) and math.isfinite(high) and low < high):
        raise ValueError(f"an axis needs finite bounds in order, not {low} to {high}")
    wished = (high - low) / max(about - 1, 1)
    power = 10.0 ** math.floor(math.log10(wished))
    step = next(factor * power for factor in (1, 2, 2.5, 5, 10) if factor * power >= wished * 0.999)
    first = math.floor(low / step + 1e-9)
    last = math.ceil(high / step - 1e-9)
    return tuple(round(index * step, 12 - _magnitude(step)) for index in range(first, last + 1))


def _magnitude(step: float) -> int:
    return math.floor(math.log10(step))


def tick_decimals(ticks: Sequence[float]) -> int:
    """Decimals that the ticks need to be told apart."""
    step = ticks[1] - ticks[0]
    for decimals in range(7):
        if math.isclose(round(step, decimals), step, rel_tol=1e-6):
            return decimals
    return 7


def bounds(values: Sequence[float], *, from_zero: bool = False) -> tuple[float, float]:
    """Least and greatest figure, spread a little when they coincide."""
    low, high = min(values), max(values)
    if from_zero:
        low, high = min(low, 0.0), max(high, 0.0)
    if low == high:
        return low - (abs(low) or 1.0) * 0.05, high + (abs(high) or 1.0) * 0.05
    return low, high


def mondays(first: datetime, last: datetime) -> tuple[datetime, ...]:
    """Mondays' midnights between two instants, in the zone of the first."""
    day = first.date() + timedelta(days=(7 - first.weekday()) % 7)
    found = []
    while (at := datetime.combine(day, time(), first.tzinfo)) <= last:
        if at >= first:
            found.append(at)
        day += timedelta(days=7)
    return tuple(found)


def months(first: datetime, last: datetime) -> tuple[datetime, ...]:
    """First days' midnights of the months between two instants, in the zone of the first."""
    year, month = first.year, first.month
    found = []
    while (at := datetime(year, month, 1, tzinfo=first.tzinfo)) <= last:
        if at >= first:
            found.append(at)
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
    return tuple(found)
