"""Loading everything in turn, with progress that the pages show."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from django.db import transaction
from django.utils import timezone

from orders.actions import customers, deliveries, enquiries, items, orders, reports
from orders.contract import Contract
from orders.demonstration.choosing import choose
from orders.demonstration.orders import CUSTOMERS, PUMP, ROWS, STRICT, Row
from orders.demonstration.people import load_people, load_site
from orders.demonstration.progress import Advance
from orders.models import Contact, Customer, Item, Order
from quality.actions.nonconformances import ask_buyer
from quality.demonstration import load_instruments
from quality.models import Nonconformance
from schedule.actions.forecast import forecast_once
from schedule.actions.pieces import scrap_piece
from schedule.demonstration import load_lanes, load_works
from schedule.models import Lane, Piece
from schedule.queries.lanes import on_site
from selection.demonstration import load_catalogue
from selection.models import Impeller, PumpSize
from works.actions import load_standards
from works.jobs import progress
from works.models import Job, Person

LEAD_WEEKS = 17


@dataclass(frozen=True)
class Setting:
    """What every order is entered with."""

    people: dict[str, Person]
    lanes: dict[str, Lane]
    customers: dict[str, tuple[Customer, Contact]]
    now: datetime

    @property
    def today(self) -> date:
        return timezone.localdate(self.now)


def load(job: Job) -> int:
    """Load the whole demonstration; each step commits by itself.

    returns : how many orders there are
    """
    now = timezone.now()
    total = len(ROWS) + 3
    progress(job, phase="site, people, tables of standards", done=0, total=total)
    with transaction.atomic():
        site = load_site(at=now)
        people = load_people(at=now)
        load_standards()
    with timezone.override(site.zone):
        progress(job, phase="calendars, work centres, lanes, catalogue", done=1, total=total)
        with transaction.atomic():
            today = timezone.localdate(now)
            load_works(by=people["manager"], at=now, today=today)
            lanes = load_lanes(by=people["manager"], at=now)
            load_catalogue(by=people["engineer"], at=now, today=today)
            load_instruments(by=people["quality"], at=now, today=today)
        setting = Setting(people, lanes, _customers(people["engineer"], now), now)
        for number, row in enumerate(ROWS, start=1):
            progress(job, phase=f"order for {row.project}", done=1 + number, total=total)
            # The forecast of the day it was taken is what its work then follows.
            with transaction.atomic():
                order = _enter(row, setting)
            with transaction.atomic(), forecast_once(now=now):
                _afterwards(row, order, setting)
    return Order.objects.count()


def _customers(by: Person, at: datetime) -> dict[str, tuple[Customer, Contact]]:
    made = {}
    for key, (name, country, contact, inspector) in CUSTOMERS.items():
        customer = customers.add_customer(name=name, country=country, by=by, at=at)
        host = f"{key}.example"
        person = customers.add_contact(
            customer_id=customer.pk,
            name=contact,
            email=f"orders@{host}",
            is_inspector=False,
            by=by,
            at=at,
        )
        customers.add_contact(
            customer_id=customer.pk,
            name=inspector,
            email=f"inspection@{host}",
            is_inspector=True,
            by=by,
            at=at,
        )
        made[key] = (customer, person)
    return made


def _enter(row: Row, setting: Setting) -> Order:
    """An enquiry, its choice, and where the row says so the order and its progress."""
    engineer, planner = setting.people["engineer"], setting.people["planner"]
    age = row.age if row.age is not None else 0
    taken_at = setting.now - timedelta(days=age)
    asked_at = taken_at - timedelta(days=9 if row.age is not None else 2)
    lane = setting.lanes[row.lane]
    wanted = _on_site(row, lane, setting, taken_at)
    customer, contact = setting.customers[row.customer]
    order = enquiries.enter_enquiry(
        customer_id=customer.pk,
        contact_id=contact.pk,
        customer_reference=f"PO-{customer.pk:02d}{age:03d}" if row.age is not None else "",
        project=row.project,
        delivery_term=row.term,
        destination=row.destination,
        lane_id=lane.pk,
        on_site_on=wanted,
        priority=row.priority,
        value_eur=Decimal(row.value_eur),
        penalty="0.5 % a week, 5 % at most" if row.contract == STRICT else "",
        contract=Contract(**row.contract),
        today=timezone.localdate(asked_at),
        by=engineer,
        at=asked_at,
    )
    item = items.add_item(
        order_id=order.pk,
        kind=row.kind,
        quantity=row.quantity,
        tag=f"P-{order.pk:03d}",
        description="" if row.kind == PUMP else row.project,
        spare_for=_spare(row),
        by=engineer,
        at=asked_at,
    )
    if row.special == "open enquiry":
        return order
    if row.kind == PUMP:
        assert item.study is not None
        choice = choose(item.study, row, by=engineer, at=asked_at)
        items.take_choice(item_id=item.pk, choice_id=choice.pk, by=engineer, at=asked_at)
    if row.age is None:
        return order
    return orders.take_order(
        order_id=order.pk,
        promised_on=wanted,
        customer_reference=order.customer_reference,
        today=timezone.localdate(taken_at),
        by=planner,
        at=taken_at,
    )


def _on_site(row: Row, lane: Lane, setting: Setting, taken_at: datetime) -> date:
    if row.special == "lead":
        return setting.today + timedelta(weeks=LEAD_WEEKS)
    ship = timezone.localdate(taken_at) + timedelta(days=row.room)
    return on_site(lane, ship, now=taken_at).on_site_on


def _spare(row: Row) -> dict[str, str]:
    """A spares item names the casing it is for, and what is cast or turned."""
    if row.kind == PUMP:
        return {}
    size = PumpSize.objects.select_related("pattern").get(name=row.casing)
    impeller = Impeller.objects.select_related("pattern").filter(size=size).order_by("name")[0]
    return {
        "pump": size.name,
        "shaft_metal": "431",
        "impeller_pattern": impeller.pattern.number,
        "impeller_metal": "CC480K",
        "rotation": "clockwise",
    }


def _afterwards(row: Row, order: Order, setting: Setting) -> None:
    """Bring the order to where it stands today, and let happen what the row says."""
    people, now = setting.people, setting.now
    if row.age is None:
        return
    item = order.items.select_related("route").get()
    assert item.route is not None
    advance = Advance(
        route=item.route,
        people=people,
        taken_at=now - timedelta(days=row.age),
        until=now - timedelta(hours=1),
        lag=row.lag,
        withheld=frozenset({"DIMENSIONS-UPPER"} if row.special == "held" else ()),
        leak=row.special == "body leak",
    )
    advance.run()
    if row.special in {"body leak", "scrap", "part delivery", "on hold", "cancelled", "shipped"}:
        _special(row, order, item, setting)
    reports.issue_status_report(order_id=order.pk, by=people["planner"], at=now)


def _special(row: Row, order: Order, item: Item, setting: Setting) -> None:
    people, now = setting.people, setting.now
    if row.special == "body leak":
        found = Nonconformance.objects.filter(route=item.route).first()
        if found is not None:
            ask_buyer(
                nonconformance_id=found.pk,
                proposed=Nonconformance.Disposition.REPAIR,
                question=(
                    "The upper half of one pump sweats at the volute tongue under test pressure. "
                    "We propose to impregnate it by the agreed procedure and to repeat the "
                    "pressure test. May we?"
                ),
                by=people["quality"],
                at=now - timedelta(hours=3),
            )
    elif row.special == "scrap":
        piece = Piece.objects.filter(unit__route=item.route, part="impeller").first()
        if piece is not None:
            scrap_piece(
                piece_id=piece.pk,
                reason="shrinkage cavity at the hub",
                recast=True,
                by=people["quality"],
                at=now - timedelta(hours=2),
            )
    elif row.special == "part delivery":
        first = item.route.units.order_by("number").first() if item.route else None
        if first is not None:
            deliveries.set_delivery(
                order_id=order.pk,
                unit_ids=[first.pk],
                ship_by_on=order.ship_by_on - timedelta(days=10),
                note="first pump ahead of the season",
                by=people["planner"],
                at=now,
            )
    elif row.special == "on hold":
        orders.hold_order(
            order_id=order.pk,
            reason="customer's civil works stand still",
            by=people["planner"],
            at=now - timedelta(days=6),
        )
    elif row.special == "cancelled":
        orders.cancel_order(
            order_id=order.pk,
            reason="customer withdrew the project",
            by=people["manager"],
            at=now - timedelta(days=4),
        )
    elif row.special == "shipped" and item.route is not None:
        deliveries.ship(
            order_id=order.pk,
            unit_ids=list(item.route.units.values_list("pk", flat=True)),
            on=setting.today,
            by=people["planner"],
            at=now,
        )
