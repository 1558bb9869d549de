"""The works manager's five numbers each morning, each with the page behind it."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Exists, OuterRef, Q
from django.urls import reverse

from orders.queries.board import BoardRow
from schedule.facts import Fact as ScheduleFact
from schedule.models import Gate, Link, Operation, Route, Unit
from schedule.queries.load import CentreLoad, load
from schedule.working_time import local_date
from works import formats
from works.models import Event, Site

SCRAP_WEEKS, LOAD_WEEKS = 4, 3
State = Operation.State


@dataclass(frozen=True)
class Number:
    """One of the five.

    tone : bad, warn or empty
    """

    label: str
    value: str
    note: str
    url: str
    tone: str = ""


def five_numbers(rows: tuple[BoardRow, ...], *, now: datetime) -> tuple[Number, ...]:
    """The five; six SQL queries beside what the rows took.

    rows : of every order in work, unfiltered
    """
    return (_late(rows), _holds(), _scrap(now), _bottleneck(now), _this_week(now))


def _late(rows: tuple[BoardRow, ...]) -> Number:
    late = sorted((row for row in rows if row.is_late), key=lambda row: row.days_in_hand or 0.0)
    note = "every order has days in hand"
    if late:
        note = f"worst {late[0].number}, {formats.in_hand(late[0].days_in_hand)}"
    return Number(
        "Late orders", str(len(late)), note, f"{reverse('orders:board')}?late=on", _tone(late)
    )


def waiting_holds() -> Q:
    """Open gates at which work stands: what comes before them is done."""
    ahead = Link.objects.filter(
        after=OuterRef("operation_id"), before__dropped_in=None, before__finished_at=None
    )
    before = Q(timing=Gate.Timing.BEFORE, operation__state=State.WAITING) & ~Exists(ahead)
    during = Q(timing=Gate.Timing.DURING, operation__state__in=[State.STARTED, State.STOPPED])
    after = Q(timing=Gate.Timing.AFTER, operation__state=State.FINISHED)
    in_work = Q(
        operation__dropped_in=None,
        operation__route__state=Route.State.RELEASED,
        operation__route__item__isnull=False,
    )
    return in_work & (before | during | after)


def _holds() -> Number:
    found = list(
        Gate.objects.open()
        .filter(waiting_holds())
        .order_by("operation__finished_at", "pk")
        .values_list("operation__route__label", "reason")
    )
    note = f"such as {found[0][0]}: {found[0][1]}" if found else "no work stands before a hold"
    tone = "warn" if found else ""
    return Number("Holds waiting", str(len(found)), note, reverse("quality:desk"), tone)


def _scrap(now: datetime) -> Number:
    """Days that forecasts lost at the moment a casting was scrapped.

    A scrapped piece and the forecast it moves are told in one deed, so they bear one moment.
    """
    since = now - timedelta(weeks=SCRAP_WEEKS)
    scrapped = {
        (event.after.get("route"), event.at): event.about_label
        for event in Event.objects.filter(
            about_kind="schedule.piece",
            deed=ScheduleFact.PIECE_SCRAPPED,
            at__gte=since,
            at__lte=now,
        )
    }
    lost, worst = 0.0, (0.0, "")
    if scrapped:
        for event in Event.objects.filter(
            about_kind="schedule.route",
            about_id__in={route for route, _ in scrapped if route is not None},
            deed=ScheduleFact.FORECAST_MOVED,
            at__in={at for _, at in scrapped},
        ):
            was, is_ = event.before.get("days_in_hand"), event.after.get("days_in_hand")
            if (event.about_id, event.at) in scrapped and was is not None and is_ is not None:
                days = max(0.0, was - is_)
                lost += days
                worst = max(worst, (days, event.about_label))
    note = f"none in the last {SCRAP_WEEKS} weeks"
    if scrapped:
        pieces = "a piece" if len(scrapped) == 1 else f"{len(scrapped)} pieces"
        note = f"{pieces} in {SCRAP_WEEKS} weeks"
        note += f"; most {worst[1]}" if worst[1] else ""
    url = reverse("quality:nonconformances")
    return Number("Days lost to scrap", formats.days(lost), note, url, "warn" if lost else "")


def _bottleneck(now: datetime) -> Number:
    centre = bottleneck(load(now=now, weeks=LOAD_WEEKS))
    url = reverse("schedule:desk")
    if centre is None:
        return Number("Bottleneck load", formats.NOTHING, "no work centre has work", url)
    hours = sum(cell.load_h for cell in centre.cells)
    open_hours = sum(cell.capacity_h for cell in centre.cells)
    share = hours / open_hours if open_hours else float("inf")
    value = f"{formats.number(hours, 0)} of {formats.hours(open_hours, 0)}"
    tone = "bad" if share > 1 else "warn" if share > 0.9 else ""
    return Number("Bottleneck load", value, f"{centre.name}, next {LOAD_WEEKS} weeks", url, tone)


def bottleneck(centres: tuple[CentreLoad, ...]) -> CentreLoad | None:
    """The work centre whose load is the greatest share of its open hours; None when all rest."""
    loaded = [centre for centre in centres if any(cell.load_h > 0 for cell in centre.cells)]
    return max(loaded, key=lambda centre: (centre.total_share, centre.code), default=None)


def _this_week(now: datetime) -> Number:
    zone = Site.current().zone
    today = local_date(now, zone)
    monday = today - timedelta(days=today.weekday())
    sunday = monday + timedelta(days=6)
    due, at_risk = 0, []
    for label, unit_due, route_due, forecast in (
        Unit.objects.filter(
            route__item__isnull=False,
            route__state__in=[Route.State.RELEASED, Route.State.ON_HOLD],
            dropped_in=None,
            shipped_on=None,
        )
        .filter(
            Q(due_on__range=(monday, sunday))
            | Q(due_on=None, route__due_on__range=(monday, sunday))
        )
        .values_list("serial", "due_on", "route__due_on", "forecast_ship_at")
    ):
        day: date = unit_due or route_due
        due += 1
        if forecast is None or local_date(forecast, zone) > day or day < today:
            at_risk.append(label or "")
    note = f"of {due} units to ship by {sunday}" if due else "none is to ship this week"
    url = f"{reverse('orders:board')}?this_week=on"
    return Number("At risk this week", str(len(at_risk)), note, url, _tone(at_risk))


def _tone(found: object) -> str:
    return "bad" if found else ""
