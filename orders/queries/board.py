"""The board: one row an order in work, drawn as its routes to a common time scale.

A constant number of queries, however many orders there are.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from orders.models import Item, Order
from orders.queries.scale import Scale, time_scale
from schedule.queries.bars import Bar, route_bars
from schedule.queries.load import Overdue, starts_overdue
from schedule.queries.sentences import LateStart
from schedule.working_time import local_date
from works import formats
from works.drawing import StretchState
from works.models import Alert, Site

AT_RISK_DAYS = 5.0
"""Fewer days in hand than this are shown as at risk [d]."""
SORTS = ("hand", "ship_by", "number", "customer", "priority", "forecast", "published")


BEGUN = (StretchState.DONE, StretchState.RUNNING)
ALERT_LOOKS = {0: "done", 1: "open", 2: "warned", 3: "overdue"}
ALERT_WORDS = {0: "none", 1: "notice", 2: "warning", 3: "urgent"}


@dataclass(frozen=True)
class ItemBar:
    """One item's route as drawn on the row; the label stands only where there are several."""

    label: str
    picture: str


@dataclass(frozen=True)
class BoardRow:
    """One order.

    days_in_hand : of its latest route; None without a forecast
    look : key of the state shown
    first_line : what must be said first, such as that work should have begun
    behind : the item whose route is the latest, when there are several
    """

    number: str
    url: str
    customer: str
    customer_id: int
    project: str
    priority: int
    state: str
    held_because: str
    look: str
    stage: str
    days_in_hand: float | None
    ship_by_on: date
    forecast_on: date | None
    published_on: date | None
    next_hold: str
    next_hold_on: date | None
    open_holds: int
    alerts: int
    alert_level: int
    alert: str
    first_line: str
    behind: str
    done: int
    total: int
    trouble: str
    bars: tuple[ItemBar, ...]

    @property
    def is_late(self) -> bool:
        return self.days_in_hand is not None and self.days_in_hand < 0

    @property
    def days_text(self) -> str:
        """The big figure, without its sign: the word beside it says late or in hand."""
        return formats.days(abs(self.days_in_hand)) if self.days_in_hand is not None else "—"

    @property
    def hand_word(self) -> str:
        if self.is_late:
            return "late"
        return "at risk" if self.look == "at-risk" else "in hand"

    @property
    def alert_look(self) -> str:
        """Key of the state that the most urgent alert is shown in."""
        return ALERT_LOOKS[self.alert_level]

    @property
    def alert_word(self) -> str:
        plural = "alert" if self.alerts == 1 else "alerts"
        return f"{self.alerts} {plural}, {ALERT_WORDS[self.alert_level]}"

    @property
    def worse_than_published(self) -> bool:
        """The customer was told an earlier day than the forecast."""
        return bool(self.published_on and self.forecast_on and self.forecast_on > self.published_on)


