"""A problem in the search's arrays, and the way back to dates."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from schedule.planning.engine import columns as c
from schedule.planning.engine.arrays import Arrays
from schedule.planning.network import Problem

Array = npt.NDArray[Any]


@dataclass(frozen=True, kw_only=True)
class Objective:
    """What a plan minimises, in order of weight.

    late : a slot late, times the route's weight
    stock : a slot between an operation's start and its route's finish
    move : a slot between an operation's start and the plan it should stay near
    """

    late: int = 500
    stock: int = 1
    move: int = 0


@dataclass(frozen=True)
class Layout:
    """A problem in slots from now.

    now : from which work goes on [min]
    base, grid : minute of slot 0 and length of a slot [min]
    facts, table : what stays
    ops : (rows, HEADER + OPS) the operations' rows, movable ones first
    start : the state in which only what is fixed has a place
    taken : the places it takes
    movable : how many rows move
    members : for each movable row, the positions of its operations (several in a batch)
    fixed : for each position, start and finish in minutes when it does not move, else None
    overdue, weights : by route, lateness that nothing can undo, and weight
    """

    problem: Problem
    now: int
    base: int
    grid: int
    facts: Array
    table: Array
    ops: Array
    start: Array
    taken: Array
    movable: int
    members: tuple[tuple[int, ...], ...]
    fixed: tuple[tuple[int, int] | None, ...]
    overdue: Array
    weights: Array

    def arrays(self, seed: int) -> Arrays:
        """Fresh arrays in which only what is fixed has a place."""
        state = self.start.copy()
        dice = (seed * 7919 + 12345) % 2147483646 + 1
        for _ in range(8):
            dice = dice * 48271 % 2147483647
        state[c.DICE] = dice
        return Arrays(self.facts, self.table, state, self.taken.copy())

    def times(self, slots: Array) -> Array:
        """Slots from now at which windows begin.

        slots : (movable,) first slots on the axes
        """
        rows = self.ops[: self.movable]
        timed = rows[:, c.DUR] > 0
        width, inv = int(self.facts[c.WIDTH]), int(self.facts[c.INV])
        return np.where(
            timed, self.table[inv + rows[:, c.AXIS] * width + np.where(timed, slots, 0)], slots
        )

    def dates(self, slots: Array) -> tuple[list[int], list[int]]:
        """Starts and finishes in minutes for every operation of the problem.

        slots : (movable,) first slots on the axes
        """
        count = len(self.problem.operations)
        starts, finishes = [0] * count, [0] * count
        for position, times in enumerate(self.fixed):
            if times is not None:
                starts[position], finishes[position] = times
        minutes = (self.base + self.times(slots) * self.grid).tolist()
        operations, calendars = self.problem.operations, self.problem.calendars
        for positions, at in zip(self.members, minutes, strict=True):
            for position in positions:
                operation = operations[position]
                if operation.calendar is None:
                    starts[position], finishes[position] = at, at + operation.minutes
                else:
                    calendar = calendars[operation.calendar]
                    starts[position], finishes[position] = calendar.fit_forward(
                        at, operation.minutes
                    )
        return starts, finishes

    def slots(self, starts: Mapping[str, int]) -> Array:
        """First slots on the axes of given starts, for every movable row; -1 where none is given.

        starts : by key [min]
        """
        found = np.full(self.movable, -1, np.int64)
        width, last = int(self.facts[c.WIDTH]), int(self.facts[c.SLOTS])
        for row, positions in enumerate(self.members):
            for position in positions:
                at = starts.get(self.problem.operations[position].key)
                if at is not None:
                    slot = min(max(0, -(-(at - self.base) // self.grid)), last)
                    if self.ops[row, c.DUR] > 0:
                        slot = int(self.table[int(self.ops[row, c.AXIS]) * width + slot])
                    found[row] = slot
        return found
