"""Part deliveries: some units of an order ship by themselves, with their own ship-by."""

from collections.abc import Sequence
from datetime import date, datetime

from django.db import transaction

from orders.errors import UnitElsewhere, WrongState
from orders.facts import Fact
from orders.models import Delivery, Item, Order
from schedule.actions import routes
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

    raises : NotAllowed; UnitElsewhere for a unit of another order, shipped or in a delivery
    """
    require(by, Group.PLANNER, deed="plan a part delivery")
    order = Order.objects.select_for_update().get(pk=order_id)
    units = list(Unit.objects.select_related("route__item").filter(pk__in=unit_ids))
    for unit in units:
        _refuse_elsewhere(unit, order)
    delivery = Delivery.objects.create(
        order=order, number=order.deliveries.count() + 1, ship_by_on=ship_by_on, note=note
    )
    delivery.units.set(units)
    for unit in units:
        routes.set_unit_due(unit_id=unit.pk, due_on=ship_by_on, by=by, at=at)
    record(
        Fact.DELIVERY_SET,
        about=order,
        by=by,
        at=at,
        after={
            "delivery": delivery.number,
            "ship_by_on": ship_by_on.isoformat(),
            "units": [str(unit) for unit in units],
        },
    )
    return delivery


@transaction.atomic
def ship(
    *,
    order_id: int,
    unit_ids: Sequence[int],
    on: date,
    delivery_id: int | None = None,
    by: Person,
    at: datetime,
) -> Order:
    """Record that units left the works; the order is shipped when all have.

    raises : NotAllowed; WrongState; UnitElsewhere; schedule's refusals while dispatch is held
    """
    require(by, Group.PLANNER, Group.SUPERVISOR, deed="ship units")
    order = Order.objects.select_for_update().get(pk=order_id)
    if order.state != Order.State.ORDERED:
        raise WrongState(
            order=order.number, state=order.get_state_display(), deed="ship it", wanted="in work"
        )
    units = list(Unit.objects.select_related("route").filter(pk__in=unit_ids))
    for unit in units:
        if unit.route.item.order_id != order.pk:
            raise UnitElsewhere(unit=str(unit), order=order.number, why="it is of another order")
    for route_id in {unit.route_id for unit in units}:
        of_route = [unit.pk for unit in units if unit.route_id == route_id]
        routes.ship_units(unit_ids=of_route, on=on, by=by, at=at)
    if delivery_id is not None:
        order.deliveries.filter(pk=delivery_id).update(shipped_on=on)
    record(
        Fact.DELIVERY_SHIPPED,
        about=order,
        by=by,
        at=at,
        after={"on": on.isoformat(), "units": [str(unit) for unit in units]},
    )
    if not Unit.objects.filter(route__item__order=order, shipped_on=None).exists():
        order.state, order.version = Order.State.SHIPPED, order.version + 1
        order.save(update_fields=["state", "version"])
        record(Fact.ORDER_SHIPPED, about=order, by=by, at=at, after={"on": on.isoformat()})
    return order


def _refuse_elsewhere(unit: Unit, order: Order) -> None:
    item: Item = unit.route.item
    if item.order_id != order.pk:
        raise UnitElsewhere(unit=str(unit), order=order.number, why="it is of another order")
    if unit.shipped_on is not None:
        raise UnitElsewhere(unit=str(unit), order=order.number, why="it has left the works")
    if unit.deliveries.filter(shipped_on=None).exists():
        raise UnitElsewhere(
            unit=str(unit), order=order.number, why="it is in another delivery already"
        )