@dataclass(frozen=True)
class Board:
    """The rows with their time scale.

    everything : every order in work, as rows without their bars
    stages : the areas that rows are in, to filter by
    left_out : orders in work that the filter leaves out
    """

    rows: tuple[BoardRow, ...]
    everything: tuple[BoardRow, ...]
    ruler: str
    stages: tuple[str, ...]
    left_out: int
    at: datetime

    @property
    def count(self) -> int:
        return len(self.rows)


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What of the board is asked for, and in which order.

    state : in work, on hold or empty for both
    this_week : ship-by in the week of today
    """

    state: str = ""
    customer_id: int | None = None
    stage: str = ""
    late: bool = False
    held: bool = False
    this_week: bool = False
    text: str = ""
    sort: str = "hand"


def board(wish: Wish, *, now: datetime, width: float = 480.0, lane_height: float = 10.0) -> Board:
    """The board as wished for.

    width : of the bars; a smaller one in the same place makes words bigger
    lane_height : of the bars [px]
    """
    site = Site.current()
    orders, items, bars = _gathered(now)
    alerts = _alerts(orders)
    overdue = {row.route_id: row for row in starts_overdue(now=now)}
    today = local_date(now, site.zone)
    rows = {
        order.pk: _row(
            order, items[order.pk], bars, alerts[order.pk], overdue, today=today, zone=site.zone
        )
        for order in orders
        if items[order.pk]
    }
    wanted = [order for order in orders if order.pk in rows and _is(rows[order.pk], wish, today)]
    shown = [bars[item.route_id] for order in wanted for item in items[order.pk] if item.route_id]
    scale = time_scale(shown, now=now, zone=site.zone, width=width, lane_height=lane_height)
    drawn = [_drawn(rows[order.pk], items[order.pk], bars, scale) for order in wanted]
    return Board(
        rows=tuple(_sorted(drawn, wish.sort)),
        everything=tuple(_sorted(list(rows.values()), "hand")),
        ruler=scale.ruler,
        stages=tuple(sorted({row.stage for row in rows.values()})),
        left_out=len(rows) - len(drawn),
        at=now,
    )


def _gathered(now: datetime) -> tuple[list[Order], dict[int, list[Item]], dict[int, Bar]]:
    """Orders in work, their items that have a route, and the routes' bars."""
    orders = list(Order.objects.in_work().select_related("customer"))
    items: dict[int, list[Item]] = defaultdict(list)
    for item in (
        Item.objects.filter(order__in=orders, route__isnull=False)
        .select_related("route")
        .order_by("order_id", "number")
    ):
        items[item.order_id].append(item)
    routes = [item.route_id for its in items.values() for item in its if item.route_id is not None]
    return orders, items, route_bars(routes, now=now)


def _alerts(orders: Sequence[Order]) -> dict[int, list[Alert]]:
    found: dict[int, list[Alert]] = defaultdict(list)
    for alert in Alert.objects.open().filter(
        about_kind="orders.order", about_id__in=[order.pk for order in orders]
    ):
        found[alert.about_id].append(alert)
    return found


def latest(items: Iterable[Item], bars: dict[int, Bar]) -> tuple[Item, Bar]:
    """The item whose route has the fewest days in hand; one without a forecast comes first."""
    pairs = [(item, bars[item.route_id]) for item in items if item.route_id in bars]
    return min(
        pairs,
        key=lambda pair: (
            pair[1].days_in_hand is not None,
            pair[1].days_in_hand or 0.0,
            pair[0].number,
        ),
    )


def _row(
    order: Order,
    items: list[Item],
    bars: dict[int, Bar],
    alerts: list[Alert],
    overdue: dict[int, Overdue],
    *,
    today: date,
    zone: ZoneInfo,
) -> BoardRow:
    worst, bar = latest(items, bars)
    its = [bars[item.route_id] for item in items if item.route_id in bars]
    holds = sorted(
        (hold for each in its if (hold := each.next_hold) is not None),
        key=lambda hold: (hold.at is None, hold.at, hold.gate_id),
    )
    forecasts = [each.forecast_ship_at for each in its if each.forecast_ship_at is not None]
    published = [each.published_on for each in its if each.published_on is not None]
    worst_alert = max(alerts, key=lambda alert: (alert.level, -alert.pk), default=None)
    late_start = first_late_start(items, bars, overdue, today=today, zone=zone)
    trouble = next((item.route.forecast_trouble for item in items if item.route), "")
    return BoardRow(
        number=order.number,
        url=order.get_absolute_url(),
        customer=order.customer.name,
        customer_id=order.customer_id,
        project=order.project,
        priority=order.priority,
        state=order.state,
        held_because=order.hold_reason,
        look=look(order, bar.days_in_hand),
        stage=bar.stage,
        days_in_hand=bar.days_in_hand,
        ship_by_on=min((each.due_on for each in its), default=order.ship_by_on),
        forecast_on=local_date(max(forecasts), zone) if len(forecasts) == len(its) else None,
        published_on=max(published, default=None),
        next_hold=holds[0].reason if holds else "",
        next_hold_on=local_date(holds[0].at, zone) if holds and holds[0].at else None,
        open_holds=sum(each.open_holds for each in its),
        alerts=len(alerts),
        alert_level=worst_alert.level if worst_alert else 0,
        alert=worst_alert.sentence if worst_alert else "",
        first_line=str(late_start) if late_start else "",
        behind=f"item {worst.number}" if len(items) > 1 else "",
        done=sum(each.done for each in its),
        total=sum(each.total for each in its),
        trouble=trouble,
        bars=(),
    )


