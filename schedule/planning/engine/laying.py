"""From a problem to the search's arrays."""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import numpy.typing as npt

from schedule.planning.engine import columns as c
from schedule.planning.engine.arrays import packed
from schedule.planning.engine.axes import Axis, axis_of, every_slot, grid_of
from schedule.planning.engine.layout import Layout, Objective
from schedule.planning.errors import BadProblem, BeyondCalendar
from schedule.planning.network import Operation, Problem
from schedule.planning.passes import as_reported
from schedule.planning.reports import Bounds, Progress

Array = npt.NDArray[Any]


def lay_out(
    problem: Problem,
    *,
    now: int,
    reported: Sequence[Progress | None],
    bounds: Mapping[int, Bounds],
    pinned: Mapping[str, int],
    previous: Mapping[str, int],
    objective: Objective,
) -> Layout:
    """Turn a problem into arrays.

    now : nothing movable starts before [min]
    reported : (n,) as `reports_by_position` lines them up
    bounds : as `bounds_by_position` gathers them
    pinned : starts that do not move, by key [min]
    previous : starts of the plan to stay near, by key [min]
    returns : the layout
    raises : BadProblem, BeyondCalendar
    """
    return _Laying(problem, now, reported, bounds, pinned, previous, objective).layout()


class _Laying:
    """One laying out, step by step."""

    def __init__(
        self,
        problem: Problem,
        now: int,
        reported: Sequence[Progress | None],
        bounds: Mapping[int, Bounds],
        pinned: Mapping[str, int],
        previous: Mapping[str, int],
        objective: Objective,
    ) -> None:
        if not problem.routes:
            raise BadProblem("Problem", "no route gives a due date; name at least one route")
        self.problem, self.now, self.bounds = problem, now, bounds
        self.previous, self.objective = previous, objective
        self.fixed = _fixed(problem, now, reported, pinned)
        self.reported = reported
        self.end = self._end()
        self.grid, anchor = grid_of(problem, now, self.end)
        self.base = anchor + (now - anchor) // self.grid * self.grid
        self.horizon = (self.end - self.base) // self.grid
        self._rows()
        self._axes()

    def _end(self) -> int:
        """The last minute laid out: where the first calendar ends, or where all work would."""
        used = {o.calendar for o in self.problem.operations if o.calendar is not None}
        ends = [self.problem.calendars[k].ends for k in used]
        work = sum(operation.minutes for operation in self.problem.operations)
        work += sum(link.lag_minutes for link in self.problem.links)
        dates = [
            self.now,
            *(b.at for o in self.problem.operations for b in o.not_before),
            *(times[1] for times in self.fixed if times is not None),
            *(at for bound in self.bounds.values() for at, _, _ in bound.start),
            *(bound.free for bound in self.bounds.values()),
        ]
        latest = max(dates) + work + 1
        if not ends:
            return latest
        if min(ends) <= self.now:
            calendar = min((self.problem.calendars[k] for k in used), key=lambda w: w.ends)
            raise BeyondCalendar(calendar.name, self.now, calendar.begins, calendar.ends)
        return min(ends)

    def _rows(self) -> None:
        """Group what hangs together, and give each operation its row: movable ones first."""
        problem = self.problem
        parent = list(range(len(problem.operations)))

        def root(i: int) -> int:
            while parent[i] != i:
                parent[i] = parent[parent[i]]
                i = parent[i]
            return i

        batches: dict[tuple[int | None, str], int] = {}
        leader = list(range(len(problem.operations)))
        for i, operation in enumerate(problem.operations):
            if operation.batch and self.fixed[i] is None:
                first = batches.setdefault((operation.work_centre, operation.batch), i)
                leader[i] = first
                parent[root(i)] = root(first)
        for i, after in enumerate(problem.after):
            for a, _ in after:
                parent[root(a)] = root(i)
        by_route: dict[int, int] = {}
        for i, operation in enumerate(problem.operations):
            first = by_route.setdefault(operation.route, i)
            parent[root(i)] = root(first)
        groups: dict[int, list[int]] = {}
        for i in self._in_order(leader):
            if self.fixed[i] is None and leader[i] == i:
                groups.setdefault(root(i), []).append(i)
        self.groups = list(groups.values())
        self.lead = [i for members in self.groups for i in members]
        self.row_of = [-1] * len(problem.operations)
        for row, i in enumerate(self.lead):
            self.row_of[i] = row
        members: list[list[int]] = [[] for _ in self.lead]
        tail = [i for i, times in enumerate(self.fixed) if times is not None]
        for i, times in enumerate(self.fixed):
            if times is None:
                self.row_of[i] = self.row_of[leader[i]]
                members[self.row_of[i]].append(i)
        for row, i in enumerate(tail, len(self.lead)):
            self.row_of[i] = row
        self.members = tuple(map(tuple, members))
        self.positions = self.lead + tail

    def _in_order(self, leader: list[int]) -> list[int]:
        """Topological, with every batch standing where the last of its members could."""
        if leader == list(range(len(leader))):
            return list(self.problem.topological)
        waits = [0] * len(leader)
        for i, before in enumerate(self.problem.before):
            waits[leader[i]] += sum(leader[b] != leader[i] for b, _ in before)
        followers: list[list[int]] = [[] for _ in leader]
        for i, after in enumerate(self.problem.after):
            followers[leader[i]] += [leader[a] for a, _ in after if leader[a] != leader[i]]
        ready = [i for i in self.problem.topological if leader[i] == i and waits[i] == 0]
        for i in ready:  # grows as it is walked
            for a in followers[i]:
                waits[a] -= 1
                if waits[a] == 0:
                    ready.append(a)
        if len(ready) < len(set(leader)):
            stuck = sorted(i for i in set(leader) if waits[i] > 0)
            keys = ", ".join(self.problem.operations[i].key for i in stuck[:5])
            raise BadProblem(keys, "a batch would have to wait for itself; part it.")
        return ready

    def _axes(self) -> None:
        used = sorted({o.calendar for o in self.problem.operations if o.calendar is not None})
        self.axis_of = {k: number for number, k in enumerate(used)}
        self.axes: list[Axis] = [
            axis_of(self.problem.calendars[k], self.base, self.grid, self.horizon) for k in used
        ]
        self.axes.append(every_slot(self.horizon))
        self.cum = np.stack([axis.cum for axis in self.axes])
        self.inv = np.full(self.cum.shape, self.horizon, np.int32)
        self.shift = np.zeros(self.cum.shape, np.int32)
        for number, axis in enumerate(self.axes):
            self.inv[number, : len(axis.inv)] = axis.inv
            self.shift[number, : len(axis.shift)] = axis.shift
        self.sizes = np.array([len(axis.inv) for axis in self.axes], np.int64)

    def _slot(self, minute: int) -> int:
        """The slot that begins at or after a minute."""
        return -(-(minute - self.base) // self.grid)

    def _due(self, operation: Operation) -> int:
        due = self.problem.routes[operation.route].due
        if operation.due is not None:
            due = min(due, operation.due)
        return (due - self.base) // self.grid

    def layout(self) -> Layout:
        """Fill the arrays."""
        problem, rows = self.problem, len(self.positions)
        ops = np.zeros((rows, c.HEADER + c.OPS), np.int64)
        centre_base, taken_size = self._places()
        families: dict[str, int] = {"": 0}
        needs: list[tuple[int, int, int]] = []
        for row, i in enumerate(self.positions):
            operation = problem.operations[i]
            together = self.members[row] if row < len(self.lead) else (i,)
            axis = len(self.axes) - 1
            if operation.calendar is not None:
                axis = self.axis_of[operation.calendar]
            minutes = max(problem.operations[m].minutes for m in together)
            ops[row, c.AXIS] = axis
            ops[row, c.DUR] = -(-minutes // self.grid)
            ops[row, c.DUE] = min(self._due(problem.operations[m]) for m in together)
            ops[row, c.ROUTE] = operation.route
            ops[row, c.WHOLE] = int(not operation.splits and operation.calendar is not None)
            ops[row, c.PREVIOUS] = -1
            if operation.key in self.previous:
                ops[row, c.PREVIOUS] = max(0, self._slot(self.previous[operation.key]))
            ops[row, c.PLACE] = ops[row, c.CENTRE] = -1
            if operation.work_centre is not None:
                centre = problem.work_centres[operation.work_centre]
                ops[row, c.PLACE] = centre_base[operation.work_centre]
                ops[row, c.CENTRE] = operation.work_centre
                ops[row, c.CAP] = centre.places
                if centre.setup_minutes and operation.setup:
                    ops[row, c.FAMILY] = families.setdefault(operation.setup, len(families))
                    ops[row, c.CHANGE] = -(-centre.setup_minutes // self.grid)
            ops[row, c.N0] = len(needs)
            for m in together:
                needs += [
                    (
                        need.resource * self.horizon,
                        need.amount,
                        problem.resources[need.resource].amount,
                    )
                    for need in problem.operations[m].needs
                ]
            ops[row, c.N1] = len(needs)
        holds, hold_of = self._holds(ops)
        preds, succs = self._links(ops)
        self._heads_and_tails(ops, preds, succs)
        most = {int(row[c.OTHER]) for row in (*preds, *succs) if row[c.MOST] >= 0}
        for row in range(rows):
            special = (
                ops[row, c.WHOLE]
                or ops[row, c.FAMILY]
                or ops[row, c.N1] > ops[row, c.N0]
                or ops[row, c.H1] > ops[row, c.H0]
                or row in most
            )
            ops[row, c.PLAIN] = int(not special)
        return self._packed(
            ops, preds, succs, np.array(needs, np.int64), holds, hold_of, taken_size
        )

    def _places(self) -> tuple[list[int], int]:
        """Where each work centre's axis begins in `taken`."""
        problem, begins, size = self.problem, [], 0
        keeps: dict[int, int | None] = {}
        for operation in problem.operations:
            if operation.work_centre is not None:
                kept = keeps.setdefault(operation.work_centre, operation.calendar)
                if kept != operation.calendar:
                    key = problem.work_centres[operation.work_centre].key
                    raise BadProblem(
                        operation.key, f"operations at {key} must all keep one calendar."
                    )
        for number, centre in enumerate(problem.work_centres):
            if centre.places < 1:
                raise BadProblem(centre.key, f"it has {centre.places} places; 1 is the least.")
            if centre.setup_minutes and centre.places > 1:
                raise BadProblem(
                    centre.key, "set-ups are counted at work centres with one place; part it."
                )
            calendar = keeps.get(number)
            axis = self.axes[-1 if calendar is None else self.axis_of[calendar]]
            begins.append(size)
            size += len(axis.inv)
        return begins, size

    def _holds(self, ops: Array) -> tuple[Array, Array]:
        rows: list[tuple[int, int, int, int, int]] = []
        mine: list[list[int]] = [[] for _ in range(len(ops))]
        for held in self.problem.held:
            first = self.row_of[self.problem.position[held.first]]
            last = self.row_of[self.problem.position[held.last]]
            resource = self.problem.resources[held.resource]
            for row in {first, last}:
                mine[row].append(len(rows))
            rows.append((held.resource * self.horizon, held.amount, resource.amount, first, last))
        flat: list[int] = []
        for row, found in enumerate(mine):
            ops[row, c.H0] = len(flat)
            flat += found
            ops[row, c.H1] = len(flat)
        return np.array(rows, np.int64).reshape(-1, 5), np.array(flat, np.int64)

    def _links(self, ops: Array) -> tuple[Array, Array]:
        limits = {(b, a): most for b, a, most in self.problem.max_lags}
        tables = []
        for side, begin, end in (
            (self.problem.before, c.P0, c.P1),
            (self.problem.after, c.S0, c.S1),
        ):
            table: list[tuple[int, int, int]] = []
            for row, i in enumerate(self.positions):
                ops[row, begin] = len(table)
                together = self.members[row] if row < len(self.lead) else (i,)
                merged: dict[int, tuple[int, int]] = {}
                for m in together:
                    for other, lag in side[m]:
                        at = self.row_of[other]
                        pair = (other, m) if begin == c.P0 else (m, other)
                        limit = limits.get(pair, -1)
                        most = limit // self.grid if limit >= 0 else -1
                        slots = -(-lag // self.grid)
                        had = merged.get(at, (0, -1))
                        if had[1] >= 0 and most >= 0:
                            most = min(most, had[1])
                        merged[at] = (max(slots, had[0]), max(most, had[1]) if most < 0 else most)
                table += [(other, lag, most) for other, (lag, most) in sorted(merged.items())]
                ops[row, end] = len(table)
            tables.append(np.array(table, np.int64).reshape(-1, 3))
        return tables[0], tables[1]

    def _heads_and_tails(self, ops: Array, preds: Array, succs: Array) -> None:
        """Earliest starts without regard to room, and least times to the route's finish."""
        rows, movable = len(self.positions), len(self.lead)
        finish = np.zeros(rows, np.int64)
        self.fixed_pos = np.zeros((rows - movable, c.MARGIN + c.POS), np.int64)
        for row in range(movable, rows):
            times = self.fixed[self.positions[row]]
            assert times is not None
            start, end = self._slot(times[0]), self._slot(times[1])
            finish[row] = end
            mine = self.fixed_pos[row - movable]
            mine[c.SLOT] = mine[c.START] = start
            mine[c.FINISH], mine[c.PLACED], mine[c.ENDCAP] = end, 1, c.NEVER
            ops[row, c.HEAD] = start
        first = max(0, self._slot(self.now))
        for row in range(movable):
            head = first
            for m in self.members[row]:
                for at, _, _ in self.bounds[m].start if m in self.bounds else ():
                    head = max(head, self._slot(at))
                for b, _ in self.problem.before[m]:
                    if b in self.bounds:
                        head = max(head, self._slot(max(self.bounds[b].free, self.now)))
                        head = max(head, self._slot(max(self.bounds[b].finish, self.now)))
            for e in range(ops[row, c.P0], ops[row, c.P1]):
                head = max(head, int(finish[preds[e, c.OTHER]] + preds[e, c.LAG]))
            axis, dur = int(ops[row, c.AXIS]), int(ops[row, c.DUR])
            slot = int(self.cum[axis, min(head, self.horizon)])
            if head > self.horizon or (dur and slot + dur > self.sizes[axis]):
                self._beyond(row)
            if dur:
                head = int(self.inv[axis, slot])
                finish[row] = self.inv[axis, slot + dur - 1] + 1
            else:
                finish[row] = head
            ops[row, c.HEAD] = head
        self.earliest_finish = finish
        for row in range(movable - 1, -1, -1):
            dur = int(ops[row, c.DUR])
            least = dur
            for e in range(ops[row, c.S0], ops[row, c.S1]):
                other = int(succs[e, c.OTHER])
                same = ops[other, c.ROUTE] == ops[row, c.ROUTE]
                if other < movable and same and ops[other, c.DUE] <= ops[row, c.DUE]:
                    least = max(least, int(ops[other, c.TAIL] + succs[e, c.LAG]) + dur)
            ops[row, c.TAIL] = least

    def _beyond(self, row: int) -> None:
        operation = self.problem.operations[self.positions[row]]
        name = (
            "of days"
            if operation.calendar is None
            else (self.problem.calendars[operation.calendar].name)
        )
        raise BeyondCalendar(name, self.end + 1, self.base, self.end)

    def _packed(
        self,
        ops: Array,
        preds: Array,
        succs: Array,
        needs: Array,
        holds: Array,
        hold_of: Array,
        taken_size: int,
    ) -> Layout:
        """Everything in its place in the flat arrays."""
        problem, movable, rows = self.problem, len(self.lead), len(self.positions)
        routes, groups = len(problem.routes), len(self.groups)
        used_size = len(problem.resources) * self.horizon
        late_at = c.MARGIN + rows * c.POS
        cost_at = late_at + routes
        used_at = cost_at + groups
        doing_at = used_at + used_size
        needs = needs.reshape(-1, c.NEED)
        needs[:, c.BASE] += used_at
        holds[:, c.BASE] += used_at
        # Where links, needs and holds begin is known before they are laid one after another.
        at = c.HEADER + rows * c.OPS
        for begin, end, table, step in (
            (c.P0, c.P1, preds, c.LINK),
            (c.S0, c.S1, succs, c.LINK),
            (c.N0, c.N1, needs, c.NEED),
        ):
            ops[:, begin] = at + ops[:, begin] * step
            ops[:, end] = at + ops[:, end] * step
            at += table.size
        hold_of = at + hold_of * c.HOLD
        at += holds.size
        ops[:, c.H0] += at
        ops[:, c.H1] += at

        sizes = [len(members) for members in self.groups]
        group_at = np.r_[0, np.cumsum(sizes)].astype(np.int64)
        overdue = np.zeros(routes, np.int64)
        np.maximum.at(overdue, ops[:, c.ROUTE], self.earliest_finish - ops[:, c.DUE])
        special, dues, route_at = [], [], [0]
        route_of: list[int] = []
        for first, last in pairwise(group_at):
            mine = ops[first:last]
            special.append(int((mine[:, c.PLAIN] == 0).any()))
            dues.append(int(mine[:, c.DUE].min()))
            route_of += np.unique(mine[:, c.ROUTE]).tolist()
            route_at.append(len(route_of))
        by_due = np.argsort(np.array(dues, np.int64), kind="stable")
        centres = ops[:movable, c.CENTRE]
        counts = np.bincount(centres[centres >= 0], minlength=len(problem.work_centres))
        weights = np.array([route.weight for route in problem.routes], np.int64)
        chances = (np.arange(1024) + 0.5) / 1024
        parts = {
            c.HEADER - 1: preds,
            c.HEADER - 2: succs,
            c.HEADER - 3: needs,
            c.HEADER - 4: holds,
            c.HEADER - 5: hold_of,
            c.SIZES: self.sizes,
            c.GROUP_AT: group_at,
            c.SPECIAL: np.array(special, np.int64),
            c.ROUTE_AT: np.array(route_at, np.int64),
            c.ROUTE_OF: np.array(route_of, np.int64),
            c.WEIGHT: weights,
            c.OVERDUE: overdue,
            c.BY_DUE: by_due,
            c.RANK: np.argsort(by_due, kind="stable"),
            c.AT_CENTRE: np.argsort(centres, kind="stable")[int((centres < 0).sum()) :],
            c.CENTRE_AT: np.r_[0, np.cumsum(counts)],
            c.LOG: np.rint(-np.log(chances) * 4096),
        }
        size = self.cum.size
        header = {
            c.MOVABLE: movable,
            c.GROUPS: groups,
            c.SLOTS: self.horizon,
            c.WIDTH: self.cum.shape[1],
            c.INV: size,
            c.SHIFT: 2 * size,
            c.LATE_AT: late_at,
            c.COST_AT: cost_at,
            c.DOING: doing_at,
            c.LATE: self.objective.late,
            c.STOCK: self.objective.stock,
            c.MOVE: self.objective.move,
        }
        setups = bool((ops[:, c.FAMILY] > 0).any())
        state = np.zeros(doing_at + (taken_size if setups else 0), np.int64)
        state[c.WHO] = -1
        state[late_at:cost_at] = overdue
        wide = np.zeros((rows, c.MARGIN + c.POS), np.int64)
        wide[:, c.ENDCAP] = c.NEVER
        wide[movable:] = self.fixed_pos
        state[c.MARGIN : late_at] = wide[:, c.MARGIN :].ravel()
        taken = np.zeros(max(taken_size, 1), np.int16)
        self._occupy(ops, needs, holds, wide, state, taken, doing_at if setups else -1)
        return Layout(
            problem=problem,
            now=self.now,
            base=self.base,
            grid=self.grid,
            facts=packed(header, ops, parts),
            table=np.concatenate([self.cum.ravel(), self.inv.ravel(), self.shift.ravel()]),
            ops=ops,
            start=state,
            taken=taken,
            movable=movable,
            members=self.members,
            fixed=tuple(self.fixed),
            overdue=overdue,
            weights=weights,
        )

    def _occupy(
        self,
        ops: Array,
        needs: Array,
        holds: Array,
        wide: Array,
        state: Array,
        taken: Array,
        doing_at: int,
    ) -> None:
        """Fixed work still to be done keeps its place, whatever else stands there."""
        movable = len(self.lead)
        first_need = int(ops[0, c.N0]) if len(ops) else 0
        for row in range(movable, len(self.positions)):
            report = self.reported[self.positions[row]]
            if report is not None and report.finished is not None:
                continue
            start = int(np.clip(wide[row, c.START], 0, self.horizon))
            finish = int(np.clip(wide[row, c.FINISH], 0, self.horizon))
            base, axis = int(ops[row, c.PLACE]), int(ops[row, c.AXIS])
            if base >= 0:
                begin, end = base + int(self.cum[axis, start]), base + int(self.cum[axis, finish])
                taken[begin:end] += 1
                if ops[row, c.FAMILY]:
                    state[doing_at + begin : doing_at + end] = ops[row, c.FAMILY]
            for n in range(int(ops[row, c.N0]), int(ops[row, c.N1]), c.NEED):
                need = needs[(n - first_need) // c.NEED]
                state[need[c.BASE] + start : need[c.BASE] + finish] += need[c.AMOUNT]
        for base, amount, _, first, last in holds:
            if first >= movable and last >= movable:
                start = int(np.clip(wide[first, c.START], 0, self.horizon))
                finish = int(np.clip(wide[last, c.FINISH], 0, self.horizon))
                state[base + start : base + finish] += amount


def _fixed(
    problem: Problem,
    now: int,
    reported: Sequence[Progress | None],
    pinned: Mapping[str, int],
) -> list[tuple[int, int] | None]:
    """Start and finish of what does not move: reported or pinned."""
    fixed: list[tuple[int, int] | None] = []
    for operation, report in zip(problem.operations, reported, strict=True):
        at = pinned.get(operation.key)
        if report is not None and (report.started is not None or report.expected is not None):
            fixed.append(as_reported(operation, problem.calendars, report, now, now))
        elif at is not None:
            if operation.calendar is None:
                fixed.append((at, at + operation.minutes))
            else:
                calendar = problem.calendars[operation.calendar]
                fixed.append(
                    calendar.fit_forward(at, operation.minutes, whole=not operation.splits)
                )
        else:
            fixed.append(None)
    return fixed
