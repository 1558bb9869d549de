"""Work lists: what each work centre does next, least days in hand first."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, Exists, OuterRef, Q, QuerySet
from django.urls import reverse

from schedule.models import Gate, Link, Operation, Route, WorkCentre
from schedule.queries.confirmations import expected_confirmations
from works.people import Area

AHEAD = timedelta(days=21)
MOST_ROWS = 80


@dataclass(frozen=True)
class Centre:
    """One line of the overview of work centres."""

    code: str
    name: str
    places: int
    started: int
    waiting: int
    late: int

    @property
    def late_words(self) -> str:
        return f"{self.late} should have begun"


@dataclass(frozen=True)
class AreaLists:
    """The work centres of one area."""

    area: str
    centres: tuple[Centre, ...]


@dataclass(frozen=True)
class Next:
    """One operation on a work list.

    state : waiting, started or stopped
    ready : what it waits for is done and nothing holds its start
    holds : reasons of the open gates that keep it from starting
    holds_finish : reasons of the open gates during it
    waits_for : names of predecessors that are not finished
    confirms : what its start confirms, without the right answers
    """

    pk: int
    name: str
    route_id: int
    route: str
    unit: str
    drawing: str
    minutes_left: int
    state: str
    stop_reason: str
    started_at: datetime | None
    earliest_start_at: datetime | None
    latest_start_at: datetime | None
    due: str
    days_in_hand: float | None
    weight: int
    ready: bool
    holds: tuple[str, ...]
    holds_finish: tuple[str, ...]
    waits_for: tuple[str, ...]
    confirms: tuple[str, ...]
    caution: str
    centre: str

    @property
    def list_url(self) -> str:
        """The work list it stands on, or its own page when it needs no place."""
        if self.centre:
            return reverse("schedule:work_list", args=[self.centre])
        return reverse("schedule:operation", args=[self.pk])

    @property
    def hours_left(self) -> float:
        return self.minutes_left / 60

    @property
    def stopped_words(self) -> str:
        return f"Stopped: {self.stop_reason}"

    @property
    def look(self) -> str:
        """The state's key among those of the pages."""
        if self.state == Operation.State.STARTED:
            return "running"
        if self.state == Operation.State.STOPPED:
            return "blocked"
        if self.holds:
            return "held"
        return "planned" if self.ready else "waiting"


@dataclass(frozen=True)
class WorkList:
    """A work centre with its next operations; `left_out` are further ahead than shown."""

    code: str
    name: str
    area: str
    places: int
    caution: str
    rows: tuple[Next, ...]
    left_out: int

    @property
    def running(self) -> int:
        return sum(1 for row in self.rows if row.state == Operation.State.STARTED)


def work_lists(now: datetime) -> tuple[AreaLists, ...]:
    """All work centres by area, with how much stands at each."""
    open_ = Q(
        operations__dropped_in=None,
        operations__route__state=Route.State.RELEASED,
        operations__finished_at=None,
    )
    waiting = open_ & Q(operations__state=Operation.State.WAITING)
    centres = (
        WorkCentre.objects.filter(closed_for_good=False)
        .annotate(
            started=Count("operations", filter=open_ & ~Q(operations__state="waiting")),
            waiting=Count("operations", filter=waiting),
            late=Count("operations", filter=waiting & Q(operations__latest_start_at__lt=now)),
        )
        .order_by("code")
    )
    by_area: dict[str, list[Centre]] = defaultdict(list)
    for row in centres:
        by_area[row.area].append(
            Centre(row.code, row.name, row.places, row.started, row.waiting, row.late)
        )
    return tuple(AreaLists(area, tuple(by_area[area])) for area in Area.values if area in by_area)


def work_list(centre: WorkCentre, *, now: datetime) -> WorkList:
    """One work centre's next operations: what is in work, what can begin, what comes.

    In a constant number of queries.
    """
    operations = list(
        Operation.objects.open()
        .select_related("route", "unit", "work_centre")
        .filter(Q(work_centre=centre) | Q(pk__in=_without_a_place(centre)))
        .filter(route__state=Route.State.RELEASED)
    )
    rows = _rows(operations)
    near = [
        row
        for row in rows
        if row.state != Operation.State.WAITING
        or row.ready
        or row.earliest_start_at is None
        or row.earliest_start_at <= now + AHEAD
    ][:MOST_ROWS]
    return WorkList(
        code=centre.code,
        name=centre.name,
        area=centre.area,
        places=centre.places,
        caution=centre.caution,
        rows=tuple(near),
        left_out=len(rows) - len(near),
    )


