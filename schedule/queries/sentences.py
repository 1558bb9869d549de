"""What must be said first about a route, in one sentence."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from schedule.models import Operation, Route
from schedule.working_time import local_date
from works.models import Site


@dataclass(frozen=True)
class LateStart:
    """The first operation of a route that should have begun and has not.

    on : when it should have begun
    others : how many more should have begun too
    begun : some work on the route has begun
    """

    operation: str
    on: date
    days: int
    others: int
    begun: bool

    def __str__(self) -> str:
        ago = (
            "today"
            if self.days == 0
            else "a day ago"
            if self.days == 1
            else f"{self.days} days ago"
        )
        if not self.begun:
            return (
                f"Work on this order should have begun on {self.on}, {ago}: "
                f"{self.operation.lower()} is the first that is late."
            )
        more = f", and {self.others} more should have begun since" if self.others else ""
        return f"{self.operation} should have begun on {self.on}, {ago}{more}."


def late_start(
    operations: Iterable[Operation], *, now: datetime, zone: ZoneInfo
) -> LateStart | None:
    """What should have begun first of a route's live operations; None when nothing is overdue."""
    rows = list(operations)
    late = sorted(
        (
            (row.latest_start_at, row.position, row)
            for row in rows
            if row.state == Operation.State.WAITING
            and row.latest_start_at is not None
            and row.latest_start_at < now
        ),
        key=lambda item: item[:2],
    )
    if not late:
        return None
    began_by, _, first = late[0]
    on = local_date(began_by, zone)
    return LateStart(
        operation=first.name,
        on=on,
        days=(local_date(now, zone) - on).days,
        others=len(late) - 1,
        begun=any(row.started_at is not None for row in rows),
    )


def first_line(
    route: Route, operations: Iterable[Operation], *, now: datetime, zone: ZoneInfo
) -> str:
    """The line that a page about a route begins with; empty when all is well."""
    if route.state == Route.State.CANCELLED:
        return "This route is cancelled."
    if route.state == Route.State.SHIPPED:
        return ""
    if route.forecast_trouble:
        return f"There is no forecast. {route.forecast_trouble}"
    held = "This route is on hold. " if route.state == Route.State.ON_HOLD else ""
    late = late_start(operations, now=now, zone=zone)
    return f"{held}{late or ''}".strip()


def first_line_of(route: Route, *, now: datetime) -> str:
    """The same for a route alone, whatever page it stands on; one query."""
    return first_line(
        route,
        Operation.objects.live().filter(route=route),
        now=now,
        zone=Site.current().zone,
    )
