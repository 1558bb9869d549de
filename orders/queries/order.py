"""An order's own page: everything about it from every app, in a constant number of queries."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db.models import Prefetch

from orders.effects import Effect
from orders.errors import NoWay
from orders.models import (
    Change,
    CustomerLink,
    Delivery,
    Item,
    Order,
    PublishedDate,
    StatusReport,
)
from orders.queries.board import first_late_start, latest, look
from orders.queries.milestones import PublishedRow, published_rows
from orders.queries.papers import PaperRow, papers_of
from orders.queries.progress import AreaRow, ChainRow, areas_of, chain_of
from orders.queries.scale import Scale, time_scale
from orders.shipping import Way, worked_back, worked_forth
from quality.models import InspectionPoint, Nonconformance, Visit
from quality.queries.nonconformances import DefectRow, defect_rows
from quality.queries.points import PointRow, point_row
from quality.queries.visits import VisitRow, visit_rows
from schedule.models import Operation, Unit
from schedule.queries.bars import Bar, route_bars
from schedule.queries.bought_outs import Part, bought_out_list
from schedule.queries.load import starts_overdue
from schedule.working_time import local_date
from selection.queries.choices import duty_facts
from works import formats
from works.models import Alert, Job, Site

REPORT_JOB = "status report"  # the kind of the job, and of the paper that it files
BAR_WIDTH = 1000.0
HOLDS_SHOWN = 12


@dataclass(frozen=True)
class ItemView:
    """One item with its route and plan."""

    item: Item
    what: str
    facts: tuple[tuple[str, str], ...]
    spare_facts: tuple[tuple[str, str], ...]
    bar: Bar | None
    picture: str
    look: str
    areas: tuple[AreaRow, ...]
    chain: tuple[ChainRow, ...]
    units: tuple[Unit, ...]
    published: tuple[PublishedRow, ...]
    last_published: int
    forecast_on: date | None

    @property
    def hand_text(self) -> str:
        return formats.in_hand(self.bar.days_in_hand if self.bar else None)

    @property
    def chain_count(self) -> int:
        return len(self.chain)


@dataclass(frozen=True)
class ChangeView:
    """A change with what it touches."""

    change: Change
    effect: Effect


@dataclass(frozen=True)
class OrderView:
    """The page.

    first_line : when the first operation should have begun already
    way : from ship-by to the date on site, leg by leg; `no_way` says why there is none
    forecast_way : the same from the forecast ship date
    """

    order: Order
    look: str
    days_in_hand: float | None
    first_line: str
    ruler: str
    items: tuple[ItemView, ...]
    way: Way | None
    no_way: str
    forecast_way: Way | None
    holds: tuple[PointRow, ...]
    holds_more: int
    visits: tuple[VisitRow, ...]
    bought: tuple[Part, ...]
    defects: tuple[DefectRow, ...]
    papers: tuple[PaperRow, ...]
    deliveries: tuple[Delivery, ...]
    changes: tuple[ChangeView, ...]
    links: tuple[CustomerLink, ...]
    reports: tuple[StatusReport, ...]
    report_job: Job | None
    alerts: tuple[Alert, ...]
    units_here: tuple[Unit, ...]
    now: datetime

    @property
    def has_several(self) -> bool:
        return len(self.items) > 1

    @property
    def last_published(self) -> int:
        """The last published date as shown, so that nobody moves one that they have not seen."""
        return max((view.last_published for view in self.items), default=0)

    @property
    def routes(self) -> list[int]:
        return [view.item.route_id for view in self.items if view.item.route_id is not None]


def order_view(order: Order, *, now: datetime) -> OrderView:
    """Everything on an order's page.

    order : with its customer, contact and lane at hand
    """
    site = Site.current()
    zone = site.zone
    items = list(
        order.items.select_related(
            "choice__size", "choice__impeller", "choice__study", "route", "inspection_plan", "study"
        ).order_by("number")
    )
    for item in items:
        item.order = order
    routes = [item.route_id for item in items if item.route_id is not None]
    bars = route_bars(routes, now=now)
    scale = time_scale(list(bars.values()), now=now, zone=zone, width=BAR_WIDTH)
    operations = _operations(routes)
    units = _units(routes)
    published = _published(items)
    ships = [bar.forecast_ship_at for bar in bars.values() if bar.forecast_ship_at is not None]
    forecast_way = _forth(order, local_date(max(ships), zone), now) if ships else None
    views = tuple(
        _item(
            item,
            bars.get(item.route_id or 0),
            operations[item.route_id or 0],
            units[item.route_id or 0],
            published[item.pk],
            on_site_on=forecast_way.on_site_on if forecast_way else None,
            scale=scale,
            now=now,
            zone=zone,
        )
        for item in items
    )
    in_work = [item for item in items if item.route_id in bars]
    worst = latest(in_work, bars)[1] if in_work else None
    overdue = {row.route_id: row for row in starts_overdue(now=now)} if order.is_in_work else {}
    late_start = first_late_start(in_work, bars, overdue, today=local_date(now, zone), zone=zone)
    way, no_way = _way(order, now)
    holds = _holds(items, now)
    return OrderView(
        order=order,
        look=_look(order, worst),
        days_in_hand=worst.days_in_hand if worst else None,
        first_line=str(late_start) if late_start else "",
        ruler=scale.ruler if in_work else "",
        items=views,
        way=way,
        no_way=no_way,
        forecast_way=forecast_way,
        holds=holds[:HOLDS_SHOWN],
        holds_more=max(0, len(holds) - HOLDS_SHOWN),
        visits=tuple(
            visit_rows(Visit.objects.upcoming().filter(route_id__in=routes), local_date(now, zone))
        ),
        bought=bought_out_list(now=now, arrived=True, route_ids=routes),
        defects=tuple(defect_rows(Nonconformance.objects.filter(route_id__in=routes), now)),
        papers=tuple(row for row in papers_of(order.pk) if row.kind != REPORT_JOB),
        deliveries=tuple(order.deliveries.prefetch_related("units").exclude(units=None).distinct()),
        changes=tuple(
            ChangeView(change, Effect.from_data(change.effect))
            for change in Change.objects.filter(item__in=items)
            .select_related("item__order", "by", "decided_by", "choice__study")
            .order_by("-at", "-pk")
        ),
        links=tuple(order.links.select_related("contact", "made_by", "revoked_by")),
        reports=tuple(order.status_reports.select_related("by").defer("contents")),
        report_job=Job.objects.filter(
            kind=REPORT_JOB, key=report_key(order.number), state__in=["waiting", "running"]
        ).first(),
        alerts=tuple(
            Alert.objects.open()
            .filter(about_kind="orders.order", about_id=order.pk)
            .select_related("acknowledged_by")
        ),
        units_here=tuple(unit for its in units.values() for unit in its if unit.shipped_on is None),
        now=now,
    )


def report_key(number: str) -> str:
    """Two requests for a report of one order are one job while it is open."""
    return f"{REPORT_JOB}:{number}"


def _look(order: Order, worst: Bar | None) -> str:
    words = {
        Order.State.ENQUIRY: "draft",
        Order.State.SHIPPED: "done",
        Order.State.CANCELLED: "cancelled",
        Order.State.DECLINED: "cancelled",
    }
    if order.state in words:
        return words[Order.State(order.state)]
    return look(order, worst.days_in_hand if worst else None)


def _operations(routes: Sequence[int]) -> dict[int, list[Operation]]:
    found: dict[int, list[Operation]] = defaultdict(list)
    for operation in (
        Operation.objects.live()
        .filter(route_id__in=routes)
        .select_related("unit")
        .defer("grown")
        .order_by("route_id", "position", "pk")
    ):
        found[operation.route_id].append(operation)
    return found


def _units(routes: Sequence[int]) -> dict[int, list[Unit]]:
    found: dict[int, list[Unit]] = defaultdict(list)
    for unit in (
        Unit.objects.filter(route_id__in=routes, dropped_in=None)
        .prefetch_related("pieces")
        .order_by("route_id", "number")
    ):
        found[unit.route_id].append(unit)
    return found


def _published(items: Sequence[Item]) -> dict[int, list[PublishedDate]]:
    found: dict[int, list[PublishedDate]] = defaultdict(list)
    rows = PublishedDate.objects.filter(item__in=items).select_related("by").order_by("pk")
    for row in rows:
        found[row.item_id].append(row)
    return found


def _item(
    item: Item,
    bar: Bar | None,
    operations: list[Operation],
    units: list[Unit],
    published: list[PublishedDate],
    *,
    on_site_on: date | None,
    scale: Scale,
    now: datetime,
    zone: ZoneInfo,
) -> ItemView:
    choice = item.choice
    ships = bar.forecast_ship_at if bar else None
    forecast_on = local_date(ships, zone) if ships else None
    return ItemView(
        item=item,
        what=item.description
        or (f"{choice.size.name} {choice.impeller.name}" if choice else item.get_kind_display()),
        facts=duty_facts(choice) if choice else (),
        spare_facts=tuple(
            (name.replace("_", " "), str(value)) for name, value in item.spare_for.items()
        ),
        bar=bar,
        picture=scale.picture(bar, f"Item {item.number}") if bar else "",
        look=look(item.order, bar.days_in_hand) if bar else "draft",
        areas=areas_of(operations, now),
        chain=chain_of(operations, now),
        units=tuple(units),
        published=published_rows(
            item, operations, units, published, (forecast_on, on_site_on), zone
        ),
        last_published=published[-1].pk if published else 0,
        forecast_on=forecast_on,
    )


def _way(order: Order, now: datetime) -> tuple[Way | None, str]:
    try:
        return worked_back(order.lane, order.on_site_on, now=now), ""
    except NoWay as refusal:
        return None, str(refusal)


def _forth(order: Order, ship_on: date, now: datetime) -> Way | None:
    try:
        return worked_forth(order.lane, ship_on, now=now)
    except NoWay:  # the page says so once, beside the way back
        return None


def _holds(items: Sequence[Item], now: datetime) -> tuple[PointRow, ...]:
    """Open holds, those at which work stands first, then the nearest."""
    plans = [item.inspection_plan_id for item in items if item.inspection_plan_id is not None]
    points = (
        InspectionPoint.objects.outstanding()
        .with_arrival()
        .filter(plan_id__in=plans, operation__dropped_in=None)
        .select_related("operation__unit", "operation__route", "gate__at_risk_by")
        .prefetch_related(Prefetch("releases"))
    )
    rows = [point_row(point) for point in points]
    return tuple(sorted(rows, key=lambda row: (not row.stops_now, row.needed_at or now, row.pk)))
