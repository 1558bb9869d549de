"""The buyer's due list: what must be on the floor when, and what will not be."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime

from schedule.models import BoughtOut, Operation, Route
from schedule.working_time import local_date
from works.models import Site


@dataclass(frozen=True)
class Part:
    """One thing bought for a route.

    needed_on : the last day on which it may arrive without making the route late
    to_order_by_on : the last day on which it may be ordered, by its lead
    state : to order, ordered, late or arrived
    days_late : promised (or, without a promise, expected) after it is needed; negative is early
    """

    pk: int
    operation_id: int
    route_id: int
    route: str
    item: str
    supplier: str
    lead_days: float
    needed_on: date | None
    to_order_by_on: date | None
    ordered_on: date | None
    promised_on: date | None
    expected_on: date | None
    arrived_on: date | None
    straight_to_site: bool
    note: str
    state: str
    look: str
    days_late: int | None
    binds: bool


def bought_out_list(
    *, now: datetime, arrived: bool = False, route_ids: Collection[int] | None = None
) -> tuple[Part, ...]:
    """Things of routes in work, most urgent first, in one query.

    arrived : also what is here already
    route_ids : of these routes; None for every one
    """
    zone = Site.current().zone
    today = local_date(now, zone)
    rows = BoughtOut.objects.select_related("operation__route").filter(
        operation__dropped_in=None,
        operation__route__state__in=[Route.State.RELEASED, Route.State.ON_HOLD],
    )
    if not arrived:
        rows = rows.filter(arrived_on=None)
    if route_ids is not None:
        rows = rows.filter(operation__route__in=route_ids)

    def day(at: datetime | None) -> date | None:
        return None if at is None else local_date(at, zone)

    found = []
    for row in rows:
        operation: Operation = row.operation
        needed, order_by = day(operation.latest_finish_at), day(operation.latest_start_at)
        expected = row.promised_on or day(operation.earliest_finish_at)
        due = row.arrived_on or expected
        late = None if needed is None or due is None else (due - needed).days
        state, look = _state(row, today, order_by, late)
        found.append(
            Part(
                pk=row.pk,
                operation_id=operation.pk,
                route_id=operation.route_id,
                route=operation.route.label,
                item=row.item,
                supplier=row.supplier,
                lead_days=operation.minutes / 1440,
                needed_on=needed,
                to_order_by_on=order_by,
                ordered_on=row.ordered_on,
                promised_on=row.promised_on,
                expected_on=expected,
                arrived_on=row.arrived_on,
                straight_to_site=row.sent_straight_to_site,
                note=row.note,
                state=state,
                look=look,
                days_late=late,
                binds=operation.binds,
            )
        )
    far = date.max
    return tuple(
        sorted(
            found,
            key=lambda part: (
                part.arrived_on is not None,
                -(part.days_late or 0),
                part.needed_on or far,
                part.pk,
            ),
        )
    )


def _state(
    part: BoughtOut, today: date, order_by: date | None, late: int | None
) -> tuple[str, str]:
    """The state in words, and its key among those of the pages."""
    if part.arrived_on is not None:
        return "arrived", "done"
    if part.ordered_on is None:
        if order_by is not None and order_by < today:
            return "should have been ordered", "overdue"
        return "to order", "waiting"
    if part.promised_on is not None and part.promised_on < today:
        return "overdue from the supplier", "overdue"
    if late is not None and late > 0:
        return "will come too late", "late"
    return "ordered", "running"
