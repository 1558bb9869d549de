"""Where each route stands now: both passes over its rows, and their dates written back.

Every deed that changes a route calls `reforecast` at its end, so that the forecast moves at once;
several deeds in one transaction share one pass inside `forecast_once`.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import connection, transaction

from schedule.facts import Fact
from schedule.models import Operation, Route
from schedule.planning.calendars import DAY_MINUTES
from schedule.planning.errors import PlanningError
from schedule.planning.forecast import Forecast
from schedule.planning.network import Cause
from schedule.queries.problems import Member, Question, gather, key, named
from schedule.working_time import ORIGIN, instant, local_date
from works.events import record
from works.models import Site

FORECAST_STATES = (Route.State.DRAFT, Route.State.RELEASED, Route.State.ON_HOLD)
BATCH = 25

_waiting: ContextVar[set[int] | None] = ContextVar("routes waiting for one forecast", default=None)


@contextmanager
def forecast_once(*, now: datetime) -> Iterator[None]:
    """Let every deed inside wait, and reforecast what they touched once, at the end.

    now : of that one forecast
    """
    if _waiting.get() is not None:  # the outer one does it
        yield
        return
    touched: set[int] = set()
    token = _waiting.set(touched)
    try:
        yield
    finally:
        _waiting.reset(token)
    reforecast(route_ids=touched, now=now)


def reforecast(*, route_ids: Iterable[int], now: datetime) -> None:
    """Rewrite the dates of routes that are to be made, in a constant number of queries.

    A route whose network or calendars do not do keeps no forecast: it says why instead, and the
    others are forecast all the same.

    route_ids : primary keys; shipped and cancelled ones are left as they are
    now : from which work goes on
    """
    wanted = set(route_ids)
    waiting = _waiting.get()
    if waiting is not None:
        waiting |= wanted
        return
    if not wanted:
        return
    with transaction.atomic():
        routes = {
            route.pk: route
            for route in Route.objects.select_for_update()
            .filter(pk__in=wanted, state__in=FORECAST_STATES)
            .order_by("pk")
        }
        questions = gather(routes, now=now)
        troubles = dict(questions.troubles)
        written = _Written()
        for question in questions.asked:
            try:
                written.add(question, question.forecast())
            except PlanningError as error:
                troubles[question.route_id] = named(str(error), question.operations)
        for pk, words in troubles.items():
            written.trouble(pk, words)
        _write(written, at=now)
        _tell(routes, written, at=now)


def reforecast_all(*, now: datetime) -> int:
    """Reforecast every route to be made, some at a time so that none waits long for its row.

    returns : how many there were
    """
    ids = list(
        Route.objects.filter(state__in=FORECAST_STATES).order_by("pk").values_list("pk", flat=True)
    )
    for start in range(0, len(ids), BATCH):
        reforecast(route_ids=ids[start : start + BATCH], now=now)
    return len(ids)


@dataclass
class _Written:
    """Columns of what the passes say, in minutes from the origin, ready for the database."""

    operations: list[tuple[Any, ...]] = field(default_factory=list)
    units: list[tuple[Any, ...]] = field(default_factory=list)
    routes: list[tuple[Any, ...]] = field(default_factory=list)

    def add(self, question: Question, found: Forecast) -> None:
        """Take over one route's dates."""
        names = _names(question)
        worst, deliveries = _deliveries(question, found)
        chain = {bind.operation for bind in found.binding_chain(worst)}
        slack, ahead, back = found.total_float, found.ahead, found.back
        odd = {name: named(words, question.operations) for name, words in ahead.marks}
        calendars = question.problem.calendars
        for i, member in enumerate(question.operations):
            calendar = question.problem.operations[i].calendar
            a_day = DAY_MINUTES if calendar is None else calendars[calendar].day_minutes
            free = slack[i]
            self.operations.append(
                (
                    member.pk,
                    ahead.starts[i],
                    ahead.finishes[i],
                    back.starts[i],
                    back.finishes[i],
                    None if free is None else round(free / a_day, 2),
                    key(member.pk) in chain,
                    _waits_for(found, names, i) or _odd(member, odd),
                )
            )
        self.units += deliveries
        to_start = [
            back.starts[i]
            for i, member in enumerate(question.operations)
            if member.state == Operation.State.WAITING
        ]
        finish = max([found.now, *ahead.finishes])
        hand = found.days_in_hand[worst] if ahead.finishes else None
        self.routes.append(
            (
                question.route_id,
                finish,
                min(to_start, default=None),
                None if hand is None else round(hand.days, 2),
                "",
            )
        )

    def trouble(self, pk: int, words: str) -> None:
        """Say why a route has no forecast."""
        self.routes.append((pk, None, None, None, words[:500]))


def _names(question: Question) -> tuple[str, ...]:
    """What people call each operation, with its unit where the route has several."""
    units = {m.unit for m in question.operations if m.unit is not None}
    number = {pk: n for n, pk in enumerate(sorted(units), 1)}
    return tuple(
        m.name if m.unit is None or len(units) < 2 else f"{m.name}, unit {number[m.unit]}"
        for m in question.operations
    )


