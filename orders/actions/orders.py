"""Deeds about an order: taking it in hand, holding, resuming, cancelling, its dates and weight."""

from collections.abc import Collection
from datetime import date, datetime

from django.db import transaction

from orders.errors import DateInPast, NoChoice, NoItems, NoTemplate, NotSpares, WrongState
from orders.facts import Fact
from orders.milestones import Step, first_day, reached
from orders.models import Item, Milestone, Order
from orders.numbers import serial_number
from orders.shipping import worked_back
from orders.terms import configuration_of, quality_terms, schedule_terms, spare_facts
from quality.actions.plans import write_plan
from schedule.actions import routes
from schedule.actions.forecast import forecast_once
from schedule.actions.pieces import put_on_shelf
from schedule.models import Piece, Route, RouteTemplate
from works.errors import ChangedMeanwhile, ReasonMissing
from works.events import record
from works.models import Person, Site
from works.people import Group, require

FIRST_PUBLICATION = "as agreed when the order was placed"
TO_BE_MADE = (Route.State.DRAFT, Route.State.RELEASED, Route.State.ON_HOLD)


@transaction.atomic
def take_order(
    *,
    order_id: int,
    promised_on: date,
    customer_reference: str,
    today: date,
    by: Person,
    at: datetime,
    version: int | None = None,
) -> Order:
    """Turn an enquiry into an order: grow each item's route, write its inspection plan.

    promised_on : the contract's date on site; ship-by follows it along the lane
    version : of the enquiry as the person saw it; None takes it as it is
    raises : NotAllowed; WrongState; ChangedMeanwhile; DateInPast; NoItems; NoChoice; NotSpares;
        NoTemplate; NoWay; BadTerm; schedule's refusals while a route cannot be grown
    """
    require(by, Group.PLANNER, Group.APPLICATION_ENGINEER, deed="take an order in hand")
    order = _locked(order_id)
    _must_be(order, Order.State.ENQUIRY, deed="take it in hand")
    if version is not None and order.version != version:
        raise ChangedMeanwhile(what=f"Enquiry {order.number}")
    if promised_on < today:
        raise DateInPast(what="The date promised on site", on=promised_on, today=today)
    items = list(order.items.select_related("choice").order_by("number"))
    if not items:
        raise NoItems(order=order.number)
    order.ship_by_on = worked_back(order.lane, promised_on, now=at).ship_on
    if order.ship_by_on < today:
        raise DateInPast(
            what="For that date on site the last day of shipping", on=order.ship_by_on, today=today
        )
    order.on_site_on = order.promised_on = promised_on
    order.state = Order.State.ORDERED
    order.ordered_on = today
    order.customer_reference = customer_reference.strip() or order.customer_reference
    order.version += 1
    order.full_clean()
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
    if item.kind == Item.Kind.SPARES_IMPELLER and not item.spare_for.get("impeller_pattern"):
        raise NotSpares(item=str(item), lacks="its impeller pattern")
    template = RouteTemplate.objects.filter(kind=item.kind).order_by("-version", "pk").first()
    if template is None:
        raise NoTemplate(kind=item.get_kind_display())
    configuration = configuration_of(item)
    with forecast_once(now=at):
        route = routes.grow_route(
            label=f"{item} {item.tag}".strip(),
            template=template,
            configuration=configuration,
            terms=schedule_terms(order, item),
            quantity=item.quantity,
            due_on=order.ship_by_on,
            weight=order.priority,
            choice=item.choice,
            spare=spare_facts(item),
            by=by,
            at=at,
        )
        give_serials(item=item, order=order, route=route, by=by, at=at)
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


def give_serials(*, item: Item, order: Order, route: Route, by: Person, at: datetime) -> None:
    """Give serial numbers to the units of a route that have none."""
    fresh = route.units.filter(serial=None, dropped_in=None).values_list("number", flat=True)
    serials = {number: serial_number(order.number, item.number, number) for number in fresh}
    if serials:
        routes.give_serials(route_id=route.pk, serials=serials, by=by, at=at)


