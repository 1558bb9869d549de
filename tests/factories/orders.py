"""The smallest valid customers, enquiries, choices and orders; routes by the house's templates."""

from datetime import UTC, date, datetime, time
from typing import Any

from django.test import Client

from orders.actions.customers import add_contact, add_customer
from orders.actions.enquiries import enter_enquiry
from orders.actions.items import add_item, take_choice
from orders.actions.links import make_link
from orders.actions.orders import take_order
from orders.contract import Contract
from orders.models import Customer, CustomerLink, Item, Order
from schedule.actions.calendars import NewShift, add_calendar
from schedule.actions.lanes import add_lane
from schedule.actions.templates import load_standard_templates
from schedule.actions.work_centres import load_standard_work_centres
from schedule.models import Lane, Operation, WorkCentre
from selection.configuration import Configuration
from selection.models import Choice, Impeller, Pattern, PumpSize, Study
from tests.factories.schedule import SiteFactory, configuration, person
from tests.factories.selection import results
from works.models import Person
from works.people import Group

NOW = datetime(2026, 3, 4, 10, 0, tzinfo=UTC)  # a Wednesday
TODAY = NOW.date()
ON_SITE = date(2026, 9, 18)  # far enough for everybody to be in time


def planner() -> Person:
    return person(Group.PLANNER)


def engineer() -> Person:
    return person(Group.APPLICATION_ENGINEER)


def works_manager() -> Person:
    return person(Group.WORKS_MANAGER)


def viewer() -> Person:
    return person(Group.VIEWER)


def whole_works() -> None:
    """A site with a calendar, the house's work centres and templates; once a test."""
    SiteFactory.create()
    if WorkCentre.objects.exists():
        return
    week = [
        NewShift(weekday=day, starts=starts, ends=ends)
        for day in range(5)
        for starts, ends in ((time(8), time(12)), (time(13), time(17)))
    ]
    calendar = add_calendar(name="One shift", shifts=week, by=None, at=NOW)
    load_standard_work_centres(calendar_id=calendar.pk, by=None, at=NOW)
    load_standard_templates(by=None, at=NOW)


def lane(name: str = "Sea to Walvis Bay") -> Lane:
    found = Lane.objects.filter(name=name).first()
    return found or add_lane(
        name=name,
        mode="sea",
        destination="Walvis Bay",
        country="NA",
        door_to_port_days=1,
        cut_off_days=2,
        sailing_weekdays=[4],
        voyage_days=24,
        customs_days=5,
        haulage_days=2,
        by=None,
        at=NOW,
    )


def customer(name: str = "Lagarosa Irrigation Scheme", country: str = "NA") -> Customer:
    found = Customer.objects.filter(name=name).first()
    return found or add_customer(
        name=name, country=country, note="pays late, never say so", by=planner(), at=NOW
    )


def enquiry(*, of: Customer | None = None, **fields: Any) -> Order:
    """An enquiry without items."""
    whole_works()
    of = of or customer()
    values: dict[str, Any] = {
        "customer_id": of.pk,
        "customer_reference": "PO 4711",
        "project": "Pump station 2",
        "delivery_term": "CIF",
        "destination": "Walvis Bay",
        "lane_id": lane().pk,
        "on_site_on": ON_SITE,
        "penalty": "1 % a week",
        "note": "margin is thin",
        "value_eur": 214000,
        "today": TODAY,
        "by": planner(),
        "at": NOW,
        **fields,
    }
    return enter_enquiry(**values)


def size() -> PumpSize:
    """A casing with its pattern."""
    pattern, _ = Pattern.objects.get_or_create(
        number="P-CASING",
        defaults={
            "part": Pattern.Part.CASING,
            "revision": "C",
            "core_boxes": 4,
            "contraction_percent": 1.0,
        },
    )
    found, _ = PumpSize.objects.get_or_create(
        name="TB 250-400",
        defaults={
            "pattern": pattern,
            "suction_dn": 300,
            "discharge_dn": 250,
            "allowable_pressure_pa": 1_600_000.0,
            "casing_mass_kg": 700.0,
            "pump_mass_kg": 1250.0,
            "shaft_diameter_mm": 75.0,
            "bearing_span_mm": 900.0,
            "bearing_dynamic_rating_n": 90_000.0,
            "sleeve_to_bearing_mm": 180.0,
            "rotor_mass_kg": 120.0,
            "inertia_kg_m2": 1.2,
            "speed_max_rpm": 1800.0,
            "box_bore_mm": 110.0,
        },
    )
    return found


