"""Where an order stands: both passes, floats, days in hand, and the chain that binds."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from schedule.planning.calendars import DAY_MINUTES
from schedule.planning.errors import MissingCalendar, UnknownOperation
from schedule.planning.network import Cause, Operation, Problem
from schedule.planning.passes import Backward, Forward, backward_of, forward_of
from schedule.planning.reports import Gate, Progress, reports_by_position


@dataclass(frozen=True)
class Bind:
    """One operation of the binding chain.

    operation : key
    start, finish : forecast, or as reported [min]
    cause : what kept it from starting earlier
    by : key of the predecessor, when that is the cause
    note : the hold, arrival or gate, in words
    waited : from the cause to the start, because its place was closed [min]
    """

    operation: str
    start: int
    finish: int
    cause: Cause
    by: str | None
    note: str
    waited: int


@dataclass(frozen=True)
class DaysInHand:
    """Time between forecast and due, negative when late, and which days are meant."""

    days: float
    unit: str

    def __str__(self) -> str:
        return f"{self.days:.1f} {self.unit}"


@dataclass(frozen=True)
class Row:
    """One operation's dates for a page; floats are None once it is finished [min]."""

    operation: Operation
    earliest_start: int
    earliest_finish: int
    latest_start: int
    latest_finish: int
    total_float: int | None
    free_float: int | None
    started: bool
    finished: bool


@dataclass(frozen=True)
class Forecast:
    """Both passes of one order and what follows from them.

    now : when the forecast was made [min]
    reported : (n,) what has been said on each operation
    days_calendar : whose working days the days in hand are counted in; None for days that pass
    """

    problem: Problem
    now: int
    ahead: Forward
    back: Backward
    reported: tuple[Progress | None, ...]
    days_calendar: int | None

    @cached_property
    def finish(self) -> int:
        """When the last operation will be done [min]."""
        return max(self.ahead.finishes, default=self.now)

    @cached_property
    def route_finishes(self) -> tuple[int, ...]:
        """When each route's last operation will be done; now for a route without any [min]."""
        last: list[int | None] = [None] * len(self.problem.routes)
        for operation, finish in zip(self.problem.operations, self.ahead.finishes, strict=True):
            had = last[operation.route]
            last[operation.route] = finish if had is None else max(had, finish)
        return tuple(self.now if at is None else at for at in last)

    @cached_property
    def days_in_hand(self) -> tuple[DaysInHand, ...]:
        """For each route, from its forecast to its due date."""
        return tuple(
            self._days(finish, route.due)
            for finish, route in zip(self.route_finishes, self.problem.routes, strict=True)
        )

    @cached_property
    def total_float(self) -> tuple[int | None, ...]:
        """What each may slip before its route is late, in minutes of its own kind [min].

        Negative when it is late already, None when it is done.
        """
        return tuple(
            None if self._done(i) else self._between(i, self.ahead.finishes[i], latest)
            for i, latest in enumerate(self.back.finishes)
        )

    @cached_property
    def free_float(self) -> tuple[int | None, ...]:
        """What each may slip and move nothing else; None when it is done [min]."""
        starts, finishes = self.ahead.starts, self.ahead.finishes
        free: list[int | None] = []
        for i, after in enumerate(self.problem.after):
            until = min((starts[a] - lag for a, lag in after), default=self.finish)
            done = self._done(i)
            free.append(None if done else max(0, self._between(i, finishes[i], until)))
        return tuple(free)

    @cached_property
    def overdue(self) -> tuple[str, ...]:
        """Operations that should have started before now and have not, most overdue first."""
        late = [
            (start, i)
            for i, start in enumerate(self.back.starts)
            if start < self.now and not self._begun(i)
        ]
        return tuple(self.problem.operations[i].key for _, i in sorted(late))

    def row(self, key: str) -> Row:
        """One operation's dates.

        key : of the operation
        returns : its row
        raises : UnknownOperation
        """
        if key not in self.problem.position:
            raise UnknownOperation(key, "page")
        i = self.problem.position[key]
        return Row(
            operation=self.problem.operations[i],
            earliest_start=self.ahead.starts[i],
            earliest_finish=self.ahead.finishes[i],
            latest_start=self.back.starts[i],
            latest_finish=self.back.finishes[i],
            total_float=self.total_float[i],
            free_float=self.free_float[i],
            started=self._begun(i),
            finished=self._done(i),
        )

    def binding_chain(self, route: int | None = None) -> tuple[Bind, ...]:
        """The operations that set a finish, first to last, each with what it waits for.

        route : number; None for whatever finishes last of all
        returns : the chain; empty for a route without operations
        """
        keys, ahead = [operation.key for operation in self.problem.operations], self.ahead
        members = [
            i
            for i, operation in enumerate(self.problem.operations)
            if route is None or operation.route == route
        ]
        rank = {i: place for place, i in enumerate(self.problem.topological)}
        at = max(members, key=lambda i: (ahead.finishes[i], rank[i]), default=-1)
        chain = []
        while at >= 0:
            by = ahead.by[at]
            chain.append(
                Bind(
                    operation=keys[at],
                    start=ahead.starts[at],
                    finish=ahead.finishes[at],
                    cause=ahead.causes[at],
                    by=keys[by] if by >= 0 else None,
                    note=ahead.notes[at],
                    waited=max(0, ahead.starts[at] - ahead.at[at]),
                )
            )
            at = by
        return tuple(reversed(chain))

    def _begun(self, i: int) -> bool:
        report = self.reported[i]
        return report is not None and report.started is not None

    def _done(self, i: int) -> bool:
        report = self.reported[i]
        return report is not None and report.finished is not None

    def _between(self, i: int, first: int, last: int) -> int:
        calendar = self.problem.operations[i].calendar
        if calendar is None:
            return last - first
        return self.problem.calendars[calendar].between(first, last)

    def _days(self, first: int, last: int) -> DaysInHand:
        if self.days_calendar is None:
            return DaysInHand((last - first) / DAY_MINUTES, "elapsed days")
        calendar = self.problem.calendars[self.days_calendar]
        return DaysInHand(calendar.days_between(first, last), "working days")


def forecast(
    problem: Problem,
    *,
    now: int,
    progress: Iterable[Progress] = (),
    gates: Iterable[Gate] = (),
    days_calendar: int | None = None,
) -> Forecast:
    """Both passes over one order.

    problem : with at least one route, for the due dates
    now : [min]
    progress : at most one an operation
    gates : those neither cleared nor passed at risk
    days_calendar : number of the calendar in whose working days the days in hand are counted;
        None for days that pass
    returns : dates, floats, days in hand and what binds
    raises : TimeInTheFuture, BadReport, UnknownOperation, MaximumLagCannotHold, BeyondCalendar
    """
    if days_calendar is not None and not 0 <= days_calendar < len(problem.calendars):
        raise MissingCalendar("days in hand", days_calendar, len(problem.calendars))
    reported = reports_by_position(problem, progress, now)
    return Forecast(
        problem,
        now,
        forward_of(problem, now, reported, gates),
        backward_of(problem, reported),
        reported,
        days_calendar,
    )