def publish_first_dates(*, item: Item, order: Order, by: Person, at: datetime) -> None:
    """Tell the dates that the schedule worked back from ship-by gives, and the contract's own.

    Milestones told already stay: they move by a person's word only.
    """
    assert item.route is not None
    zone = Site.current().zone
    steps = item.route.operations.live().values_list(
        "code", "finished_at", "latest_finish_at", "earliest_finish_at"
    )
    days: dict[str, date | None] = {
        found.milestone: first_day(found, ship_by_on=order.ship_by_on, zone=zone)
        for found in reached(Step(*row) for row in steps)
    }
    days[Milestone.SHIPPED] = order.ship_by_on
    days[Milestone.ON_SITE] = order.on_site_on
    told = set(item.published_dates.values_list("milestone", flat=True))
    for milestone, day in days.items():
        if day is not None and milestone not in told:
            item.published_dates.create(
                milestone=milestone, on=day, reason=FIRST_PUBLICATION, by=by, at=at
            )
    if Milestone.SHIPPED not in told:
        routes.set_published(
            route_id=item.route.pk, on=order.ship_by_on, reason=FIRST_PUBLICATION, by=by, at=at
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
    for route in _routes(order, (Route.State.DRAFT, Route.State.RELEASED)):
        routes.hold_route(route_id=route, reason=reason, by=by, at=at)
    record(Fact.ORDER_HELD, about=order, by=by, at=at, after={"reason": order.hold_reason})
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
    for route in _routes(order, (Route.State.ON_HOLD,)):
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
    _must_be_in_work(order, deed="cancel it")
    if not reason.strip():
        raise ReasonMissing(deed="cancel an order")
    order.state, order.hold_reason, order.version = (
        Order.State.CANCELLED,
        "",
        order.version + 1,
    )
    order.save(update_fields=["state", "hold_reason", "version"])
    cancelled = _routes(order, TO_BE_MADE)
    for route in cancelled:
        routes.cancel_route(route_id=route, reason=reason, by=by, at=at)
    castings = _shelve(cancelled, reason=f"order {order.number} cancelled", by=by, at=at)
    after = {"reason": reason.strip(), "castings on the shelf": castings}
    record(Fact.ORDER_CANCELLED, about=order, by=by, at=at, after=after)
    return order


@transaction.atomic
def set_priority(
    *, order_id: int, priority: int, reason: str, version: int, by: Person, at: datetime
) -> Order:
    """Say how much a day late of this order costs against the others.

    priority : 1 to 9
    raises : NotAllowed; WrongState; ReasonMissing; ChangedMeanwhile; ValidationError
    """
    require(by, Group.PLANNER, deed="change an order's priority")
    order = _locked(order_id)
    _must_be_in_work(order, deed="change its priority")
    if order.version != version:
        raise ChangedMeanwhile(what=f"Order {order.number}")
    if not reason.strip():
        raise ReasonMissing(deed="change an order's priority")
    before = {"priority": order.priority}
    order.priority, order.version = priority, order.version + 1
    order.full_clean()
    order.save(update_fields=["priority", "version"])
    for route in _routes(order, TO_BE_MADE):
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

    The dates published to the customer stay until a person moves them.
    raises : NotAllowed; WrongState; DateInPast; ReasonMissing; ChangedMeanwhile; NoWay;
        schedule's BadFigure for a ship-by in the past
    """
    require(by, Group.PLANNER, deed="agree another date")
    order = _locked(order_id)
    _must_be_in_work(order, deed="agree another date")
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
    order.ship_by_on = worked_back(order.lane, promised_on, now=at).ship_on
    order.version += 1
    order.full_clean()
    order.save(update_fields=["on_site_on", "promised_on", "ship_by_on", "version"])
    for route in _routes(order, TO_BE_MADE):
        routes.set_due(route_id=route, due_on=order.ship_by_on, reason=reason, by=by, at=at)
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


def _must_be_in_work(order: Order, *, deed: str) -> None:
    if order.state not in {Order.State.ORDERED, Order.State.ON_HOLD}:
        raise WrongState(
            order=order.number, state=order.get_state_display(), deed=deed, wanted="in work"
        )


def _routes(order: Order, states: Collection[str]) -> list[int]:
    return list(
        order.items.filter(route__state__in=states)
        .order_by("number")
        .values_list("route_id", flat=True)
    )


def _shelve(route_ids: Collection[int], *, reason: str, by: Person, at: datetime) -> list[str]:
    """Put the castings of routes on the shelf, for whoever needs them next."""
    pieces = Piece.objects.filter(unit__route_id__in=route_ids, state=Piece.State.TAKEN)
    return [
        put_on_shelf(piece_id=pk, reason=reason, by=by, at=at).mark
        for pk in pieces.order_by("pk").values_list("pk", flat=True)
    ]
