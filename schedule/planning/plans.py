"""A finite plan of the whole works: every operation at a place and a time, and what it costs."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from schedule.planning.engine.layout import Objective
from schedule.planning.errors import UnknownOperation
from schedule.planning.network import Problem


@dataclass(frozen=True)
class Placement:
    """Where a plan puts an operation.

    place : number of the place at its work centre, from 0
    start, finish : [min]
    fixed : it was begun, finished or pinned, and the plan took it as it was
    """

    operation: str
    place: int
    start: int
    finish: int
    fixed: bool


@dataclass(frozen=True)
class Cost:
    """What a plan costs, in the objective's own measure: slots of so many minutes.

    late : weighted lateness, slots times weight
    stock : slots between starts and the finish of their routes
    move : slots away from the plan to stay near
    total : the weighted sum
    slot_minutes : length of a slot [min]
    """

    late: int
    stock: int
    move: int
    total: int
    slot_minutes: int


@dataclass(frozen=True)
class Plan:
    """Placements in the order of the problem's operations, lateness by route, and the cost.

    lateness : minutes after its due date, by route, 0 when in time [min]
    seed, moves : what it was searched with
    """

    placements: tuple[Placement, ...]
    lateness: tuple[int, ...]
    cost: Cost
    seed: int = 0
    moves: int = 0
    _by_key: dict[str, Placement] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_by_key", {p.operation: p for p in self.placements})

    def placement(self, key: str) -> Placement:
        """Where an operation is put.

        raises : UnknownOperation
        """
        if key not in self._by_key:
            raise UnknownOperation(key, "plan")
        return self._by_key[key]

    @cached_property
    def starts(self) -> Mapping[str, int]:
        """Starts by key [min]."""
        return {placement.operation: placement.start for placement in self.placements}


def places_of(problem: Problem, starts: list[int], finishes: list[int]) -> list[int]:
    """A place number for each operation at a work centre: the lowest that is free at its start.

    Work that overlaps more than there are places (as reported) goes to the place free soonest.
    """
    numbers = [0] * len(starts)
    at: dict[int, list[int]] = {}
    for i, operation in enumerate(problem.operations):
        if operation.work_centre is not None and finishes[i] > starts[i]:
            at.setdefault(operation.work_centre, []).append(i)
    for centre, members in at.items():
        free = [starts[members[0]]] * problem.work_centres[centre].places
        batches: dict[str, int] = {}
        for i in sorted(members, key=lambda i: (starts[i], finishes[i], i)):
            batch = problem.operations[i].batch
            if batch in batches:
                numbers[i] = batches[batch]
                continue
            open_ = [k for k, until in enumerate(free) if until <= starts[i]]
            number = open_[0] if open_ else min(range(len(free)), key=lambda k: (free[k], k))
            numbers[i] = number
            free[number] = finishes[i]
            if batch:
                batches[batch] = number
    return numbers


__all__ = ["Cost", "Objective", "Placement", "Plan", "places_of"]
