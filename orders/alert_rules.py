"""What raises an alert about an order: a small table of rules.

A rule looks at one order as it stands and finds what somebody must decide, each with a figure in
days; the figure sets the level by the rule's two limits. To watch something else, write a function
like those below and add a line to `RULES`.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from orders.models import Item, Order
from quality.models import InspectionPoint
from quality.notice import WorkingDays
from schedule.models import Operation, Route
from schedule.queries.bought_outs import Part
from schedule.working_time import local_date
from works.models import Alert

NOTICE_AHEAD_DAYS = 5
"""A visit not yet planned is told of so many days before its notice is due."""


@dataclass(frozen=True)
class Standing:
    """A hold at which work stands.

    since : when work arrived there
    """

    gate_id: int
    timing: str
    reason: str
    operation_id: int
    operation: str
    unit: str
    since: datetime


@dataclass(frozen=True)
class Approval:
    """Something that lies with the customer for approval.

    due_at : when the time agreed for it is over
    """

    operation_id: int
    name: str
    item: str
    due_at: datetime


@dataclass(frozen=True)
class Watched:
    """One order as the rules see it, from every app.

    held_since : of an order on hold
    not_begun : by route, the first operation that should have begun while none has
    unplanned : points that somebody from outside attends and no visit is planned for, with the
        day by which work gets there
    """

    order: Order
    items: tuple[Item, ...]
    now: datetime
    zone: ZoneInfo
    held_since: datetime | None
    not_begun: dict[int, Operation]
    parts: tuple[Part, ...]
    holds: tuple[Standing, ...]
    approvals: tuple[Approval, ...]
    unplanned: tuple[tuple[InspectionPoint, datetime], ...]

    @property
    def today(self) -> date:
        return local_date(self.now, self.zone)

    @property
    def routes(self) -> list[tuple[Item, Route]]:
        """Items with routes that are still to be made."""
        return [
            (item, item.route)
            for item in self.items
            if item.route is not None
            and item.route.state not in {Route.State.SHIPPED, Route.State.CANCELLED}
        ]

    def days_since(self, at: datetime) -> float:
        return (self.now - at).total_seconds() / 86_400


@dataclass(frozen=True)
class Finding:
    """Something that somebody must decide.

    about : what distinguishes it from others of its rule on the same order
    figure : [d]
    part : of the order's page where it stands
    """

    about: str
    figure: float
    sentence: str
    part: str = ""


@dataclass(frozen=True)
class Rule:
    """One line of the table.

    warning, urgent : levels begin at these figures; below them it is a notice [d]
    """

    key: str
    title: str
    warning: float
    urgent: float
    find: Callable[[Watched], Iterable[Finding]]

    def level(self, figure: float) -> int:
        """The level of a figure."""
        if figure >= self.urgent:
            return Alert.Level.URGENT
        return Alert.Level.WARNING if figure >= self.warning else Alert.Level.NOTICE

    def cause(self, order: Order, finding: Finding) -> str:
        """The one cause for which one alert is open: rule, order, and what it is about."""
        return f"{self.key}:{order.number}:{finding.about}"[:120]


def late(watched: Watched) -> Iterable[Finding]:
    """The forecast lies after ship-by."""
    for item, route in watched.routes:
        days, ships = route.days_in_hand, route.forecast_ship_at
        if days is not None and days < 0 and ships is not None:
            yield Finding(
                f"{item.number}",
                -days,
                f"{item} ships on {local_date(ships, watched.zone)} by the forecast, "
                f"{-days:.1f} working days late: ship-by is {route.due_on}.",
                "dates",
            )


def not_begun(watched: Watched) -> Iterable[Finding]:
    """The first operation should have begun already: somebody must decide today."""
    for item, route in watched.routes:
        first = watched.not_begun.get(route.pk)
        if first is not None and first.latest_start_at is not None:
            on = local_date(first.latest_start_at, watched.zone)
            yield Finding(
                f"{item.number}",
                (watched.today - on).days,
                f"Work on {item} should have begun on {on} and has not: {first.name} comes first.",
            )


def no_forecast(watched: Watched) -> Iterable[Finding]:
    """The route's network or calendars do not do."""
    for item, route in watched.routes:
        if route.forecast_trouble:
            yield Finding(
                f"{item.number}", 0.0, f"{item} has no forecast. {route.forecast_trouble}"
            )


def part_late(watched: Watched) -> Iterable[Finding]:
    """A bought-out comes later than needed, or should have been ordered."""
    for part in watched.parts:
        if part.arrived_on is not None:
            continue
        order_by = part.to_order_by_on
        if part.ordered_on is None and order_by is not None and order_by < watched.today:
            yield Finding(
                f"{part.pk}",
                (watched.today - order_by).days,
                f"{part.item} for {part.route}: was to be ordered by {order_by} and is not.",
                "bought",
            )
        elif part.ordered_on is not None and part.days_late is not None and part.days_late > 0:
            yield Finding(
                f"{part.pk}",
                part.days_late,
                f"{part.item} for {part.route}: expected on {part.expected_on}, "
                f"{part.days_late} d after it is needed ({part.needed_on}).",
                "bought",
            )


