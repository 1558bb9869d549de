"""Deeds about an order: taking it in hand, holding, resuming, cancelling, its dates and weight."""

from datetime import date, datetime

from django.db import transaction

from orders.errors import DateInPast, NoChoice, NoItems, NoTemplate, WrongState
from orders.facts import Fact
from orders.milestones import Step, reached
from orders.models import Item, Milestone, Order
from orders.numbers import serial_number
from orders.terms import configuration_of, quality_terms, schedule_terms
from quality.actions.plans import write_plan
from schedule.actions import routes
from schedule.models import RouteTemplate
from schedule.queries.lanes import ship_by
from works.errors import ChangedMeanwhile, ReasonMissing
from works.events import record
from works.models import Person, Site
from works.people import Group, require

FIRST_PUBLICATION = "as agreed when the order was placed"


@transaction.atomic
def take_order(
    *,
    order_id: int,
    promised_on: date,
    customer_reference: str,
    today: date,
    by: Person,
    at: datetime,
) -> Order:
    """Turn an enquiry into an order: grow each item's route, write its inspection plan.

    promised_on : the contract's date on site; ship-by follows it along the lane
    raises : NotAllowed; WrongState; DateInPast; NoItems; NoChoice; NoTemplate
    """
    require(by, Group.PLANNER, Group.APPLICATION_ENGINEER, deed="take an order in hand")
    order = _locked(order_id)
    _must_be(order, Order.State.ENQUIRY, deed="take it in hand")
    if promised_on < today:
        raise DateInPast(what="The date promised on site", on=promised_on, today=today)
    items = list(order.items.select_related("choice").order_by("number"))
    if not items:
        raise NoItems(order=order.number)
    if order.lane is not None:
        order.ship_by_on = ship_by(order.lane, promised_on).ship_on
    order.on_site_on = order.promised_on = promised_on
    order.state = Order.State.ORDERED
    order.ordered_on = today
    order.customer_reference = customer_reference or order.customer_reference
    order.version += 1
    order.save()
    for item in items:
        put_in_work(item=item, order=order, by=by, at=at)
    after = {"promised_on": promised_on.isoformat(), "ship_by_on": order.ship_by_on.isoformat()}
    record(Fact.ORDER_TAKEN, about=order, by=by, at=at, after=after)
    return order


def put_in_work(*, item: Item, order: Order, by: Person, at: datetime) -> Item:
    """Grow an item's route, give its units serial numbers, write its plan, publish its dates."""
    if item.kind == Item.Kind.PUMP and item.choice is None:
        raise NoChoice(item=str(item))
    template = RouteTemplate.objects.filter(kind=item.kind).order_by("-version").first()
    if template is None:
        raise NoTemplate(kind=item.get_kind_display())
    configuration = configuration_of(item)
    route = routes.grow_route(
        label=f"{item} {item.tag}".strip(),
        template=template,
        configuration=configuration,
        terms=schedule_terms(order, item),
        quantity=item.quantity,
        due_on=order.ship_by_on,
        weight=order.priority,
        choice=item.choice,
        by=by,
        at=at,
    )
    routes.give_serials(
        route_id=route.pk,
        serials={
            unit.number: serial_number(order.number, item.number, unit.number)
            for unit in route.units.all()
        },
        by=by,
        at=at,
    )
    item.route = route
    item.inspection_plan = write_plan(
        route_id=route.pk,
        configuration=configuration,
        terms=quality_terms(order, item),
        by=by,
        at=at,
    )
    item.version += 1
    item.save(update_fields=["route", "inspection_plan", "version"])
    routes.release_route(route_id=route.pk, by=by, at=at)
    publish_first_dates(item=item, order=order, by=by, at=at)
    return item


def publish_first_dates(*, item: Item, order: Order, by: Person, at: datetime) -> None:
    """Tell the dates that the schedule worked back from ship-by gives, and the contract's own."""
    assert item.route is not None
    zone = Site.current().zone
    steps = item.route.operations.live().values_list("code", "finished_at", "latest_finish_at")
    days = {
        found.milestone: found.latest_at.astimezone(zone).date()
        for found in reached(Step(*row) for row in steps)
        if found.latest_at is not None
    }
    days[Milestone.SHIPPED] = order.ship_by_on
    days[Milestone.ON_SITE] = order.on_site_on
    for milestone, day in days.items():
        item.published_dates.create(
            milestone=milestone, on=day, reason=FIRST_PUBLICATION, by=by, at=at
        )


@transaction.atomic
def hold_order(*, order_id: int, reason: str, by: Person, at: datetime) -> Order:
    """Stop work on an order until it is resumed; its routes say so to the floor.

    raises : NotAllowed; WrongState; ReasonMissing
    """
    require(by, Group.PLANNER, deed="put an order on hold")
    order = _locked(order_id)
    _must_be(order, Order.State.ORDERED, deed="put it on hold")
    if not reason.strip():
        raise ReasonMissing(deed="put an order on hold")
    order.state, order.hold_reason, order.version = (
        Order.State.ON_HOLD,
        reason.strip(),
        order.version + 1,
    )
    order.save(update_fields=["state", "hold_reason", "version"])
    for route in _open_routes(order):
        routes.hold_route(route_id=route, reason=reason, by=by, at=at)
    record(Fact.ORDER_HELD, about=order, by=by, at=at, after={"reason": reason})
    return order


