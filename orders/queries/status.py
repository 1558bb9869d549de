"""What a customer may know of an order: one read model for its page and its status PDF.

Published dates only, never the live forecast; nothing of load, price, notes or other orders.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any

from orders.milestones import Step, reached
from orders.models import Item, Milestone, Order, PublishedDate
from orders.queries.attending import AttendLine, attend_lines
from orders.queries.papers import papers_of
from quality.models import Concession
from schedule.models import Operation, Unit
from selection.queries.choices import Sketch, duty_facts, sketch_of
from works.models import Site
from works.people import Area

AREAS = (
    Area.ENGINEERING,
    Area.BUYING,
    Area.PATTERN_SHOP,
    Area.FOUNDRY,
    Area.MACHINE_SHOP,
    Area.ASSEMBLY,
    Area.TEST_BED,
    Area.DISPATCH,
)


@dataclass(frozen=True)
class MilestoneLine:
    """A milestone's three dates."""

    name: str
    contract_on: date | None
    published_on: date | None
    actual_on: date | None


@dataclass(frozen=True)
class Share:
    """How much of an area's work is done."""

    area: str
    done: int
    total: int


@dataclass(frozen=True)
class UnitLine:
    """One pump's progress."""

    serial: str
    stage: str
    shares: tuple[Share, ...]
    shipped_on: date | None


@dataclass(frozen=True)
class ItemStatus:
    """One line of the order."""

    number: int
    tag: str
    what: str
    quantity: int
    facts: tuple[tuple[str, str], ...]
    milestones: tuple[MilestoneLine, ...]
    units: tuple[UnitLine, ...]
    sketch: Sketch | None

    @property
    def areas(self) -> tuple[str, ...]:
        """Areas that the units pass, each once, in the order of the works."""
        return tuple(dict.fromkeys(share.area for unit in self.units for share in unit.shares))


@dataclass(frozen=True)
class OpenLine:
    """A question that waits for an answer, and whose."""

    number: str
    question: str
    with_whom: str
    since: date
    concession_id: int | None = None


@dataclass(frozen=True)
class MovedLine:
    """A published date that moved since a day, with the reason told."""

    item: int
    milestone: str
    was: date | None
    now: date
    reason: str
    on: date


@dataclass(frozen=True)
class PaperLine:
    """A document for the customer."""

    title: str
    revision: str
    on: date
    revision_id: int


@dataclass(frozen=True)
class Status:
    """The whole of it."""

    works: str
    order: str
    customer: str
    customer_reference: str
    project: str
    delivery: str
    as_of: date
    stands: tuple[str, ...]
    items: tuple[ItemStatus, ...]
    attend: tuple[AttendLine, ...]
    open: tuple[OpenLine, ...]
    moved: tuple[MovedLine, ...]
    papers: tuple[PaperLine, ...]

    def as_data(self) -> dict[str, Any]:
        """Plain values to be kept as JSON, dates in ISO form."""
        plain: dict[str, Any] = _plain(asdict(self))
        return plain


def status_of(order: Order, *, now: datetime, since: datetime | None = None) -> Status:
    """Where an order stands, in a constant number of queries.

    since : dates moved after it are listed as changes; None lists every move
    """
    site = Site.current()
    today = now.astimezone(site.zone).date()
    items = list(
        order.items.select_related("choice__size", "choice__impeller", "route").order_by("number")
    )
    routes = [item.route_id for item in items if item.route_id is not None]
    operations = _by_route(
        Operation.objects.live()
        .filter(route_id__in=routes)
        .only(
            "route_id",
            "unit_id",
            "code",
            "area",
            "state",
            "finished_at",
            "latest_finish_at",
            "earliest_finish_at",
        )
    )
    units: dict[int, list[Unit]] = defaultdict(list)
    for unit in Unit.objects.filter(route_id__in=routes, dropped_in=None).order_by(
        "route_id", "number"
    ):
        units[unit.route_id].append(unit)
    published = list(PublishedDate.objects.filter(item__in=items).order_by("id"))
    lines = tuple(
        _item(
            order, item, operations[item.route_id or 0], units[item.route_id or 0], published, site
        )
        for item in items
    )
    concessions = (
        Concession.objects.filter(nonconformance__route_id__in=routes, answer="")
        .select_related("nonconformance")
        .order_by("asked_at")
    )
    approvals = (
        Operation.objects.live()
        .filter(route_id__in=routes, kind=Operation.Kind.APPROVAL, state=Operation.State.STARTED)
        .order_by("started_at")
    )
    return Status(
        works=site.name,
        order=order.number,
        customer=order.customer.name,
        customer_reference=order.customer_reference,
        project=order.project,
        delivery=f"{order.delivery_term} {order.destination} (Incoterms 2020)",
        as_of=today,
        stands=_stands(order, lines),
        items=lines,
        attend=attend_lines(routes),
        open=(
            *(
                OpenLine(
                    concession.nonconformance.number,
                    concession.question,
                    order.customer.name,
                    concession.asked_at.astimezone(site.zone).date(),
                    concession.pk,
                )
                for concession in concessions
            ),
            *(
                OpenLine(
                    "Approval",
                    operation.name,
                    order.customer.name,
                    operation.started_at.astimezone(site.zone).date(),
                )
                for operation in approvals
                if operation.started_at is not None
            ),
        ),
        moved=_moved(published, items, since, site),
        papers=_papers(order, site),
    )