def impeller() -> Impeller:
    pattern, _ = Pattern.objects.get_or_create(
        number="P-IMPELLER",
        defaults={
            "part": Pattern.Part.IMPELLER,
            "revision": "B",
            "core_boxes": 1,
            "contraction_percent": 1.6,
        },
    )
    found, _ = Impeller.objects.get_or_create(
        size=size(),
        name="A",
        defaults={
            "pattern": pattern,
            "vanes": 6,
            "outlet_width_mm": 42.0,
            "outlet_angle_deg": 26.0,
            "eye_diameter_mm": 190.0,
            "full_diameter_mm": 410.0,
            "least_diameter_mm": 330.0,
            "mass_kg": 38.0,
        },
    )
    return found


def choice(study: Study | None, **changes: Any) -> Choice:
    """A frozen choice of a study; `changes` are fields of the pump's configuration."""
    assert study is not None
    pump: Configuration = configuration(**{"casing_metal": "GJL-250", **changes})
    blades = impeller()
    return Choice.objects.create(
        study=study,
        number=study.choices.count() + 1,
        size=blades.size,
        impeller=blades,
        inputs={},
        configuration=pump.as_data(),
        results=results(),
        engine_version="0",
        by=None,
        at=NOW,
    )


def pumps(order: Order, quantity: int = 1, tag: str = "P-101", **changes: Any) -> Item:
    """An item of pumps with its choice taken."""
    by = engineer()
    item = add_item(order_id=order.pk, kind="pump", quantity=quantity, tag=tag, by=by, at=NOW)
    chosen = choice(item.study, **changes)
    return take_choice(item_id=item.pk, choice_id=chosen.pk, by=by, at=NOW)


def spares(order: Order, kind: str = "spares impeller", quantity: int = 1) -> Item:
    impeller()
    facts = {
        "pump": "TB 250-400, serial 19-033-1-01",
        "impeller_pattern": "P-IMPELLER",
        "impeller_metal": "CC491K",
        "rotation": "clockwise",
        "shaft_metal": "1.4021",
    }
    return add_item(
        order_id=order.pk, kind=kind, quantity=quantity, spare_for=facts, by=engineer(), at=NOW
    )


def taken(order: Order, **fields: Any) -> Order:
    """The enquiry taken in hand."""
    values: dict[str, Any] = {
        "promised_on": order.on_site_on,
        "customer_reference": "PO 4711",
        "today": TODAY,
        "by": planner(),
        "at": NOW,
        **fields,
    }
    return take_order(order_id=order.pk, **values)


def ordered(
    *,
    quantity: int = 1,
    of: Customer | None = None,
    contract: Contract | None = None,
    choice: dict[str, Any] | None = None,
    **fields: Any,
) -> Order:
    """An order in work with one item of pumps; `choice` changes the pump's configuration."""
    order = enquiry(of=of, contract=contract, **fields)
    pumps(order, quantity, **(choice or {}))
    return taken(order)


def only_item(order: Order) -> Item:
    return order.items.select_related("route", "choice", "study", "inspection_plan").get()


def step(order: Order, code: str, unit: int | None = 1) -> Operation:
    """A live operation of the order's one item."""
    found = Operation.objects.live().filter(route__item__order=order, code=code)
    if found.exclude(unit=None).exists():
        found = found.filter(unit__number=unit or 1)
    return found.select_related("unit", "route").get()


def link(order: Order, *, may_answer: bool = True, **fields: Any) -> tuple[CustomerLink, str]:
    """A private link that lasts a month from now, and its secret."""
    values: dict[str, Any] = {
        "order_id": order.pk,
        "contact_id": None,
        "may_answer": may_answer,
        "expires_at": datetime(2099, 1, 1, tzinfo=UTC),
        "by": planner(),
        "at": NOW,
        **fields,
    }
    return make_link(**values)


def contact(of: Customer, name: str = "Hendrina Amupolo") -> int:
    made = add_contact(
        customer_id=of.pk,
        name=name,
        email="h.amupolo@example.org",
        is_inspector=True,
        by=planner(),
        at=NOW,
    )
    return made.pk


def signed_in(client: Client, who: Person | None = None) -> Client:
    """A client signed in as somebody, a planner unless told."""
    client.force_login(who or planner())
    return client
