"""The question planning answers: operations, links between them, calendars and due dates.

A `Problem` is checked once, at the door, and keeps what every pass needs: its operations in an
order in which each comes after all it waits for, and the links of each as plain numbers.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from schedule.planning.calendars import WorkingTime
from schedule.planning.errors import (
    BadLag,
    BadProblem,
    Cycle,
    DuplicateLink,
    DuplicateOperation,
    MissingCalendar,
    NegativeDuration,
    NotEnoughPlaces,
    OperationTooLong,
    UnknownOperation,
    UnknownPlace,
    UnknownPredecessor,
)


class Kind(StrEnum):
    """How an operation's minutes are counted."""

    WORKING = "working"
    ELAPSED = "elapsed"


class Cause(StrEnum):
    """Why an operation may not start earlier."""

    NOW = "now"
    PREDECESSOR = "predecessor"
    ARRIVAL = "arrival"
    RELEASE = "release"
    NOTICE = "notice"
    GATE = "gate"
    PROGRESS = "progress"
    CALENDAR = "calendar"
    MAXIMUM_LAG = "maximum lag"
    PIN = "pin"
    PLACE = "place"
    RESOURCE = "resource"


@dataclass(frozen=True, kw_only=True)
class NotBefore:
    """A date before which an operation may not start, and what sets it.

    at : [min]
    cause : ARRIVAL of a bought-out, RELEASE of a hold, a PIN...
    note : for people, e.g. "motor promised for 2026-03-05"
    """

    at: int
    cause: Cause = Cause.RELEASE
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Need:
    """So much of a second resource (a jig, a lift, a fitter) while an operation runs."""

    resource: int
    amount: int = 1


@dataclass(frozen=True, kw_only=True)
class Operation:
    """One step of a route.

    key : its own name in the problem
    minutes : working minutes of its calendar, or elapsed minutes, >= 0 [min]
    calendar : number of its calendar; None when elapsed
    route : number of the route it belongs to
    work_centre : number of the work centre it takes a place at; None for none
    not_before : dates that hold its start back
    due : its own latest finish, before its route's; None when the route's alone counts [min]
    splits : it may be left over a night and taken up again; a break it may span in any case
    needs : second resources held while it runs
    setup : what the work centre is set up for (metal poured, pattern on the box); "" for anything
    batch : operations of one batch at one work centre are done together (one melt); "" for alone
    """

    key: str
    minutes: int
    kind: Kind = Kind.WORKING
    calendar: int | None = None
    route: int = 0
    work_centre: int | None = None
    not_before: tuple[NotBefore, ...] = ()
    due: int | None = None
    splits: bool = True
    needs: tuple[Need, ...] = ()
    setup: str = ""
    batch: str = ""


@dataclass(frozen=True, kw_only=True)
class Link:
    """One operation waits for another.

    before, after : keys
    lag_minutes : from finish to start, nights and weekends too, >= 0 [min]
    max_lag_minutes : the start comes no later than this after the finish [min]
    """

    before: str
    after: str
    lag_minutes: int = 0
    max_lag_minutes: int | None = None


@dataclass(frozen=True, kw_only=True)
class Route:
    """What must be finished when: an order's route, or one of its part deliveries.

    key : its name
    due : ship-by [min]
    weight : how much a day late matters, > 0
    published : the date the customer knows; None when none is [min]
    """

    key: str
    due: int
    weight: int = 1
    published: int | None = None


@dataclass(frozen=True, kw_only=True)
class WorkCentre:
    """Places at which one kind of work is done.

    places : operations that run side by side
    calendar : number of the calendar it keeps
    setup_minutes : working minutes to change over between two set-ups [min]
    """

    key: str
    places: int = 1
    calendar: int | None = None
    setup_minutes: int = 0


@dataclass(frozen=True, kw_only=True)
class Resource:
    """Something there are only so many of: a jig, a crane lift, moulding boxes."""

    key: str
    amount: int