def _deliveries(question: Question, found: Forecast) -> tuple[int, list[tuple[Any, ...]]]:
    """The delivery with the fewest days in hand, and each unit's own finish and days."""
    finishes: dict[int, int] = {}
    for member, finish in zip(question.operations, found.ahead.finishes, strict=True):
        if member.unit is not None:
            finishes[member.unit] = max(finish, finishes.get(member.unit, finish))
    hands = found.days_in_hand
    rows = [
        (unit, finishes[unit], round(hands[i].days, 2))
        for i, delivery in enumerate(question.deliveries)
        for unit in delivery.units
        if unit in finishes
    ]
    worst = min(range(len(hands)), key=lambda i: (hands[i].days, i))
    return worst, rows


def _odd(member: Member, odd: Mapping[str, str]) -> str:
    """What is odd about what is in work, such as that it should be done by now."""
    if member.state == Operation.State.FINISHED:
        return ""
    return odd.get(key(member.pk), "")[:200]


def _waits_for(found: Forecast, names: Sequence[str], i: int) -> str:
    """What keeps an operation from starting earlier, in words."""
    cause, by, note = found.ahead.causes[i], found.ahead.by[i], found.ahead.notes[i]
    if cause is Cause.PREDECESSOR:
        return names[by][:200]
    if cause is Cause.GATE:
        return f"hold: {note}"[:200]
    if cause is Cause.NOTICE:
        return f"notice for {note}"[:200]
    if cause in {Cause.NOW, Cause.PROGRESS}:
        return ""
    return (note or cause.value)[:200]


OPERATIONS = """
UPDATE schedule_operation AS o SET
    earliest_start_at = %(origin)s + make_interval(mins => n.es),
    earliest_finish_at = %(origin)s + make_interval(mins => n.ef),
    latest_start_at = %(origin)s + make_interval(mins => n.ls),
    latest_finish_at = %(origin)s + make_interval(mins => n.lf),
    days_in_hand = n.hand, binds = n.binds, waits_for = n.waits_for
FROM unnest(%(c0)s::bigint[], %(c1)s::int[], %(c2)s::int[], %(c3)s::int[], %(c4)s::int[],
            %(c5)s::float8[], %(c6)s::bool[], %(c7)s::text[])
    AS n(id, es, ef, ls, lf, hand, binds, waits_for)
WHERE o.id = n.id AND (
    o.earliest_start_at, o.earliest_finish_at, o.latest_start_at, o.latest_finish_at,
    o.days_in_hand, o.binds, o.waits_for
) IS DISTINCT FROM (
    %(origin)s + make_interval(mins => n.es), %(origin)s + make_interval(mins => n.ef),
    %(origin)s + make_interval(mins => n.ls), %(origin)s + make_interval(mins => n.lf),
    n.hand, n.binds, n.waits_for
)
"""
UNITS = """
UPDATE schedule_unit AS u SET
    forecast_ship_at = %(origin)s + make_interval(mins => n.finish), days_in_hand = n.hand
FROM unnest(%(c0)s::bigint[], %(c1)s::int[], %(c2)s::float8[]) AS n(id, finish, hand)
WHERE u.id = n.id
"""
ROUTES = """
UPDATE schedule_route AS r SET
    forecast_ship_at = %(origin)s + make_interval(mins => n.finish),
    latest_first_start_at = %(origin)s + make_interval(mins => n.first),
    days_in_hand = n.hand, forecast_trouble = n.trouble, forecast_at = %(at)s
FROM unnest(%(c0)s::bigint[], %(c1)s::int[], %(c2)s::int[], %(c3)s::float8[], %(c4)s::text[])
    AS n(id, finish, first, hand, trouble)
WHERE r.id = n.id
"""


def _write(written: _Written, *, at: datetime) -> None:
    """Three statements, whatever the number of rows: a CASE a row would be a hundred times slower.

    Minutes travel as integers and become instants in the database, which is faster again.
    """
    with connection.cursor() as cursor:
        for sql, rows in (
            (OPERATIONS, written.operations),
            (UNITS, written.units),
            (ROUTES, written.routes),
        ):
            if rows:
                columns = {
                    f"c{n}": list(column) for n, column in enumerate(zip(*rows, strict=True))
                }
                cursor.execute(sql, {"origin": ORIGIN, "at": at, **columns})


def _tell(routes: dict[int, Route], written: _Written, *, at: datetime) -> None:
    """Record each route whose forecast moved to another day."""
    zone = Site.current().zone
    for pk, finish, _, hand, trouble in written.routes:
        route = routes[pk]
        was, now = _day(route.forecast_ship_at, zone), _day(_instant(finish), zone)
        if was != now and route.forecast_at is not None:
            record(
                Fact.FORECAST_MOVED,
                about=route,
                by=None,
                at=at,
                before={"ship_on": was, "days_in_hand": route.days_in_hand},
                after={"route": pk, "ship_on": now, "days_in_hand": hand, "trouble": trouble},
            )


def _instant(minutes: int | None) -> datetime | None:
    return None if minutes is None else instant(minutes)


def _day(at: datetime | None, zone: ZoneInfo) -> str | None:
    return None if at is None else local_date(at, zone).isoformat()
