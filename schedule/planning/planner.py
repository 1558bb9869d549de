"""The finite plan: constructed at once, then improved for as long as one likes.

`Search` can be stopped and gone on with, so that a caller with a clock shows progress and cancels;
`plan` runs a stated number of moves and gives the same plan every time.
"""

from collections.abc import Callable, Collection, Iterable, Mapping
from typing import Any

import numpy as np
import numpy.typing as npt

from schedule.planning.engine import columns as c
from schedule.planning.engine import search as engine
from schedule.planning.engine.arrays import Arrays, column, costs, lateness
from schedule.planning.engine.compiling import Compiled
from schedule.planning.engine.laying import lay_out
from schedule.planning.engine.layout import Objective
from schedule.planning.errors import BadProblem, BeyondCalendar, UnknownOperation
from schedule.planning.network import Problem
from schedule.planning.plans import Cost, Placement, Plan, places_of
from schedule.planning.reports import Gate, Progress, bounds_by_position, reports_by_position

Array = npt.NDArray[Any]

# How often a construction starts over with the groups that found no room in front.
ROUNDS = 12
# Heats between the first and the last of a run.
STEPS = 100
# The first heat in mean excess of a group over its least cost, and the last in the first.
HOT, COLD = 0.2, 0.01


class Search:
    """A plan in the making.

    problem, now : the question [min]
    seed : equal seeds give equal plans
    progress, gates : from the floor
    previous : a plan to start from and, by the objective, to stay near
    frozen : keys that stay as `previous` has them
    pinned : starts set by a person, by key [min]
    objective : what is minimised
    compiled : False runs the same search as plain Python, some hundred times slower
    raises : BadProblem, BeyondCalendar, UnknownOperation, and as the passes do
    """

    def __init__(
        self,
        problem: Problem,
        *,
        now: int,
        seed: int = 0,
        progress: Iterable[Progress] = (),
        gates: Iterable[Gate] = (),
        previous: Plan | None = None,
        frozen: Collection[str] = (),
        pinned: Mapping[str, int] | None = None,
        objective: Objective | None = None,
        compiled: bool = True,
    ) -> None:
        self.problem, self.now, self.seed = problem, now, seed
        self.objective = objective or Objective()
        self.compiled = compiled
        self.moves = 0
        starts = dict(previous.starts) if previous else {}
        held = _held(problem, previous, frozen, pinned or {})
        self.layout = lay_out(
            problem,
            now=now,
            reported=reports_by_position(problem, progress, now),
            bounds=bounds_by_position(problem, now, gates),
            pinned=held,
            previous=starts,
            objective=self.objective,
        )
        self.arrays: Arrays = self.layout.arrays(seed)
        count, routes = self.layout.movable, len(problem.routes)
        self.best: Array = np.zeros(count, np.int64)
        self.best_late: Array = np.zeros(routes, np.int64)
        self.lowest = -1
        self._construct()
        self._restore(self.best, self.best_late)
        self.cost = self.lowest
        self.options = self._options()
        self.hot = self._hot()

    def run(self, moves: int, *, begin: float = 0.0, end: float = 1.0) -> int:
        """Try so many moves, cooling over a part of the whole.

        moves : how many
        begin, end : how far the whole search is before and after, 0 to 1 [-]
        returns : the lowest cost so far
        """
        if self.layout.movable == 0:
            return self.lowest
        improve = self._call(engine.improve)
        for step in range(STEPS):
            share = moves * (step + 1) // STEPS - moves * step // STEPS
            if share == 0:
                continue
            at = begin + (end - begin) * step / STEPS
            heat = max(1, round(self.hot * COLD**at))
            self.cost, self.lowest = improve(
                *self.arrays,
                self.options,
                share,
                heat,
                self.cost,
                self.lowest,
                self.best,
                self.best_late,
            )
        self.moves += moves
        return self.lowest

    def plan(self) -> Plan:
        """The best plan so far."""
        starts, finishes = self.layout.dates(self.best)
        places = places_of(self.problem, starts, finishes)
        placements = tuple(
            Placement(
                operation.key, places[i], starts[i], finishes[i], self.layout.fixed[i] is not None
            )
            for i, operation in enumerate(self.problem.operations)
        )
        lateness = [0] * len(self.problem.routes)
        for operation, finish in zip(self.problem.operations, finishes, strict=True):
            due = self.problem.routes[operation.route].due
            due = due if operation.due is None else min(due, operation.due)
            lateness[operation.route] = max(lateness[operation.route], finish - due)
        return Plan(placements, tuple(lateness), self._cost(), self.seed, self.moves)

    def _call(self, function: Compiled[..., Any]) -> Callable[..., Any]:
        return function.fast if self.compiled else function

    def _construct(self) -> None:
        """The best of several rules for who is placed first."""
        latest = np.zeros(self.layout.movable, np.int64)
        self._call(engine.latest_starts)(*self.arrays, latest)
        head = self.layout.ops[: self.layout.movable, c.HEAD]
        construct = self._call(engine.construct)
        for keys in (latest, (latest + head) // 2, (3 * latest + head) // 4):
            slots, late = np.zeros_like(self.best), np.zeros_like(self.best_late)
            cost = construct(*self.layout.arrays(self.seed), keys.copy(), ROUNDS, slots, late)
            if cost < 0:
                raise self._too_short()
            if self.lowest < 0 or cost < self.lowest:
                self.lowest, self.best, self.best_late = cost, slots, late

    def _restore(self, slots: Array, late: Array) -> None:
        """Put everything where a kept plan has it."""
        self.arrays = self.layout.arrays(self.seed)
        lateness(self.arrays, len(self.problem.routes))[:] = late
        self._call(engine.restore)(*self.arrays, slots)

    def _options(self) -> Array:
        count = self.layout.movable
        late = lateness(self.arrays, len(self.problem.routes))
        options = np.zeros(c.OPTIONS, np.int64)
        options[c.MOST_GROUPS] = min(8, max(len(costs(self.arrays)), 1))
        # The more is late, the more is to be gained by shifting whole groups about.
        options[c.FULL] = 20 + 40 * int((late > 0).sum()) // max(len(late), 1)
        options[c.ROW] = 30
        options[c.MIXED_EARLY] = 50
        options[c.KIN] = 50
        rows = self.layout.ops[:count]
        wanted = rows[:, c.DUE] + late[rows[:, c.ROUTE]]
        spread = int((wanted - column(self.arrays.state, count, c.START)).mean()) if count else 1
        for k, part in enumerate((20, 7, 2)):
            options[c.SPREAD + k] = max(1, spread // part)
        return options

    def _hot(self) -> float:
        """The first heat: a share of what a group costs above its least, on average."""
        layout = self.layout
        least = int(layout.ops[: layout.movable, c.TAIL].sum()) * self.objective.stock
        least += int((layout.weights * layout.overdue).sum()) * self.objective.late
        return max(1.0, HOT * (self.lowest - least) / max(len(costs(self.arrays)), 1))

    def _cost(self) -> Cost:
        layout, rules = self.layout, self.objective
        rows = layout.ops[: layout.movable]
        starts = layout.times(self.best)
        late = int((layout.weights * self.best_late).sum())
        stock = int((rows[:, c.DUE] + self.best_late[rows[:, c.ROUTE]] - starts).sum())
        previous = rows[:, c.PREVIOUS]
        move = int(np.abs(starts - previous)[previous >= 0].sum())
        total = rules.late * late + rules.stock * stock + rules.move * move
        return Cost(late, stock, move, total, layout.grid)

    def _too_short(self) -> BeyondCalendar:
        used = {o.calendar for o in self.problem.operations if o.calendar is not None}
        shortest = min((self.problem.calendars[k] for k in used), key=lambda w: w.ends)
        return BeyondCalendar(shortest.name, shortest.ends + 1, shortest.begins, shortest.ends)


def plan(
    problem: Problem,
    *,
    now: int,
    seed: int,
    iterations: int,
    previous: Plan | None = None,
    frozen: Collection[str] = (),
    pinned: Mapping[str, int] | None = None,
    progress: Iterable[Progress] = (),
    gates: Iterable[Gate] = (),
    objective: Objective | None = None,
    compiled: bool = True,
) -> Plan:
    """A finite plan of the whole works; the same for the same seed and iterations.

    problem, now : the question [min]
    seed : of the search's dice
    iterations : moves of the search; 0 gives the constructed plan
    previous : a plan to start from
    frozen : keys that stay as `previous` has them
    pinned : starts set by a person, by key [min]
    progress, gates : from the floor
    objective : what is minimised; lateness, then stock, by default
    compiled : False runs it as plain Python
    returns : the plan
    raises : as `Search`
    """
    search = Search(
        problem,
        now=now,
        seed=seed,
        progress=progress,
        gates=gates,
        previous=previous,
        frozen=frozen,
        pinned=pinned,
        objective=objective,
        compiled=compiled,
    )
    search.run(iterations)
    return search.plan()


def _held(
    problem: Problem,
    previous: Plan | None,
    frozen: Collection[str],
    pinned: Mapping[str, int],
) -> dict[str, int]:
    """Starts that do not move."""
    held: dict[str, int] = {}
    for key in frozen:
        if key not in problem.position:
            raise UnknownOperation(key, "frozen period")
        if previous is None:
            raise BadProblem(key, "it is to stay where the previous plan has it; give that plan.")
        held[key] = previous.placement(key).start
    for key, at in pinned.items():
        if key not in problem.position:
            raise UnknownOperation(key, "pin")
        held[key] = at
    return held
