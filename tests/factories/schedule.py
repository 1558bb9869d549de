"""The smallest valid calendars, work centres, templates and routes."""

from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import factory

from schedule.actions.growing import grow_route
from schedule.actions.routes import release_route
from schedule.models import (
    BoughtOut,
    Calendar,
    Gate,
    Lane,
    Link,
    Operation,
    Piece,
    Route,
    RouteTemplate,
    Shift,
    TemplateOperation,
    Unit,
    WorkCentre,
)
from schedule.planning.conditions import Terms
from schedule.planning.template import read_template
from selection.models import Pattern
from tests.factories.selection import PatternFactory, configuration
from tests.factories.works import PersonFactory, SiteFactory, person
from works.people import Area

__all__ = ["PersonFactory", "configuration", "person"]  # tests of the apps above ask for them here

ZONE = ZoneInfo("Europe/Lisbon")
# A Wednesday in a week without holidays, in winter time: the works' clock shows UTC.
NOW = datetime(2026, 3, 4, 10, 0, tzinfo=UTC)
DUE = date(2026, 5, 29)

SMALL_TEMPLATE = Path(__file__).with_name("small_route.csv").read_text(encoding="utf-8")


class CalendarFactory(factory.django.DjangoModelFactory[Calendar]):
    """Monday to Friday, 08:00 to 12:00 and 13:00 to 17:00."""

    class Meta:
        model = Calendar
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"One shift {n}")
    country = "PT"

    @factory.post_generation
    def shifts(self: Any, create: bool, extracted: Any, **_: Any) -> None:
        hours = extracted or [(time(8), time(12)), (time(13), time(17))]
        Shift.objects.bulk_create(
            Shift(calendar_id=self.pk, weekday=weekday, starts=starts, ends=ends)
            for weekday in range(5)
            for starts, ends in hours
        )


class WorkCentreFactory(factory.django.DjangoModelFactory[WorkCentre]):
    class Meta:
        model = WorkCentre
        django_get_or_create = ("code",)

    code = factory.Sequence(lambda n: f"CENTRE-{n}")
    name = factory.LazyAttribute(lambda centre: centre.code.capitalize())
    area = Area.MACHINE_SHOP
    calendar = factory.SubFactory(CalendarFactory)


class LaneFactory(factory.django.DjangoModelFactory[Lane]):
    class Meta:
        model = Lane

    name = factory.Sequence(lambda n: f"Sea to Walvis Bay {n}")
    mode = Lane.Mode.SEA
    destination = "Walvis Bay"
    country = "NA"
    door_to_port_days = 1
    cut_off_days = 2
    sailing_weekdays = [4]
    voyage_days = 24
    customs_days = 5
    haulage_days = 2


class RouteTemplateFactory(factory.django.DjangoModelFactory[RouteTemplate]):
    class Meta:
        model = RouteTemplate
        django_get_or_create = ("name",)

    name = "bare"
    kind = "pump"


class RouteFactory(factory.django.DjangoModelFactory[Route]):
    """A released route without operations."""

    class Meta:
        model = Route

    label = factory.Sequence(lambda n: f"T-{n:04d}/1")
    template = factory.SubFactory(RouteTemplateFactory)
    state = Route.State.RELEASED
    quantity = 1
    due_on = DUE


class UnitFactory(factory.django.DjangoModelFactory[Unit]):
    class Meta:
        model = Unit

    route = factory.SubFactory(RouteFactory)
    number = factory.Sequence(lambda n: n + 1)


class OperationFactory(factory.django.DjangoModelFactory[Operation]):
    class Meta:
        model = Operation

    route = factory.SubFactory(RouteFactory)
    code = factory.Sequence(lambda n: f"OP-{n}")
    name = factory.LazyAttribute(lambda operation: f"Work {operation.code}")
    area = Area.MACHINE_SHOP
    work_centre = factory.SubFactory(WorkCentreFactory)
    minutes = 120
    position = factory.Sequence(lambda n: n)


class LinkFactory(factory.django.DjangoModelFactory[Link]):
    class Meta:
        model = Link


class GateFactory(factory.django.DjangoModelFactory[Gate]):
    class Meta:
        model = Gate

    operation = factory.SubFactory(OperationFactory)
    timing = Gate.Timing.BEFORE
    reason = "Dimensions checked"


class PieceFactory(factory.django.DjangoModelFactory[Piece]):
    """An impeller on the shelf."""

    class Meta:
        model = Piece

    mark = factory.Sequence(lambda n: f"C{n:05d}")
    part = Piece.Part.IMPELLER
    pattern = factory.SubFactory(PatternFactory)
    pattern_revision = "B"
    metal = "CC491K"
    heat = "H-1"


class BoughtOutFactory(factory.django.DjangoModelFactory[BoughtOut]):
    class Meta:
        model = BoughtOut

    operation = factory.SubFactory(
        OperationFactory, kind=Operation.Kind.BOUGHT_OUT, work_centre=None, minutes=14_400
    )
    item = "Mechanical seals"


def small_works(calendar: Calendar | None = None) -> RouteTemplate:
    """A site, the work centres of the small template, its patterns, and the template."""
    SiteFactory.create()
    calendar = calendar or CalendarFactory.create()
    for code, area in (
        ("DRAWING", Area.ENGINEERING),
        ("FOUNDRY", Area.FOUNDRY),
        ("LATHE", Area.MACHINE_SHOP),
        ("FLOOR", Area.ASSEMBLY),
        ("PACKING", Area.DISPATCH),
    ):
        WorkCentreFactory.create(code=code, area=area, calendar=calendar)
    PatternFactory.create(number="P-IMPELLER")
    PatternFactory.create(number="P-CASING", part=Pattern.Part.CASING, revision="C", core_boxes=4)
    template, made = RouteTemplate.objects.get_or_create(name="small", defaults={"kind": "pump"})
    if made:
        TemplateOperation.objects.bulk_create(
            TemplateOperation(template=template, position=n, code=row.code, row=row.as_json())
            for n, row in enumerate(read_template("small", SMALL_TEMPLATE).operations)
        )
    return template


def grown(*, released: bool = True, at: datetime = NOW, **fields: Any) -> Route:
    """A route grown from the small template, in work."""
    values: dict[str, Any] = {
        "label": f"T-{Route.objects.count():04d}/1",
        "configuration": configuration(),
        "terms": Terms(),
        "quantity": 1,
        "due_on": DUE,
        "weight": 2,
        "choice": None,
        "by": None,
        "at": at,
        **fields,
    }
    if "template" not in values:
        values["template"] = small_works()
    route = grow_route(**values)
    if released:
        route = release_route(route_id=route.pk, by=None, at=at)
    return route


def step(route: Route, code: str, unit: int = 1, repeat: int | None = None) -> Operation:
    """An operation of a route by its code; the latest repetition when none is named."""
    found = Operation.objects.filter(route=route, code=code)
    if found.exclude(unit=None).exists():
        found = found.filter(unit__number=unit)
    if repeat is not None:
        found = found.filter(repeat=repeat)
    return found.select_related("unit", "work_centre", "route").order_by("repeat").last()  # type: ignore[return-value]