def _without_a_place(centre: WorkCentre) -> QuerySet[Operation, int]:
    """What takes no place but needs a person's word, where somebody looks for it.

    A cooling mould stands on the list of whoever knocks it out, an approval under way or due on
    the lists of its area.
    """
    waits = Link.objects.filter(
        after=OuterRef("pk"), before__dropped_in=None, before__finished_at=None
    )
    return (
        Operation.objects.open()
        .filter(
            Q(
                kind=Operation.Kind.ELAPSED,
                safety_related=True,
                state=Operation.State.STARTED,
                links_out__after__work_centre=centre,
            )
            | Q(kind=Operation.Kind.APPROVAL, area=centre.area) & ~Exists(waits)
        )
        .values_list("pk", flat=True)
    )


def rows_of(operation_ids: Iterable[int]) -> tuple[Next, ...]:
    """Chosen operations as rows of a work list, in its order."""
    return tuple(
        _rows(
            list(
                Operation.objects.live()
                .select_related("route", "unit", "work_centre")
                .filter(pk__in=set(operation_ids))
            )
        )
    )


def _rows(operations: list[Operation]) -> list[Next]:
    ids = [operation.pk for operation in operations]
    waits = _waits(ids)
    before, during = _holds(ids)
    confirms = expected_confirmations(operations)
    rows = [
        Next(
            pk=operation.pk,
            name=operation.name,
            route_id=operation.route_id,
            route=operation.route.label,
            unit=_unit(operation),
            drawing=_drawing(operation),
            minutes_left=operation.minutes
            if operation.remaining_minutes is None
            else operation.remaining_minutes,
            state=operation.state,
            stop_reason=operation.stop_reason,
            started_at=operation.started_at,
            earliest_start_at=operation.earliest_start_at,
            latest_start_at=operation.latest_start_at,
            due=str(_due(operation)),
            days_in_hand=operation.days_in_hand,
            weight=operation.route.weight,
            ready=not waits[operation.pk] and not before[operation.pk],
            holds=tuple(before[operation.pk]),
            holds_finish=tuple(during[operation.pk]),
            waits_for=tuple(waits[operation.pk]),
            confirms=tuple(confirms.get(operation.pk, {})),
            caution=operation.caution,
            centre=operation.work_centre.code if operation.work_centre else "",
        )
        for operation in operations
    ]
    return sorted(rows, key=_order)


def _order(row: Next) -> tuple[object, ...]:
    """In work first, then what can begin, then the rest; each by least days in hand."""
    rank = 0 if row.state != Operation.State.WAITING else 1 if row.ready else 2
    hand = row.days_in_hand if row.days_in_hand is not None else 0.0
    return rank, hand, -row.weight, row.route, row.unit, row.pk


def _unit(operation: Operation) -> str:
    if operation.unit is None:
        return "all"
    return operation.unit.serial or f"unit {operation.unit.number}"


def _drawing(operation: Operation) -> str:
    if not operation.drawing:
        return ""
    return f"{operation.drawing} rev {operation.drawing_revision}"


def _due(operation: Operation) -> object:
    return (operation.unit and operation.unit.due_on) or operation.route.due_on


def _waits(ids: list[int]) -> Mapping[int, list[str]]:
    """Names of unfinished predecessors by operation."""
    waits: dict[int, list[str]] = defaultdict(list)
    for after, name in (
        Link.objects.filter(after__in=ids, before__dropped_in=None, before__finished_at=None)
        .order_by("before__position")
        .values_list("after_id", "before__name")
    ):
        waits[after].append(name)
    return waits


def _holds(ids: list[int]) -> tuple[Mapping[int, list[str]], Mapping[int, list[str]]]:
    """Open gates that keep operations from starting, and from finishing."""
    before: dict[int, list[str]] = defaultdict(list)
    during: dict[int, list[str]] = defaultdict(list)
    own = Gate.objects.open().filter(
        operation__in=ids, timing__in=[Gate.Timing.BEFORE, Gate.Timing.DURING]
    )
    for operation_id, timing, reason in own.values_list("operation_id", "timing", "reason"):
        (before if timing == Gate.Timing.BEFORE else during)[operation_id].append(reason)
    earlier = Gate.objects.open().filter(
        timing=Gate.Timing.AFTER, operation__links_out__after__in=ids
    )
    for after, reason, name in earlier.values_list(
        "operation__links_out__after_id", "reason", "operation__name"
    ):
        before[after].append(f"{reason} (after {name})")
    return before, during