@dataclass(frozen=True, kw_only=True)
class Held:
    """A resource kept from the start of one operation to the finish of another.

    resource : number
    first, last : keys; a mould keeps its box from moulding to knock-out
    amount : of the resource kept, >= 1
    """

    resource: int
    first: str
    last: str
    amount: int = 1


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Operations, links, calendars and due dates, checked.

    topological : positions in an order in which each operation follows all it waits for;
        ties in the order given
    before, after : per operation, the position and the lag of each neighbour, positions rising
    """

    operations: tuple[Operation, ...]
    links: tuple[Link, ...] = ()
    calendars: tuple[WorkingTime, ...] = ()
    routes: tuple[Route, ...] = ()
    work_centres: tuple[WorkCentre, ...] = ()
    resources: tuple[Resource, ...] = ()
    held: tuple[Held, ...] = ()
    position: dict[str, int] = field(init=False, repr=False, compare=False)
    topological: tuple[int, ...] = field(init=False, repr=False, compare=False)
    before: tuple[tuple[tuple[int, int], ...], ...] = field(init=False, repr=False, compare=False)
    after: tuple[tuple[tuple[int, int], ...], ...] = field(init=False, repr=False, compare=False)
    max_lags: tuple[tuple[int, int, int], ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        position: dict[str, int] = {}
        for i, operation in enumerate(self.operations):
            if operation.key in position:
                raise DuplicateOperation(operation.key)
            position[operation.key] = i
            self._check(operation)
        before: list[list[tuple[int, int]]] = [[] for _ in self.operations]
        after: list[list[tuple[int, int]]] = [[] for _ in self.operations]
        max_lags = []
        seen: set[tuple[str, str]] = set()
        for link in self.links:
            b, a = self._ends(link, position)
            if (link.before, link.after) in seen:
                raise DuplicateLink(link.before, link.after)
            seen.add((link.before, link.after))
            before[a].append((b, link.lag_minutes))
            after[b].append((a, link.lag_minutes))
            if link.max_lag_minutes is not None:
                max_lags.append((b, a, link.max_lag_minutes))
        for held in self.held:
            for key in (held.first, held.last):
                if key not in position:
                    raise UnknownOperation(key, "held resource")
            self._within(held.first, "resource", held.resource, len(self.resources))
            if held.amount > self.resources[held.resource].amount:
                resource = self.resources[held.resource]
                raise NotEnoughPlaces(held.first, resource.key, held.amount, resource.amount)
        for neighbours in (*before, *after):
            neighbours.sort()
        keep = object.__setattr__
        keep(self, "position", position)
        keep(self, "before", tuple(map(tuple, before)))
        keep(self, "after", tuple(map(tuple, after)))
        keep(self, "max_lags", tuple(max_lags))
        keep(self, "topological", self._sorted())

    def _check(self, operation: Operation) -> None:
        if operation.minutes < 0:
            raise NegativeDuration(operation.key, operation.minutes)
        if operation.kind is Kind.WORKING:
            if operation.calendar is None or not 0 <= operation.calendar < len(self.calendars):
                raise MissingCalendar(operation.key, operation.calendar, len(self.calendars))
            calendar = self.calendars[operation.calendar]
            if not operation.splits and operation.minutes > calendar.longest:
                raise OperationTooLong(
                    operation.key, operation.minutes, calendar.longest, calendar.name
                )
        elif operation.calendar is not None:
            raise BadProblem(operation.key, "an elapsed operation keeps no calendar; give it none")
        if self.routes or operation.route:
            self._within(operation.key, "route", operation.route, len(self.routes))
        if operation.work_centre is not None:
            self._within(
                operation.key, "work centre", operation.work_centre, len(self.work_centres)
            )
        for need in operation.needs:
            self._within(operation.key, "resource", need.resource, len(self.resources))
            resource = self.resources[need.resource]
            if need.amount > resource.amount:
                raise NotEnoughPlaces(operation.key, resource.key, need.amount, resource.amount)

    @staticmethod
    def _within(key: str, what: str, number: int, count: int) -> None:
        if not 0 <= number < count:
            raise UnknownPlace(key, what, number, count)

    @staticmethod
    def _ends(link: Link, position: dict[str, int]) -> tuple[int, int]:
        if link.before not in position:
            raise UnknownPredecessor(link.after, link.before)
        if link.after not in position:
            raise UnknownOperation(link.after, "link")
        longest = link.max_lag_minutes
        if link.lag_minutes < 0 or (longest is not None and longest < link.lag_minutes):
            raise BadLag(link.before, link.after, link.lag_minutes, longest)
        return position[link.before], position[link.after]

    def _sorted(self) -> tuple[int, ...]:
        waiting = [len(neighbours) for neighbours in self.before]
        ready = [i for i, count in enumerate(waiting) if count == 0]
        for i in ready:  # grows as it is walked
            for a, _ in self.after[i]:
                waiting[a] -= 1
                if waiting[a] == 0:
                    ready.append(a)
        if len(ready) < len(self.operations):
            raise Cycle(self._ring(waiting))
        return tuple(ready)

    def _ring(self, waiting: Sequence[int]) -> tuple[str, ...]:
        """Walk backwards among the operations that never became ready until one comes again."""
        at = next(i for i, count in enumerate(waiting) if count)
        walked: list[int] = []
        while at not in walked:
            walked.append(at)
            at = next(b for b, _ in self.before[at] if waiting[b])
        ring = walked[walked.index(at) :][::-1]
        first = ring.index(min(ring))
        return tuple(self.operations[i].key for i in ring[first:] + ring[:first])
