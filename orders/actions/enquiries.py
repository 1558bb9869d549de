"""Deeds about an enquiry: entering it, its items, the choice an item takes, declining it."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from orders.contract import Contract
from orders.errors import DateInPast, ForeignChoice, WrongState
from orders.facts import Fact
from orders.models import Item, Order
from orders.numbers import next_order_number
from schedule.models import Lane
from schedule.queries.lanes import ship_by
from selection.models import Choice, Study
from works.errors import ChangedMeanwhile
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
    lane_id: int,
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

    raises : NotAllowed; DateInPast; schedule's NoSailing when nothing leaves in time;
        ValidationError for a field that cannot be
    """
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="enter an enquiry")
    if on_site_on < today:
        raise DateInPast(what="The date on site", on=on_site_on, today=today)
    shipment = ship_by(Lane.objects.get(pk=lane_id), on_site_on)
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
        ship_by_on=shipment.ship_on,
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


@transaction.atomic
def change_enquiry(
    *, order_id: int, version: int, fields: dict[str, Any], by: Person, at: datetime
) -> Order:
    """Change an enquiry's particulars; the version says what the person had before them.

    raises : NotAllowed; WrongState once it is ordered; ChangedMeanwhile
    """
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="change an enquiry")
    order = Order.objects.select_for_update().get(pk=order_id)
    if order.state != Order.State.ENQUIRY:
        raise WrongState(
            order=order.number, state=order.state, deed="change it here", wanted="an enquiry"
        )
    if order.version != version:
        raise ChangedMeanwhile(what=f"Enquiry {order.number}")
    before = {name: str(getattr(order, name)) for name in fields}
    for name, value in fields.items():
        setattr(order, name, value)
    if {"lane_id", "on_site_on"} & set(fields) and order.lane is not None:
        order.ship_by_on = ship_by(order.lane, order.on_site_on).ship_on
    order.version += 1
    order.full_clean()
    order.save()
    after = {name: str(getattr(order, name)) for name in fields}
    record(Fact.ENQUIRY_CHANGED, about=order, by=by, at=at, before=before, after=after)
    return order


@transaction.atomic
def add_item(
    *,
    order_id: int,
    kind: str,
    quantity: int,
    tag: str = "",
    description: str = "",
    spare_for: dict[str, Any] | None = None,
    by: Person,
    at: datetime,
) -> Item:
    """Add a line: pumps (with a study to choose them in) or spares.

    raises : NotAllowed; WrongState once the order is in work (that is a change then)
    """
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="add an item")
    order = Order.objects.select_for_update().get(pk=order_id)
    if order.state != Order.State.ENQUIRY:
        raise WrongState(
            order=order.number, state=order.state, deed="add an item", wanted="an enquiry"
        )
    number = order.items.count() + 1
    study = None
    if kind == Item.Kind.PUMP:
        study = Study.objects.create(
            title=f"{order.number}/{number} {tag}".strip(),
            origin_label=f"Order {order.number}, item {number}",
            origin_path=order.get_absolute_url(),
            by=by,
            at=at,
        )
    item = Item(
        order=order,
        number=number,
        kind=kind,
        quantity=quantity,
        tag=tag,
        description=description,
        study=study,
        spare_for=spare_for or {},
    )
    item.full_clean()
    item.save()
    after = {"item": number, "kind": kind, "quantity": quantity}
    record(Fact.ITEM_ADDED, about=order, by=by, at=at, after=after)
    return item


@transaction.atomic
def take_choice(*, item_id: int, choice_id: int, by: Person, at: datetime) -> Item:
    """Take a frozen choice for an item that is not in work yet.

    raises : NotAllowed; ForeignChoice; WrongState once in work (that is a change then)
    """
    require(by, Group.APPLICATION_ENGINEER, deed="take a choice")
    item = Item.objects.select_for_update(of=("self",)).select_related("order").get(pk=item_id)
    choice = Choice.objects.get(pk=choice_id)
    if item.route_id is not None:
        raise WrongState(
            order=item.order.number,
            state="in work",
            deed="take another choice",
            wanted="an enquiry; propose a change instead",
        )
    if choice.study_id != item.study_id:
        raise ForeignChoice(item=str(item), choice=str(choice))
    before = {"choice": item.choice_id}
    item.choice = choice
    item.version += 1
    item.save(update_fields=["choice", "version"])
    record(
        Fact.CHOICE_TAKEN,
        about=item.order,
        by=by,
        at=at,
        before=before,
        after={"item": item.number, "choice": str(choice)},
    )
    return item


@transaction.atomic
def decline_enquiry(*, order_id: int, reason: str, by: Person, at: datetime) -> Order:
    """Say no to an enquiry, or note that the customer did.

    raises : NotAllowed; WrongState
    """
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="decline an enquiry")
    order = Order.objects.select_for_update().get(pk=order_id)
    if order.state != Order.State.ENQUIRY:
        raise WrongState(
            order=order.number, state=order.state, deed="decline it", wanted="an enquiry"
        )
    order.state, order.version = Order.State.DECLINED, order.version + 1
    order.save(update_fields=["state", "version"])
    record(Fact.ENQUIRY_DECLINED, about=order, by=by, at=at, after={"reason": reason})
    return order
