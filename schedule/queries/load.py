"""Load against capacity by work centre and week, and what should have begun."""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from django.db.models import F

from schedule.models import Operation, Route, WorkCentre
from schedule.planning.calendars import WorkingTime
from schedule.working_time import local_date, midnight, minute, working_times
from works.models import Site

WEEKS = 12


@dataclass(frozen=True)
class Cell:
    """One work centre in one week [h].

    load : forecast there; capacity : open hours of all places
    """

    monday: date
    load_h: float
    capacity_h: float

    @property
    def share(self) -> float:
        """Load over capacity [-]; all of it where nothing is open."""
        if self.capacity_h > 0:
            return self.load_h / self.capacity_h
        return 0.0 if self.load_h == 0 else 9.99

    @property
    def bar(self) -> float:
        """Length of its bar, of 100."""
        return round(min(self.share, 1.0) * 100, 1)

    @property
    def is_over(self) -> bool:
        return self.load_h > self.capacity_h + 0.05


@dataclass(frozen=True)
class CentreLoad:
    """A work centre's weeks; `trouble` says why there is no capacity to show."""

    code: str
    name: str
    area: str
    cells: tuple[Cell, ...]
    trouble: str

    @property
    def total_share(self) -> float:
        capacity = sum(cell.capacity_h for cell in self.cells)
        return sum(cell.load_h for cell in self.cells) / capacity if capacity else 0.0


@dataclass(frozen=True)
class Overdue:
    """A route's first operation that should have begun and has not."""

    operation_id: int
    operation: str
    unit: int | None
    route_id: int
    route: str
    work_centre: str
    latest_start_at: datetime
    days: int
    more: int


@dataclass(frozen=True)
class RouteLine:
    """A route on the planning desk."""

    pk: int
    label: str
    state: str
    state_words: str
    due_on: date
    published_on: date | None
    forecast_on: date | None
    days_in_hand: float | None
    weight: int
    trouble: str

    @property
    def look(self) -> str:
        """The state's key among those of the pages."""
        if self.state == Route.State.ON_HOLD:
            return "held"
        if self.days_in_hand is None:
            return "warned"
        if self.days_in_hand < 0:
            return "late"
        return "at-risk" if self.days_in_hand < 5 else "on-time"


def load(*, now: datetime, weeks: int = WEEKS) -> tuple[CentreLoad, ...]:
    """Forecast hours of each work centre by ISO week, against its open hours."""
    zone = Site.current().zone
    today = local_date(now, zone)
    first = today - timedelta(days=today.weekday())
    mondays = [first + timedelta(weeks=n) for n in range(weeks)]
    edges = [midnight(monday, zone) for monday in [*mondays, first + timedelta(weeks=weeks)]]
    centres = list(WorkCentre.objects.filter(closed_for_good=False).order_by("area", "code"))
    times = working_times({centre.calendar_id for centre in centres}, zone=zone, now=now)
    loads: dict[int, list[float]] = defaultdict(lambda: [0.0] * weeks)
    calendars = {centre.pk: times.by_id.get(centre.calendar_id) for centre in centres}
    for pk, minutes, remaining, starts, finishes in (
        Operation.objects.open()
        .filter(
            work_centre__in=calendars,
            route__state__in=[Route.State.DRAFT, Route.State.RELEASED],
            earliest_start_at__isnull=False,
        )
        .values_list(
            "work_centre_id",
            "minutes",
            "remaining_minutes",
            "earliest_start_at",
            "earliest_finish_at",
        )
    ):
        calendar = calendars[pk]
        if calendar is None or pk is None or starts is None or finishes is None:
            continue
        left = minutes if remaining is None else remaining
        # What is in work goes on from now, whenever it began.
        span = (max(minute(starts), min(minute(now), minute(finishes))), minute(finishes))
        for week, share in _shares(span, edges, calendar):
            loads[pk][week] += left * share
    now_minute = minute(now)
    return tuple(
        CentreLoad(
            code=centre.code,
            name=centre.name,
            area=centre.area,
            cells=_cells(
                centre, calendars[centre.pk], loads[centre.pk], mondays, edges, now_minute
            ),
            trouble=times.troubles.get(centre.calendar_id, ""),
        )
        for centre in centres
    )


def _shares(
    span: tuple[int, int], edges: list[int], calendar: WorkingTime
) -> Iterator[tuple[int, float]]:
    """Which share of a stretch of work falls into which week; nothing beyond the last."""
    start, finish = span
    whole = calendar.between(start, finish)
    if whole <= 0:
        return
    for week, (begins, ends) in enumerate(pairwise(edges)):
        if finish > begins and start < ends:
            yield week, calendar.between(max(start, begins), min(finish, ends)) / whole


def _cells(
    centre: WorkCentre,
    calendar: WorkingTime | None,
    minutes: list[float],
    mondays: list[date],
    edges: list[int],
    now: int,
) -> tuple[Cell, ...]:
    """This week counts what is left of it."""
    return tuple(
        Cell(
            monday=monday,
            load_h=minutes[week] / 60,
            capacity_h=0.0
            if calendar is None
            else centre.places * calendar.between(max(edges[week], now), edges[week + 1]) / 60,
        )
        for week, monday in enumerate(mondays)
    )


def starts_overdue(*, now: datetime) -> tuple[Overdue, ...]:
    """For each route in work, the first operation that should have begun; longest ago first."""
    zone = Site.current().zone
    found: dict[int, list[Operation]] = defaultdict(list)
    for operation in (
        Operation.objects.open()
        .select_related("route", "unit", "work_centre")
        .filter(
            route__state=Route.State.RELEASED,
            state=Operation.State.WAITING,
            latest_start_at__lt=now,
        )
        .order_by("latest_start_at", "position")
    ):
        found[operation.route_id].append(operation)
    return tuple(_overdue(rows, now, zone) for rows in found.values())


def _overdue(rows: list[Operation], now: datetime, zone: ZoneInfo) -> Overdue:
    first = rows[0]
    began_by = first.latest_start_at or now
    return Overdue(
        operation_id=first.pk,
        operation=first.name,
        unit=first.unit.number if first.unit else None,
        route_id=first.route_id,
        route=first.route.label,
        work_centre=first.work_centre.name if first.work_centre else "",
        latest_start_at=began_by,
        days=(local_date(now, zone) - local_date(began_by, zone)).days,
        more=len(rows) - 1,
    )


def routes_by_days_in_hand() -> tuple[RouteLine, ...]:
    """Routes to be made, least days in hand first; those without a forecast before all."""
    zone = Site.current().zone
    return tuple(
        RouteLine(
            pk=route.pk,
            label=route.label,
            state=route.state,
            state_words=route.get_state_display(),
            due_on=route.due_on,
            published_on=route.published_on,
            forecast_on=route.forecast_ship_at and local_date(route.forecast_ship_at, zone),
            days_in_hand=route.days_in_hand,
            weight=route.weight,
            trouble=route.forecast_trouble,
        )
        for route in Route.objects.exclude(
            state__in=[Route.State.SHIPPED, Route.State.CANCELLED]
        ).order_by(F("days_in_hand").asc(nulls_first=True), "due_on", "pk")
    )