def _by_route(operations: Iterable[Operation]) -> dict[int, list[Operation]]:
    found: dict[int, list[Operation]] = defaultdict(list)
    for operation in operations:
        found[operation.route_id].append(operation)
    return found


def _item(
    order: Order,
    item: Item,
    operations: list[Operation],
    units: list[Unit],
    published: list[PublishedDate],
    site: Site,
) -> ItemStatus:
    choice = item.choice
    what = item.description or (f"pump {choice.size.name}" if choice else item.get_kind_display())
    return ItemStatus(
        number=item.number,
        tag=item.tag,
        what=what,
        quantity=item.quantity,
        facts=duty_facts(choice) if choice else (),
        milestones=_milestones(order, item, operations, units, published, site),
        units=tuple(_unit(unit, operations) for unit in units),
        sketch=sketch_of(choice) if choice else None,
    )


def _milestones(
    order: Order,
    item: Item,
    operations: list[Operation],
    units: list[Unit],
    published: list[PublishedDate],
    site: Site,
) -> tuple[MilestoneLine, ...]:
    told = {row.milestone: row.on for row in published if row.item_id == item.pk}
    steps = [
        Step(op.code, op.finished_at, op.latest_finish_at, op.earliest_finish_at)
        for op in operations
    ]
    lines = [
        MilestoneLine(
            name=found.milestone.label,
            contract_on=None,
            published_on=told.get(found.milestone),
            actual_on=found.reached_at.astimezone(site.zone).date() if found.reached_at else None,
        )
        for found in reached(steps)
    ]
    shipped = [unit.shipped_on for unit in units]
    left = max(day for day in shipped if day) if shipped and all(shipped) else None
    lines.append(
        MilestoneLine(Milestone.SHIPPED.label, order.ship_by_on, told.get(Milestone.SHIPPED), left)
    )
    lines.append(
        MilestoneLine(Milestone.ON_SITE.label, order.promised_on, told.get(Milestone.ON_SITE), None)
    )
    return tuple(lines)


def _unit(unit: Unit, operations: list[Operation]) -> UnitLine:
    mine = [op for op in operations if op.unit_id in (None, unit.pk)]
    shares = []
    stage = "not begun"
    for area in AREAS:
        of_area = [op for op in mine if op.area == area]
        done = sum(op.state == Operation.State.FINISHED for op in of_area)
        if of_area:
            shares.append(Share(area.value, done, len(of_area)))
        if any(op.state != Operation.State.WAITING for op in of_area if op.unit_id == unit.pk):
            stage = area.value
    if unit.shipped_on:
        stage = "shipped"
    return UnitLine(unit.serial or f"unit {unit.number}", stage, tuple(shares), unit.shipped_on)


def _stands(order: Order, items: tuple[ItemStatus, ...]) -> tuple[str, ...]:
    """Where the order stands, said in a few sentences from published facts alone."""
    said = []
    if order.state == Order.State.ON_HOLD:
        said.append("Work on this order is on hold by agreement or at your request.")
    if order.state == Order.State.CANCELLED:
        said.append("This order is cancelled.")
    for item in items:
        stages: dict[str, int] = defaultdict(int)
        for unit in item.units:
            stages[unit.stage] += 1
        where = ", ".join(f"{count} {_place(stage)}" for stage, count in stages.items())
        ship = next(line for line in item.milestones if line.name == Milestone.SHIPPED.label)
        date_said = (
            f"All left the works by {ship.actual_on}."
            if ship.actual_on
            else f"Published ship date: {ship.published_on}."
            if ship.published_on
            else ""
        )
        if where:
            said.append(f"Item {item.number}, {item.what}: {where}. {date_said}".strip())
    return tuple(said)


def _place(stage: str) -> str:
    plain = {"shipped": "shipped", "not begun": "not begun", "engineering": "in engineering"}
    if stage in plain:
        return plain[stage]
    return f"in {stage}" if stage in {"assembly", "buying", "dispatch"} else f"in the {stage}"


def _moved(
    published: list[PublishedDate], items: list[Item], since: datetime | None, site: Site
) -> tuple[MovedLine, ...]:
    numbers = {item.pk: item.number for item in items}
    last: dict[tuple[int, str], date] = {}
    lines = []
    for row in published:
        key = (row.item_id, row.milestone)
        was = last.get(key)
        if was is not None and was != row.on and (since is None or row.at > since):
            lines.append(
                MovedLine(
                    numbers[row.item_id],
                    row.get_milestone_display(),
                    was,
                    row.on,
                    row.reason,
                    row.at.astimezone(site.zone).date(),
                )
            )
        last[key] = row.on
    return tuple(lines)


def _papers(order: Order, site: Site) -> tuple[PaperLine, ...]:
    """The newest revision of each paper for the customer; reports are listed by themselves."""
    return tuple(
        PaperLine(row.title, row.revision, row.at.astimezone(site.zone).date(), row.revision_id)
        for row in papers_of(order.pk, for_customer=True)
        if row.is_newest and row.kind != "status report"
    )


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(part) for key, part in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(part) for part in value]
    if isinstance(value, date):
        return value.isoformat()
    return value