def look(order: Order, days_in_hand: float | None) -> str:
    """Key of the state that an order is shown in."""
    if order.state == Order.State.ON_HOLD:
        return "held"
    if days_in_hand is None:
        return "warned"
    if days_in_hand < 0:
        return "late"
    return "at-risk" if days_in_hand < AT_RISK_DAYS else "on-time"


def first_late_start(
    items: Iterable[Item],
    bars: dict[int, Bar],
    overdue: dict[int, Overdue],
    *,
    today: date,
    zone: ZoneInfo,
) -> LateStart | None:
    """What of an order should have begun first and has not."""
    late = [overdue[item.route_id] for item in items if item.route_id in overdue]
    if not late:
        return None
    first = min(late, key=lambda row: (row.latest_start_at, row.operation_id))
    on = local_date(first.latest_start_at, zone)
    bar = bars[first.route_id]
    return LateStart(
        operation=first.operation,
        on=on,
        days=(today - on).days,
        others=first.more,
        begun=bar.done > 0 or any(segment.state in BEGUN for segment in bar.segments),
    )


def _is(row: BoardRow, wish: Wish, today: date) -> bool:
    """Whether the row is wished for."""
    monday = today - timedelta(days=today.weekday())
    text = wish.text.casefold().strip()
    words = f"{row.number} {row.customer} {row.project} {row.stage} {row.next_hold}".casefold()
    return (
        (not wish.state or row.state == wish.state)
        and (wish.customer_id is None or row.customer_id == wish.customer_id)
        and (not wish.stage or wish.stage in row.stage)
        and (not wish.late or row.is_late)
        and (not wish.held or row.state == Order.State.ON_HOLD or row.next_hold_on == today)
        and (not wish.this_week or monday <= row.ship_by_on < monday + timedelta(days=7))
        and (not text or text in words)
    )


def _sorted(rows: list[BoardRow], sort: str) -> list[BoardRow]:
    """By a key of `SORTS`; a minus before it turns it round, and the number ends every tie."""
    key, down = sort.removeprefix("-"), sort.startswith("-")
    far = date.max
    values = {
        # Without a forecast nobody knows how late it is: that is looked at first.
        "hand": lambda row: (
            row.days_in_hand is not None,
            row.days_in_hand if row.days_in_hand is not None else 0.0,
        ),
        "ship_by": lambda row: row.ship_by_on,
        "number": lambda row: row.number,
        "customer": lambda row: (row.customer.casefold(), row.project.casefold()),
        "priority": lambda row: -row.priority,
        "forecast": lambda row: row.forecast_on or far,
        "published": lambda row: row.published_on or far,
    }
    rows = sorted(rows, key=lambda row: row.number)
    return sorted(rows, key=values.get(key, values["hand"]), reverse=down)


def _drawn(row: BoardRow, items: list[Item], bars: dict[int, Bar], scale: Scale) -> BoardRow:
    several = len(items) > 1
    pictures = tuple(
        ItemBar(
            f"{item.number}" if several else "",
            scale.picture(
                bars[item.route_id or 0],
                f"Order {row.number}, item {item.number}" if several else f"Order {row.number}",
            ),
        )
        for item in items
    )
    return replace(row, bars=pictures)
