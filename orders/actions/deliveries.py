"""Part deliveries: some units of an order ship by themselves, with their own ship-by."""

from collections.abc import Sequence
from datetime import date, datetime

from django.db import transaction

from orders.errors import NoUnits, UnitElsewhere, WrongState
from orders.facts import Fact
from orders.models import Delivery, Item, Order
from schedule.actions import routes
from schedule.actions.forecast import forecast_once
from schedule.models import Unit
from works.events import record
from works.models import Person
from works.people import Group, require


@transaction.atomic
def set_delivery(
    *,
    order_id: int,
    unit_ids: Sequence[int],
    ship_by_on: date,
    note: str = "",
    by: Person,
    at: datetime,
) -> Delivery:
    """Let units ship by themselves; each then has that day as its own due date.

    raises : NotAllowed; WrongState; NoUnits; UnitElsewhere for a unit of another order, shipped
        or in a delivery; schedule's BadFigure for a day in the past
    """
    require(by, Group.PLANNER, deed="plan a part delivery")
    order = Order.objects.select_for_update().get(pk=order_id)
    if order.state not in {Order.State.ORDERED, Order.State.ON_HOLD}:
        raise WrongState(
            order=order.number,
            state=order.get_state_display(),
            deed="plan a part delivery",
            wanted="in work",
        )
    units = _units(order, unit_ids, deed="deliver")
    for unit in units:
        if unit.deliveries.filter(shipped_on=None).exists():
            raise UnitElsewhere(
                unit=str(unit), order=order.number, why="it is in another delivery already"
            )
    delivery = Delivery.objects.create(
        order=order, number=order.deliveries.count() + 1, ship_by_on=ship_by_on, note=note.strip()
    )
    delivery.units.set(units)
    with forecast_once(now=at):
        for unit in units:
            routes.set_unit_due(unit_id=unit.pk, due_on=ship_by_on, by=by, at=at)
    after = {
        "delivery": delivery.number,
        "ship_by_on": ship_by_on.isoformat(),
        "units": [str(unit) for unit in units],
    }
    record(Fact.DELIVERY_SET, about=order, by=by, at=at, after=after)
    return delivery


@transaction.atomic
def drop_delivery(*, delivery_id: int, by: Person, at: datetime) -> Order:
    """Take a part delivery back: its units ship with the others again.

    raises : NotAllowed; WrongState once it has shipped
    """
    require(by, Group.PLANNER, deed="take a part delivery back")
    order_id = Delivery.objects.values_list("order_id", flat=True).get(pk=delivery_id)
    order = Order.objects.select_for_update().get(pk=order_id)
    delivery = order.deliveries.get(pk=delivery_id)
    if delivery.shipped_on is not None:
        raise WrongState(
            order=str(delivery), state="shipped", deed="take it back", wanted="not yet shipped"
        )
    units = list(delivery.units.all())
    with forecast_once(now=at):
        for unit in units:
            routes.set_unit_due(unit_id=unit.pk, due_on=None, by=by, at=at)
    before = {"delivery": delivery.number, "units": [str(unit) for unit in units]}
    delivery.units.clear()
    record(Fact.DELIVERY_SET, about=order, by=by, at=at, before=before, after={"units": []})
    return order


@transaction.atomic
def ship(*, order_id: int, unit_ids: Sequence[int], on: date, by: Person, at: datetime) -> Order:
    """Record that units left the works; the order is shipped when all have.

    A part delivery has shipped with the last of its units.
    raises : NotAllowed; WrongState; NoUnits; UnitElsewhere; schedule's refusals while work or a
        hold is open
    """
    require(by, Group.PLANNER, Group.SUPERVISOR, deed="ship units")
    order = Order.objects.select_for_update().get(pk=order_id)
    if order.state != Order.State.ORDERED:
        raise WrongState(
            order=order.number, state=order.get_state_display(), deed="ship it", wanted="in work"
        )
    units = _units(order, unit_ids, deed="ship")
    by_route: dict[int, list[int]] = {}
    for unit in units:
        by_route.setdefault(unit.route_id, []).append(unit.number)
    for route_id, numbers in by_route.items():
        routes.ship_units(route_id=route_id, units=numbers, on=on, by=by, at=at)
    for delivery in order.deliveries.filter(shipped_on=None, units__in=units).distinct():
        if not delivery.units.filter(shipped_on=None).exists():
            delivery.shipped_on = on
            delivery.save(update_fields=["shipped_on"])
    after = {"on": on.isoformat(), "units": [str(unit) for unit in units]}
    record(Fact.DELIVERY_SHIPPED, about=order, by=by, at=at, after=after)
    left = Unit.objects.filter(route__item__order=order, dropped_in=None, shipped_on=None)
    if not left.exists():
        order.state, order.version = Order.State.SHIPPED, order.version + 1
        order.save(update_fields=["state", "version"])
        record(Fact.ORDER_SHIPPED, about=order, by=by, at=at, after={"on": on.isoformat()})
    return order


def _units(order: Order, unit_ids: Sequence[int], *, deed: str) -> list[Unit]:
    """Units of the order that are still in the works.

    raises : NoUnits; UnitElsewhere
    """
    units = list(
        Unit.objects.select_related("route__item")
        .filter(pk__in=unit_ids, dropped_in=None)
        .order_by("route_id", "number")
    )
    if not units:
        raise NoUnits(deed=deed)
    for unit in units:
        item: Item | None = getattr(unit.route, "item", None)
        if item is None or item.order_id != order.pk:
            raise UnitElsewhere(unit=str(unit), order=order.number, why="it is of another order")
        if unit.shipped_on is not None:
            raise UnitElsewhere(unit=str(unit), order=order.number, why="it has left the works")
    return units