def hold_waits(watched: Watched) -> Iterable[Finding]:
    """Work has stood at an operation's holds for longer than a day."""
    by_operation: dict[tuple[int, str], list[Standing]] = {}
    for hold in watched.holds:
        if watched.days_since(hold.since) >= 1:
            by_operation.setdefault((hold.operation_id, hold.timing), []).append(hold)
    for (operation_id, timing), holds in by_operation.items():
        first = min(holds, key=lambda hold: (hold.since, hold.gate_id))
        since = local_date(first.since, watched.zone)
        unit = f", {first.unit}" if first.unit else ""
        more = f" and {len(holds) - 1} more" if len(holds) > 1 else ""
        yield Finding(
            f"{operation_id} {timing}",
            watched.days_since(first.since),
            f"Work stands since {since} {timing} {first.operation}{unit}, held by "
            f"“{first.reason}”{more}.",
            "holds",
        )


def notice_near(watched: Watched) -> Iterable[Finding]:
    """Notice of a visit that nobody has planned is due within days, or overdue."""
    days = WorkingDays()
    due = [
        (days.before(local_date(at, watched.zone), point.notice_days), point)
        for point, at in watched.unplanned
    ]
    near = [
        (notice_by, point)
        for notice_by, point in due
        if (notice_by - watched.today).days <= NOTICE_AHEAD_DAYS
    ]
    if not near:
        return
    notice_by, point = min(near, key=lambda pair: (pair[0], pair[1].pk))
    left = (notice_by - watched.today).days
    said = "should have been given by" if left < 0 else "is due by"
    more = f" and {len(near) - 1} more" if len(near) > 1 else ""
    yield Finding(
        "visit",
        float(NOTICE_AHEAD_DAYS - left),
        f"No visit is planned for “{point.characteristic}”{more} of order {watched.order.number}: "
        f"notice {said} {notice_by}, {point.notice_days} working days ahead.",
        "holds",
    )


def approval_overdue(watched: Watched) -> Iterable[Finding]:
    """The customer has had something for approval for longer than agreed."""
    for approval in watched.approvals:
        days = watched.days_since(approval.due_at)
        if days > 0:
            due = local_date(approval.due_at, watched.zone)
            yield Finding(
                f"{approval.operation_id}",
                days,
                f"{approval.name} ({approval.item}) was to be answered by {due}.",
            )


def published_too_early(watched: Watched) -> Iterable[Finding]:
    """The customer was told an earlier ship date than the forecast."""
    for item, route in watched.routes:
        ships, told = route.forecast_ship_at, route.published_on
        if ships is not None and told is not None:
            on = local_date(ships, watched.zone)
            if on > told:
                yield Finding(
                    f"{item.number}",
                    (on - told).days,
                    f"The customer was told that {item} ships on {told}; the forecast says {on}.",
                    "dates",
                )


def on_hold(watched: Watched) -> Iterable[Finding]:
    """An order has been on hold for a week or longer."""
    order, since = watched.order, watched.held_since
    if since is not None and watched.now - since >= timedelta(days=7):
        yield Finding(
            "hold",
            watched.days_since(since),
            f"Order {order.number} is on hold since {local_date(since, watched.zone)}: "
            f"{order.hold_reason}.",
        )


RULES: tuple[Rule, ...] = (
    Rule("orders.late", "Forecast after ship-by", 0, 5, late),
    Rule("orders.not begun", "Work should have begun", 0, 3, not_begun),
    Rule("orders.no forecast", "No forecast", 0, 0, no_forecast),
    Rule("orders.part late", "Bought-out late", 1, 10, part_late),
    Rule("orders.hold waits", "Hold waiting", 2, 5, hold_waits),
    # The figure counts from five days before notice is due: due today is a warning, overdue urgent.
    Rule(
        "orders.notice near",
        "Visit not planned",
        NOTICE_AHEAD_DAYS,
        NOTICE_AHEAD_DAYS + 1,
        notice_near,
    ),
    Rule("orders.approval overdue", "Approval overdue", 2, 7, approval_overdue),
    Rule("orders.published", "Published before forecast", 0, 10, published_too_early),
)
HELD_RULES: tuple[Rule, ...] = (Rule("orders.on hold", "Order on hold", 21, 45, on_hold),)
"""What is watched of an order on hold; nobody is to hurry it otherwise."""

TITLES = {rule.key: rule.title for rule in (*RULES, *HELD_RULES)}
