"""Routes as planning's question: rows gathered into a problem, what was reported, what holds.

A constant number of queries, however many routes.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from schedule.models import BoughtOut, Gate, Link, Operation, Route, Unit
from schedule.planning import network
from schedule.planning.calendars import WorkingTime
from schedule.planning.errors import PlanningError
from schedule.planning.forecast import Forecast
from schedule.planning.forecast import forecast as both_passes
from schedule.planning.reports import Gate as PlanningGate
from schedule.planning.reports import Position, Progress
from schedule.working_time import WorkingTimes, end_of, midnight, minute, working_times
from works.models import Site


@dataclass(frozen=True)
class Member:
    """An operation as the passes and the pages after them need it."""

    pk: int
    name: str
    unit: int | None
    kind: str
    minutes: int
    calendar: int | None
    splits: bool
    state: str
    started_at: datetime | None
    finished_at: datetime | None
    remaining_minutes: int | None
    remaining_at: datetime | None


@dataclass(frozen=True)
class Delivery:
    """Units of one route that ship on one day, and the day; the last carries what all share.

    units : primary keys
    shared : its due date binds the operations that no unit owns
    """

    due_on: date
    units: tuple[int, ...]
    shared: bool


@dataclass(frozen=True)
class Question:
    """One route, ready for the passes.

    operations : in the problem's order; see `key` for what they are called there
    deliveries : in the order of the problem's routes
    days_calendar : number of the calendar in which days in hand are counted
    """

    route_id: int
    label: str
    now: int
    problem: network.Problem
    operations: tuple[Member, ...]
    deliveries: tuple[Delivery, ...]
    progress: tuple[Progress, ...]
    gates: tuple[PlanningGate, ...]
    days_calendar: int | None

    def forecast(self) -> Forecast:
        """Both passes.

        raises : PlanningError
        """
        return both_passes(
            self.problem,
            now=self.now,
            progress=self.progress,
            gates=self.gates,
            days_calendar=self.days_calendar,
        )


@dataclass(frozen=True)
class Questions:
    """The routes that can be asked about, and why the others cannot, by primary key."""

    asked: tuple[Question, ...]
    troubles: dict[int, str]


@dataclass
class _Gathered:
    """Rows of one route while they are gathered."""

    pk: int
    label: str
    due_on: date
    units: list[tuple[int, date | None, bool]] = field(default_factory=list)
    operations: list[Member] = field(default_factory=list)
    links: list[tuple[int, int, int]] = field(default_factory=list)
    gates: list[Mapping[str, Any]] = field(default_factory=list)


def key(pk: int) -> str:
    """What an operation is called in a problem: a mark that no sentence holds by chance."""
    return f"#{pk}"


def named(words: str, operations: Iterable[Member]) -> str:
    """A sentence of the pure package with operations called as people call them."""
    names = {key(member.pk): member.name for member in operations}
    return re.sub(r"#\d+", lambda found: names.get(found[0], found[0]), words)


def gather(route_ids: Iterable[int], *, now: datetime) -> Questions:
    """Make planning's question of each route.

    route_ids : primary keys
    now : an instant; a later one of the reports is taken instead, so that no report lies ahead
    returns : the questions, and the troubles of routes whose calendars or network do not do
    """
    zone = Site.current().zone
    routes = {
        pk: _Gathered(pk, label, due_on)
        for pk, label, due_on in Route.objects.filter(pk__in=set(route_ids))
        .order_by("pk")
        .values_list("pk", "label", "due_on")
    }
    for route_id, pk, due_on, shipped_on in (
        Unit.objects.filter(route_id__in=routes, dropped_in=None)
        .order_by("route_id", "number")
        .values_list("route_id", "pk", "due_on", "shipped_on")
    ):
        routes[route_id].units.append((pk, due_on, shipped_on is not None))
    _operations(routes)
    for before, after, lag, route_id in Link.objects.filter(
        before__route_id__in=routes, before__dropped_in=None, after__dropped_in=None
    ).values_list("before_id", "after_id", "lag_minutes", "before__route_id"):
        routes[route_id].links.append((before, after, lag))
    for row in (
        Gate.objects.open()
        .filter(operation__route_id__in=routes, operation__dropped_in=None)
        .order_by("pk")
        .values(
            "operation_id",
            "operation__route_id",
            "timing",
            "reason",
            "notice_days",
            "notified_on",
            "calendar_id",
            "release_expected_on",
        )
    ):
        routes[row["operation__route_id"]].gates.append(row)
    promises = _promises(routes, zone)
    times = working_times(
        {
            pk
            for route in routes.values()
            for pk in (
                *(member.calendar for member in route.operations),
                *(row["calendar_id"] for row in route.gates),
            )
            if pk is not None
        },
        zone=zone,
        now=now,
    )
    asked, troubles = [], {}
    for route in routes.values():
        try:
            asked.append(_question(route, times, promises, zone, now))
        except PlanningError as error:
            troubles[route.pk] = named(str(error), route.operations)
    return Questions(tuple(asked), troubles)


def _operations(routes: dict[int, _Gathered]) -> None:
    for row in (
        Operation.objects.live()
        .filter(route_id__in=routes)
        .order_by("route_id", "position", "pk")
        .values_list(
            "route_id",
            "pk",
            "name",
            "unit_id",
            "kind",
            "minutes",
            "work_centre__calendar_id",
            "splits",
            "state",
            "started_at",
            "finished_at",
            "remaining_minutes",
            "remaining_at",
        )
    ):
        routes[row[0]].operations.append(Member(*row[1:]))


def _promises(routes: dict[int, _Gathered], zone: ZoneInfo) -> dict[int, int]:
    """When each bought-out that has not arrived is promised, by operation [min]."""
    rows = BoughtOut.objects.filter(
        operation__route_id__in=routes, operation__dropped_in=None, arrived_on=None
    ).values_list("operation_id", "promised_on")
    return {pk: end_of(promised_on, zone) for pk, promised_on in rows if promised_on}


def _question(
    route: _Gathered,
    times: WorkingTimes,
    promises: dict[int, int],
    zone: ZoneInfo,
    now: datetime,
) -> Question:
    """One route as planning's question.

    raises : PlanningError
    """
    told = [at for m in route.operations for at in (m.started_at, m.finished_at) if at is not None]
    at = minute(max([now, *told]))
    numbers: dict[int, int] = {}
    calendars: list[WorkingTime] = []

    def number(pk: int) -> int:
        if pk in times.troubles:
            raise PlanningError(times.troubles[pk])
        if pk not in numbers:
            numbers[pk] = len(calendars)
            calendars.append(times.by_id[pk])
        return numbers[pk]

    deliveries = _deliveries(route)
    of_unit = {unit: i for i, delivery in enumerate(deliveries) for unit in delivery.units}
    shared = next(i for i, delivery in enumerate(deliveries) if delivery.shared)
    operations, progress = [], []
    for member in route.operations:
        calendar = (
            number(member.calendar)
            if member.kind == Operation.Kind.WORKING and member.calendar is not None
            else None
        )
        operations.append(
            network.Operation(
                key=key(member.pk),
                minutes=member.minutes,
                kind=network.Kind.ELAPSED if calendar is None else network.Kind.WORKING,
                calendar=calendar,
                route=shared if member.unit is None else of_unit[member.unit],
                splits=member.splits,
            )
        )
        report = _report(
            member, None if calendar is None else calendars[calendar], promises.get(member.pk), at
        )
        if report is not None:
            progress.append(report)
    gates = tuple(
        PlanningGate(
            operation=key(row["operation_id"]),
            position=Position(row["timing"]),
            reason=row["reason"],
            expected=row["release_expected_on"] and end_of(row["release_expected_on"], zone),
            notice_days=row["notice_days"],
            notice_calendar=None if row["calendar_id"] is None else number(row["calendar_id"]),
            notified=row["notified_on"] and midnight(row["notified_on"], zone),
        )
        for row in route.gates
    )
    problem = network.Problem(
        operations=tuple(operations),
        links=tuple(
            network.Link(before=key(before), after=key(after), lag_minutes=lag)
            for before, after, lag in route.links
        ),
        routes=tuple(
            network.Route(key=str(i), due=end_of(delivery.due_on, zone))
            for i, delivery in enumerate(deliveries)
        ),
        calendars=tuple(calendars),
    )
    worked = [op.calendar for op in operations if op.calendar is not None]
    return Question(
        route_id=route.pk,
        label=route.label,
        now=at,
        problem=problem,
        operations=tuple(route.operations),
        deliveries=deliveries,
        progress=tuple(progress),
        gates=gates,
        days_calendar=worked[-1] if worked else None,
    )


def _deliveries(route: _Gathered) -> tuple[Delivery, ...]:
    """Units by their ship-by, first due first."""
    by_day: dict[date, list[int]] = defaultdict(list)
    for pk, due_on, _ in route.units:
        by_day[due_on or route.due_on].append(pk)
    days = sorted(by_day) or [route.due_on]
    return tuple(Delivery(day, tuple(by_day.get(day, ())), shared=day == days[-1]) for day in days)


def _report(
    member: Member, calendar: WorkingTime | None, promised: int | None, now: int
) -> Progress | None:
    """What was reported on an operation, its remaining minutes counted down to now."""
    name = key(member.pk)
    state = Operation.State
    if member.state == state.WAITING:
        return None if promised is None else Progress(operation=name, expected=promised)
    if member.started_at is None:
        return None
    started = minute(member.started_at)
    if member.finished_at is not None:
        return Progress(operation=name, started=started, finished=minute(member.finished_at))
    remaining = member.remaining_minutes
    if remaining is not None and member.remaining_at is not None and member.state == state.STARTED:
        since = minute(member.remaining_at)
        gone = now - since if calendar is None else calendar.between(since, now)
        remaining = max(0, remaining - gone)
    return Progress(operation=name, started=started, remaining=remaining, expected=promised)
