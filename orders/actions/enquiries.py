"""Deeds about an enquiry: entering it, changing it, declining it; its items are in `items`."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from orders.contract import Contract
from orders.errors import DateInPast, WrongState
from orders.facts import Fact
from orders.models import Order
from orders.numbers import next_order_number
from orders.shipping import worked_back
from schedule.models import Lane
from works.errors import ChangedMeanwhile, ReasonMissing
from works.events import record
from works.models import Person
from works.people import Group, require


@transaction.atomic
def enter_enquiry(
    *,
    customer_id: int,
    contact_id: int | None = None,
    customer_reference: str = "",
    project: str = "",
    delivery_term: str,
    destination: str,
    lane_id: int | None,
    on_site_on: date,
    priority: int = 2,
    value_eur: Decimal | None = None,
    penalty: str = "",
    note: str = "",
    contract: Contract | None = None,
    today: date,
    by: Person,
    at: datetime,
) -> Order:
    """Enter what a customer asks for; ship-by is worked back along the lane at once.

    lane_id : None when the customer collects at the works
    raises : NotAllowed; DateInPast; NoWay when nothing leaves in time; ValidationError for a
        field that cannot be
    """
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="enter an enquiry")
    if on_site_on < today:
        raise DateInPast(what="The date on site", on=on_site_on, today=today)
    lane = Lane.objects.get(pk=lane_id) if lane_id is not None else None
    way = worked_back(lane, on_site_on, now=at)
    order = Order(
        number=next_order_number(today),
        customer_id=customer_id,
        contact_id=contact_id,
        customer_reference=customer_reference,
        project=project,
        delivery_term=delivery_term,
        destination=destination,
        lane_id=lane_id,
        on_site_on=on_site_on,
        ship_by_on=way.ship_on,
        priority=priority,
        value_eur=value_eur,
        penalty=penalty,
        note=note,
        contract=(contract or Contract()).as_data(),
    )
    order.full_clean()
    order.save()
    after = {"on_site_on": on_site_on.isoformat(), "ship_by_on": order.ship_by_on.isoformat()}
    record(Fact.ENQUIRY_ENTERED, about=order, by=by, at=at, after=after)
    return order


CHANGEABLE = frozenset(
    {
        "contact_id",
        "contract",
        "customer_reference",
        "delivery_term",
        "destination",
        "lane_id",
        "note",
        "on_site_on",
        "penalty",
        "priority",
        "project",
        "value_eur",
    }
)


@transaction.atomic
def change_enquiry(
    *,
    order_id: int,
    version: int,
    fields: dict[str, Any],
    today: date,
    by: Person,
    at: datetime,
) -> Order:
    """Change an enquiry's particulars; the version says what the person had before them.

    fields : by name, of `CHANGEABLE`; `contract` as a Contract
    raises : NotAllowed; WrongState once it is ordered; ChangedMeanwhile; DateInPast; NoWay;
        ValidationError
    """
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="change an enquiry")
    if strange := set(fields) - CHANGEABLE:
        raise ValueError(f"no particulars of an enquiry: {', '.join(sorted(strange))}")
    order = Order.objects.select_for_update().get(pk=order_id)
    must_be_enquiry(order, deed="change it here")
    if order.version != version:
        raise ChangedMeanwhile(what=f"Enquiry {order.number}")
    values: dict[str, Any] = {
        name: value.as_data() if isinstance(value, Contract) else value
        for name, value in fields.items()
    }
    changed: dict[str, Any] = {
        name: value for name, value in values.items() if getattr(order, name) != value
    }
    if not changed:
        return order
    wanted_on: date = changed.get("on_site_on", today)
    if wanted_on < today:
        raise DateInPast(what="The date on site", on=wanted_on, today=today)
    before = {name: _plain(getattr(order, name)) for name in changed}
    for name, value in changed.items():
        setattr(order, name, value)
    if {"lane_id", "on_site_on"} & set(changed):
        lane = Lane.objects.get(pk=order.lane_id) if order.lane_id is not None else None
        order.ship_by_on = worked_back(lane, order.on_site_on, now=at).ship_on
    order.version += 1
    order.full_clean()
    order.save()
    after = {name: _plain(value) for name, value in changed.items()}
    record(Fact.ENQUIRY_CHANGED, about=order, by=by, at=at, before=before, after=after)
    return order


@transaction.atomic
def decline_enquiry(*, order_id: int, reason: str, by: Person, at: datetime) -> Order:
    """Say no to an enquiry, or note that the customer did.

    raises : NotAllowed; WrongState; ReasonMissing
    """
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="decline an enquiry")
    order = Order.objects.select_for_update().get(pk=order_id)
    must_be_enquiry(order, deed="decline it")
    if not reason.strip():
        raise ReasonMissing(deed="decline an enquiry")
    order.state, order.version = Order.State.DECLINED, order.version + 1
    order.save(update_fields=["state", "version"])
    record(Fact.ENQUIRY_DECLINED, about=order, by=by, at=at, after={"reason": reason.strip()})
    return order


def must_be_enquiry(order: Order, *, deed: str) -> None:
    """raises : WrongState for anything that is no enquiry any more"""
    if order.state != Order.State.ENQUIRY:
        raise WrongState(
            order=order.number, state=order.get_state_display(), deed=deed, wanted="an enquiry"
        )


def _plain(value: object) -> object:
    return value if value is None or isinstance(value, int | dict) else str(value)