@transaction.atomic
def resume_order(*, order_id: int, by: Person, at: datetime) -> Order:
    """Let work on a held order go on.

    raises : NotAllowed; WrongState
    """
    require(by, Group.PLANNER, deed="resume an order")
    order = _locked(order_id)
    _must_be(order, Order.State.ON_HOLD, deed="resume it")
    before = {"reason": order.hold_reason}
    order.state, order.hold_reason, order.version = Order.State.ORDERED, "", order.version + 1
    order.save(update_fields=["state", "hold_reason", "version"])
    for route in _open_routes(order):
        routes.resume_route(route_id=route, by=by, at=at)
    record(Fact.ORDER_RESUMED, about=order, by=by, at=at, before=before)
    return order


@transaction.atomic
def cancel_order(*, order_id: int, reason: str, by: Person, at: datetime) -> Order:
    """Cancel an order in work; its castings go to the shelf with heat and certificates.

    raises : NotAllowed; WrongState; ReasonMissing
    """
    require(by, Group.WORKS_MANAGER, deed="cancel an order")
    order = _locked(order_id)
    if order.state not in {Order.State.ORDERED, Order.State.ON_HOLD}:
        raise WrongState(
            order=order.number, state=order.state, deed="cancel it", wanted="in work or on hold"
        )
    if not reason.strip():
        raise ReasonMissing(deed="cancel an order")
    order.state, order.hold_reason, order.version = (
        Order.State.CANCELLED,
        "",
        order.version + 1,
    )
    order.save(update_fields=["state", "hold_reason", "version"])
    for route in _open_routes(order):
        routes.cancel_route(route_id=route, reason=reason, by=by, at=at)
    record(Fact.ORDER_CANCELLED, about=order, by=by, at=at, after={"reason": reason})
    return order


@transaction.atomic
def set_priority(
    *, order_id: int, priority: int, reason: str, version: int, by: Person, at: datetime
) -> Order:
    """Say how much a day late of this order costs against the others.

    raises : NotAllowed; ReasonMissing; ChangedMeanwhile
    """
    require(by, Group.PLANNER, deed="change an order's priority")
    order = _locked(order_id)
    if order.version != version:
        raise ChangedMeanwhile(what=f"Order {order.number}")
    if not reason.strip():
        raise ReasonMissing(deed="change an order's priority")
    before = {"priority": order.priority}
    order.priority, order.version = priority, order.version + 1
    order.full_clean()
    order.save(update_fields=["priority", "version"])
    for route in _open_routes(order):
        routes.set_weight(route_id=route, weight=priority, by=by, at=at)
    record(
        Fact.PRIORITY_SET,
        about=order,
        by=by,
        at=at,
        before=before,
        after={"priority": priority, "reason": reason},
    )
    return order


@transaction.atomic
def set_dates(
    *,
    order_id: int,
    promised_on: date,
    reason: str,
    version: int,
    today: date,
    by: Person,
    at: datetime,
) -> Order:
    """Agree another date on site with the customer; ship-by and every route follow.

    raises : NotAllowed; DateInPast; ReasonMissing; ChangedMeanwhile; schedule's NoSailing
    """
    require(by, Group.PLANNER, deed="agree another date")
    order = _locked(order_id)
    if order.version != version:
        raise ChangedMeanwhile(what=f"Order {order.number}")
    if promised_on < today:
        raise DateInPast(what="The date on site", on=promised_on, today=today)
    if not reason.strip():
        raise ReasonMissing(deed="agree another date")
    before = {
        "on_site_on": order.on_site_on.isoformat(),
        "ship_by_on": order.ship_by_on.isoformat(),
    }
    order.on_site_on = order.promised_on = promised_on
    if order.lane is not None:
        order.ship_by_on = ship_by(order.lane, promised_on).ship_on
    order.version += 1
    order.save()
    for route in _open_routes(order):
        routes.set_due(route_id=route, due_on=order.ship_by_on, by=by, at=at)
    record(
        Fact.DATES_SET,
        about=order,
        by=by,
        at=at,
        before=before,
        after={
            "on_site_on": promised_on.isoformat(),
            "ship_by_on": order.ship_by_on.isoformat(),
            "reason": reason,
        },
    )
    return order


def _locked(order_id: int) -> Order:
    return Order.objects.select_for_update(of=("self",)).select_related("lane").get(pk=order_id)


def _must_be(order: Order, state: str, *, deed: str) -> None:
    if order.state != state:
        raise WrongState(
            order=order.number,
            state=order.get_state_display(),
            deed=deed,
            wanted=Order.State(state).label,
        )


def _open_routes(order: Order) -> list[int]:
    return list(
        order.items.exclude(route=None)
        .exclude(route__state__in=["shipped", "cancelled"])
        .values_list("route_id", flat=True)
    )
