"""Calendars as tables over a grid of slots, built once and kept by the calendar's version."""

from functools import lru_cache
from math import gcd
from typing import Any

import numpy as np
import numpy.typing as npt

from schedule.planning.calendars import WorkingTime
from schedule.planning.network import Kind, Problem

Array = npt.NDArray[Any]

# More slots than this make the tables slow to build and to read; then the grid is coarser.
MOST_SLOTS = 400_000
COARSE_MINUTES = 5


def grid_of(problem: Problem, now: int, end: int) -> tuple[int, int]:
    """The slot's length, and a minute at which slots begin.

    The longest slot that divides every working duration and every opening and closing time; 5
    minutes when that would make too many slots, durations then being rounded up.

    problem : operations and calendars
    now, end : the span laid out [min]
    returns : length and anchor [min]
    """
    edges: list[int] = []
    for calendar in _used(problem):
        edges += [*calendar.opens, *calendar.closes]
    anchor = edges[0] if edges else now
    grid = 0
    for edge in edges:
        grid = gcd(grid, edge - anchor)
    for operation in problem.operations:
        counted = operation.kind is Kind.WORKING or operation.work_centre is not None
        if counted or operation.needs or not edges:
            grid = gcd(grid, operation.minutes)
    if not edges:
        for link in problem.links:
            grid = gcd(grid, link.lag_minutes)
    grid = max(grid, 1)
    if (end - now) // grid > MOST_SLOTS and grid < COARSE_MINUTES:
        grid = COARSE_MINUTES
    return grid, anchor


def _used(problem: Problem) -> list[WorkingTime]:
    used = {operation.calendar for operation in problem.operations} - {None}
    return [problem.calendars[k] for k in sorted(k for k in used if k is not None)]


class Axis:
    """One calendar on the grid.

    cum : (slots + 1,) working slots before each slot
    inv : (working slots,) the slot of each
    shift : (working slots,) the first working slot of each one's shift
    """

    def __init__(self, cum: Array, inv: Array, shift: Array) -> None:
        self.cum = cum
        self.inv = inv
        self.shift = shift


def axis_of(calendar: WorkingTime, base: int, grid: int, slots: int) -> Axis:
    """A calendar's tables, kept for the next plan of the same day."""
    return _axis_of(calendar.version, calendar, base, grid, slots)


@lru_cache(maxsize=64)
def _axis_of(version: str, calendar: WorkingTime, base: int, grid: int, slots: int) -> Axis:
    opens = np.asarray(calendar.opens, np.int64) - base
    closes = np.asarray(calendar.closes, np.int64) - base
    first = np.clip(-(-opens // grid), 0, slots)
    last = np.clip(closes // grid, 0, slots)
    keep = last > first
    first, last = first[keep], last[keep]
    shifts = np.asarray(calendar.shift_of, np.int64)[keep]
    steps = np.zeros(slots + 1, np.int32)
    np.add.at(steps, first, 1)
    np.add.at(steps, last, -1)
    is_open = np.cumsum(steps[:slots])
    cum = np.zeros(slots + 1, np.int32)
    np.cumsum(is_open, out=cum[1:])
    inv = np.flatnonzero(is_open).astype(np.int32)
    shift_of = np.repeat(shifts, last - first)
    begins = np.r_[True, shift_of[1:] != shift_of[:-1]] if shift_of.size else np.zeros(0, bool)
    starts = np.flatnonzero(begins)
    shift = starts[np.cumsum(begins) - 1].astype(np.int32)
    return Axis(cum, inv, shift)


def every_slot(slots: int) -> Axis:
    """The axis on which all time counts."""
    numbers = np.arange(slots + 1, dtype=np.int32)
    return Axis(numbers, numbers[:-1], np.zeros(slots, np.int32))
