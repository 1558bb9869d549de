"""Orders as the alert rules see them, gathered in a constant number of queries."""

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from datetime import datetime, timedelta
from typing import TypeVar

from django.db.models import Max, Q

from orders.alert_rules import Approval, Standing, Watched
from orders.facts import Fact
from orders.models import Item, Order
from orders.queries.five import waiting_holds
from quality.models import InspectionPoint, Part, Visit
from quality.queries.points import needed_at
from schedule.models import Gate, Link, Operation, Route
from schedule.queries.bought_outs import bought_out_list
from works.models import Event, Site

State = Operation.State
Thing = TypeVar("Thing")


def watched_orders(
    *, order_ids: Collection[int] | None = None, now: datetime
) -> tuple[Watched, ...]:
    """Orders in work as the rules see them.

    order_ids : primary keys; None for all in work
    """
    zone = Site.current().zone
    orders = Order.objects.in_work().order_by("pk")
    if order_ids is not None:
        orders = orders.filter(pk__in=order_ids)
    items: dict[int, list[Item]] = defaultdict(list)
    for item in (
        Item.objects.filter(order__in=orders, route__isnull=False)
        .select_related("route", "order")
        .order_by("order_id", "number")
    ):
        items[item.order_id].append(item)
    of_route = {item.route_id: item for its in items.values() for item in its}
    routes = [pk for pk in of_route if pk is not None]
    first = _not_begun(routes, now)
    parts = defaultdict(list)
    for part in bought_out_list(now=now, route_ids=routes):
        parts[part.route_id].append(part)
    holds, approvals, unplanned = _holds(routes), _approvals(routes), _unplanned(routes, now)
    since = _held_since(orders)
    return tuple(
        Watched(
            order=order,
            items=tuple(items[order.pk]),
            now=now,
            zone=zone,
            held_since=since.get(order.pk) if order.state == Order.State.ON_HOLD else None,
            not_begun=first,
            parts=tuple(_of(items[order.pk], parts)),
            holds=tuple(_of(items[order.pk], holds)),
            approvals=tuple(_of(items[order.pk], approvals)),
            unplanned=tuple(_of(items[order.pk], unplanned)),
        )
        for order in orders
    )


def _of(items: Iterable[Item], by_route: Mapping[int, list[Thing]]) -> Iterable[Thing]:
    for item in items:
        yield from by_route.get(item.route_id or 0, ())


def _not_begun(routes: Collection[int], now: datetime) -> dict[int, Operation]:
    """By route without any start, the operation that should have begun first and has not."""
    begun = set(
        Operation.objects.filter(route_id__in=routes, started_at__isnull=False)
        .order_by()
        .values_list("route_id", flat=True)
        .distinct()
    )
    found: dict[int, Operation] = {}
    for operation in (
        Operation.objects.open()
        .filter(route_id__in=routes, latest_start_at__lt=now)
        .exclude(route_id__in=begun)
        .defer("grown")
        .order_by("latest_start_at", "position", "pk")
    ):
        found.setdefault(operation.route_id, operation)
    return found


def _holds(routes: Collection[int]) -> dict[int, list[Standing]]:
    """Open holds at which work stands, and since when."""
    gates = list(
        Gate.objects.open()
        .filter(waiting_holds(), operation__route_id__in=routes)
        .select_related("operation__unit")
        .order_by("pk")
    )
    arrived = {
        row["after_id"]: row["at"]
        for row in Link.objects.filter(after__in=[gate.operation_id for gate in gates])
        .order_by()
        .values("after_id")
        .annotate(at=Max("before__finished_at"))
    }
    found: dict[int, list[Standing]] = defaultdict(list)
    for gate in gates:
        operation = gate.operation
        since = {
            Gate.Timing.BEFORE: arrived.get(operation.pk),
            Gate.Timing.DURING: operation.started_at,
            Gate.Timing.AFTER: operation.finished_at,
        }[Gate.Timing(gate.timing)]
        if since is not None:
            unit = str(operation.unit) if operation.unit else ""
            found[operation.route_id].append(
                Standing(
                    gate.pk,
                    gate.timing,
                    gate.reason,
                    operation.pk,
                    operation.name,
                    unit,
                    since,
                )
            )
    return found


def _approvals(routes: Collection[int]) -> dict[int, list[Approval]]:
    found: dict[int, list[Approval]] = defaultdict(list)
    for operation in (
        Operation.objects.open()
        .filter(
            route_id__in=routes,
            route__state=Route.State.RELEASED,
            kind=Operation.Kind.APPROVAL,
            state__in=[State.STARTED, State.STOPPED],
        )
        .select_related("route")
    ):
        if operation.started_at is not None:
            due = operation.started_at + timedelta(minutes=operation.minutes)
            found[operation.route_id].append(
                Approval(operation.pk, operation.name, operation.route.label, due)
            )
    return found


def _unplanned(
    routes: Collection[int], now: datetime
) -> dict[int, list[tuple[InspectionPoint, datetime]]]:
    """Points that a customer or third party attends without a visit planned, still to come."""
    outside = Q(customer__in=[Part.HOLD, Part.WITNESS]) | Q(
        third_party__in=[Part.HOLD, Part.WITNESS]
    )
    upcoming = Visit.objects.upcoming().filter(route_id__in=routes, points__isnull=False)
    planned = set(upcoming.values_list("points", flat=True))
    found: dict[int, list[tuple[InspectionPoint, datetime]]] = defaultdict(list)
    for point in (
        InspectionPoint.objects.filter(
            outside,
            plan__route_id__in=routes,
            plan__route__state=Route.State.RELEASED,
            withdrawn_at=None,
            operation__dropped_in=None,
            releases=None,
        )
        .exclude(operation__state=State.FINISHED)
        .exclude(pk__in=planned)
        .select_related("operation__unit")
        .order_by("operation__position", "pk")
    ):
        at = needed_at(point.operation, point.timing)
        if at is not None:
            found[point.operation.route_id].append((point, max(at, now)))
    return found


def _held_since(orders: Iterable[Order]) -> dict[int, datetime]:
    held = [order.pk for order in orders if order.state == Order.State.ON_HOLD]
    rows = Event.objects.filter(
        about_kind="orders.order", about_id__in=held, deed=Fact.ORDER_HELD
    ).order_by("pk")
    return dict(rows.values_list("about_id", "at"))
