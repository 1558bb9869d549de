"""Both passes over the whole works at once: levels of operations as arrays, calendars as tables.

Gives the dates of the plain passes, many times faster where there are many operations. Longest
lags, gates and work that may not be left overnight need a closer eye and stay with `passes`.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import gcd
from typing import Any

import numpy as np
import numpy.typing as npt

from schedule.planning.calendars import WorkingTime
from schedule.planning.errors import BadProblem, BeyondCalendar
from schedule.planning.network import Problem
from schedule.planning.passes import as_reported
from schedule.planning.reports import Progress, reports_by_position

Array = npt.NDArray[Any]

# Minutes beyond every calendar; a date that reaches it has run off the end.
FAR = 1 << 40


@dataclass(frozen=True)
class Dates:
    """Earliest and latest dates of every operation, in the problem's order [min].

    earliest_start, earliest_finish, latest_start, latest_finish : (n,)
    total_float : (n,) minutes of the operation's own kind from earliest to latest finish
    """

    earliest_start: Array
    earliest_finish: Array
    latest_start: Array
    latest_finish: Array
    total_float: Array


class _Tables:
    """Calendars on a grid, one after another, each from its own first slot.

    worked : working slots before each slot; slots : the slot of each working slot
    worked_at, slots_at : by calendar, what to add to a slot, and to a number of working slots
    """

    def __init__(self, calendars: Sequence[WorkingTime], grid: int) -> None:
        worked: list[Array] = []
        slots: list[Array] = []
        worked_at: list[int] = []
        slots_at: list[int] = []
        for calendar in calendars:
            begin, end = calendar.begins // grid, calendar.ends // grid
            steps = np.zeros(end - begin + 1, np.int64)
            np.add.at(steps, np.asarray(calendar.opens) // grid - begin, 1)
            np.add.at(steps, np.asarray(calendar.closes) // grid - begin, -1)
            is_open = np.cumsum(steps)[:-1]
            worked_at.append(sum(len(part) for part in worked) - begin)
            slots_at.append(sum(len(part) for part in slots))
            worked.append(np.r_[0, np.cumsum(is_open)])
            slots.append(np.flatnonzero(is_open) + begin)
        self.worked: Array = np.concatenate([*worked, [0]]).astype(np.int64)
        self.slots: Array = np.concatenate([*slots, [0]]).astype(np.int64)
        self.worked_at, self.slots_at = np.array([*worked_at, 0]), np.array([*slots_at, 0])


@lru_cache(maxsize=16)
def _tables(versions: tuple[str, ...], calendars: tuple[WorkingTime, ...], grid: int) -> _Tables:
    return _Tables(calendars, grid)


class Sweep:
    """A problem made ready for sweeping; sorting into levels costs more than a pass, so keep it.

    problem : with at least one route; without longest lags or work that may not be left
    raises : BadProblem
    """

    def __init__(self, problem: Problem) -> None:
        if problem.max_lags:
            raise BadProblem("Sweep", "longest lags are for the passes over one order")
        if not all(operation.splits for operation in problem.operations):
            raise BadProblem("Sweep", "work that may not be left is for the passes over one order")
        if not problem.routes:
            raise BadProblem("Problem", "no route gives a due date; name at least one route")
        self.problem = problem
        operations = problem.operations
        self.minutes = np.array([operation.minutes for operation in operations], np.int64)
        # The last calendar's tables are followed by a dummy that elapsed operations point to.
        none = len(problem.calendars)
        self.calendar = np.array(
            [none if o.calendar is None else o.calendar for o in operations], np.int64
        )
        self.release = np.array(
            [max((b.at for b in o.not_before), default=-FAR) for o in operations], np.int64
        )
        dues = np.array([route.due for route in problem.routes], np.int64)
        own = np.array([FAR if o.due is None else o.due for o in operations], np.int64)
        self.due = np.minimum(dues[[o.route for o in operations]], own)
        self.grid = self._grid()
        self._ready: dict[int, tuple[_Direction, _Direction]] = {}

    def _grid(self) -> int:
        """Minutes of a slot that divides every length, lag, date and opening."""
        found = 0
        for calendar in self.problem.calendars:
            for edge in (*calendar.opens, *calendar.closes, calendar.begins, calendar.ends):
                found = gcd(found, edge)
        for values in (self.minutes, self.release, self.due):
            near = values[np.abs(values) < FAR]
            found = gcd(found, int(np.gcd.reduce(near)) if near.size else 0)
        for link in self.problem.links:
            found = gcd(found, link.lag_minutes)
        return max(found, 1)

    def dates(self, *, now: int, progress: Iterable[Progress] = ()) -> Dates:
        """Both passes.

        now : [min]
        progress : at most one an operation
        returns : dates and floats
        raises : BeyondCalendar, and as `reports_by_position`
        """
        told = _told(self.problem, progress, now)
        grid = gcd(self.grid, now)
        for report, (start, finish) in told.values():
            grid = gcd(grid, gcd(gcd(start, finish), report.remaining or 0))
        ahead, back = self._directions(max(grid, 1))
        starts, finishes = ahead.forward(now, told)
        latest, due = back.backward(told)
        calendars = self.problem.calendars
        spare = due - finishes
        if calendars:
            tables = ahead.tables
            at = tables.worked_at[self.calendar]
            worked = tables.worked.take(at + due // grid, mode="clip")
            worked -= tables.worked.take(at + finishes // grid, mode="clip")
            spare = np.where(self.calendar < len(calendars), worked * grid, spare)
        return Dates(starts, finishes, latest, due, spare)

    def _directions(self, grid: int) -> "tuple[_Direction, _Direction]":
        """Both directions on a grid, made once."""
        if grid not in self._ready:
            problem = self.problem
            tables = _tables(tuple(c.version for c in problem.calendars), problem.calendars, grid)
            self._ready[grid] = (
                _Direction(self, tables, grid, problem.topological, problem.before),
                _Direction(self, tables, grid, problem.topological[::-1], problem.after),
            )
        return self._ready[grid]


Told = dict[int, tuple[Progress, tuple[int, int]]]


def _told(problem: Problem, progress: Iterable[Progress], now: int) -> Told:
    """Reports by position, with the times they give."""
    reports = tuple(progress)
    if not reports:
        return {}
    found = {}
    for i, report in enumerate(reports_by_position(problem, reports, now)):
        if report is not None:
            times = as_reported(problem.operations[i], problem.calendars, report, now, now)
            found[i] = (report, times)
    return found


@dataclass(frozen=True)
class _Level:
    """Operations that wait only for those of levels before; the ones with links stand in front.

    first, linked, last : places in level order
    others, lags, at : the links' other ends and lags, and where each operation's links begin
    working : some keep a calendar
    elapsed, idle : places of those that keep none, and of those that take no time
    """

    first: int
    linked: int
    last: int
    others: Array
    lags: Array
    at: Array
    working: bool
    elapsed: Array
    idle: Array


class _Direction:
    """Operations in level order, and the pass that goes that way."""

    def __init__(
        self,
        sweep: Sweep,
        tables: _Tables,
        grid: int,
        topological: Sequence[int],
        neighbours: Sequence[Sequence[tuple[int, int]]],
    ) -> None:
        self.sweep, self.tables, self.grid = sweep, tables, grid
        depth = [0] * len(topological)
        for i in topological:
            for b, _ in neighbours[i]:
                if depth[b] >= depth[i]:
                    depth[i] = depth[b] + 1
        keyed = sorted(range(len(depth)), key=lambda i: (depth[i], not neighbours[i], i))
        self.order = np.array(keyed, np.int64)
        self.rank = np.empty_like(self.order)
        self.rank[self.order] = np.arange(len(keyed))
        kept = sweep.calendar[self.order]
        self.work = sweep.minutes[self.order] // grid
        self.worked_at, self.slots_at = tables.worked_at[kept], tables.slots_at[kept]
        # What to add to a number of working slots to reach the last one of the work.
        self.last_at = self.slots_at + self.work - 1
        self.levels: list[_Level] = []
        working = kept < len(sweep.problem.calendars)
        first = 0
        while first < len(keyed):
            last = first
            while last < len(keyed) and depth[keyed[last]] == depth[keyed[first]]:
                last += 1
            linked = [i for i in keyed[first:last] if neighbours[i]]
            flat = [pair for i in linked for pair in neighbours[i]]
            counts = [len(neighbours[i]) for i in linked]
            self.levels.append(
                _Level(
                    first=first,
                    linked=first + len(linked),
                    last=last,
                    others=self.rank[[b for b, _ in flat]],
                    lags=np.array([lag for _, lag in flat], np.int64) // grid,
                    at=np.r_[0, np.cumsum(counts)[:-1]].astype(np.int64),
                    working=bool(working[first:last].any()),
                    elapsed=np.flatnonzero(~working[first:last]) + first,
                    idle=np.flatnonzero(self.work[first:last] == 0) + first,
                )
            )
            first = last

    def forward(self, now: int, told: Told) -> tuple[Array, Array]:
        """Earliest starts and finishes [min]."""
        grid, work = self.grid, self.work
        ready = np.maximum(self.sweep.release[self.order], now) // grid
        starts, finishes = np.empty_like(ready), np.empty_like(ready)
        worked, slots = self.tables.worked, self.tables.slots
        places = self._places(told)
        for level in self.levels:
            f, k, e = level.first, level.linked, level.last
            if k > f:
                bound = finishes.take(level.others)
                bound += level.lags
                np.maximum(ready[f:k], np.maximum.reduceat(bound, level.at), out=ready[f:k])
            if level.working:
                at = worked.take(self.worked_at[f:e] + ready[f:e], mode="clip")
                slots.take(at + self.slots_at[f:e], mode="clip", out=starts[f:e])
                at += self.last_at[f:e]
                np.add(slots.take(at, mode="clip"), 1, out=finishes[f:e])
            if level.elapsed.size:
                starts[level.elapsed] = passing = ready[level.elapsed]
                finishes[level.elapsed] = passing + work[level.elapsed]
            if level.idle.size:
                starts[level.idle] = finishes[level.idle] = ready[level.idle]
            for place, i in places.get(f, ()):
                self._as_told(place, i, told[i], ready, starts, finishes)
        odd = (starts < ready) | (finishes - starts < work)
        odd[self.rank[list(told)]] = False  # what is reported may have been quicker
        self._refuse(odd, early=False)
        return starts[self.rank] * grid, finishes[self.rank] * grid

    def backward(self, told: Told) -> tuple[Array, Array]:
        """Latest starts and finishes [min]."""
        grid, work = self.grid, self.work
        if told:
            work = work.copy()
            for i, (report, _) in told.items():
                if report.finished is None and report.remaining is not None:
                    work[self.rank[i]] = report.remaining // grid
        until = self.sweep.due[self.order] // grid
        starts, finishes = np.empty_like(until), np.empty_like(until)
        worked, slots = self.tables.worked, self.tables.slots
        for level in self.levels:
            f, k, e = level.first, level.linked, level.last
            if k > f:
                bound = starts.take(level.others)
                bound -= level.lags
                np.minimum(until[f:k], np.minimum.reduceat(bound, level.at), out=until[f:k])
            if level.working:
                at = worked.take(self.worked_at[f:e] + until[f:e], mode="clip")
                at += self.slots_at[f:e]
                slots.take(at - work[f:e], mode="clip", out=starts[f:e])
                at -= 1
                np.add(slots.take(at, mode="clip"), 1, out=finishes[f:e])
            if level.elapsed.size:
                finishes[level.elapsed] = passing = until[level.elapsed]
                starts[level.elapsed] = passing - work[level.elapsed]
            idle = level.idle if not told else np.flatnonzero(work[f:e] == 0) + f
            if idle.size:
                starts[idle] = finishes[idle] = until[idle]
        self._refuse((finishes > until) | (finishes - starts < work), early=True)
        return starts[self.rank] * grid, finishes[self.rank] * grid

    def _places(self, told: Told) -> dict[int, list[tuple[int, int]]]:
        """Reported operations, place and position, by the first place of their level."""
        firsts = np.array([level.first for level in self.levels])
        found: dict[int, list[tuple[int, int]]] = {}
        for i in told:
            place = int(self.rank[i])
            first = int(firsts[np.searchsorted(firsts, place, side="right") - 1])
            found.setdefault(first, []).append((place, i))
        return found

    def _as_told(
        self,
        place: int,
        i: int,
        told: tuple[Progress, tuple[int, int]],
        ready: Array,
        starts: Array,
        finishes: Array,
    ) -> None:
        """What has been said goes before what was planned, as in the plain pass."""
        report, (start, finish) = told
        problem, at = self.sweep.problem, int(ready[place]) * self.grid
        if report.started is None and report.expected is None:
            start, finish = as_reported(problem.operations[i], problem.calendars, report, at, at)
        elif report.started is None:
            start = min(at, finish)
        elif report.finished is None:
            for b, _ in problem.before[i]:
                finish = max(finish, int(finishes[self.rank[b]]) * self.grid)
        starts[place], finishes[place] = start // self.grid, finish // self.grid

    def _refuse(self, odd: Array, *, early: bool) -> None:
        """Dates read beyond a calendar's own part of the tables do not fit together."""
        calendars = self.sweep.problem.calendars
        kept = self.sweep.calendar[self.order]
        wrong = np.flatnonzero(odd & (kept < len(calendars)))
        if wrong.size:
            calendar = calendars[int(kept[wrong[0]])]
            at = calendar.begins - 1 if early else calendar.ends + 1
            raise BeyondCalendar(calendar.name, at, calendar.begins, calendar.ends)


def cpm(problem: Problem, *, now: int, progress: Iterable[Progress] = ()) -> Dates:
    """Both passes over the whole works in one sweep; keep a `Sweep` to do it often.

    problem, now, progress : as of `Sweep`
    returns : dates and floats
    raises : as `Sweep` and `Sweep.dates`
    """
    return Sweep(problem).dates(now=now, progress=progress)
