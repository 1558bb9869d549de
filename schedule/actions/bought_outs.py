"""Things bought for a route: ordered, promised, arrived.

Ordering starts the bought-out operation and arriving finishes it, so that a purchase stands in the
route like any other work; goods inward follows.
"""

from collections.abc import Mapping
from datetime import date, datetime, time

from django.db import transaction

from schedule.actions.forecast import reforecast
from schedule.actions.locks import lock_operations
from schedule.actions.marks import Marker
from schedule.actions.restating import restate, write
from schedule.actions.starting import start_gates
from schedule.errors import AlreadyReported, BadFigure, GateOpen, NoSuchThing, RouteNotInWork
from schedule.facts import Fact
from schedule.models import BoughtOut, Operation, Progress, Route
from schedule.planning.calendars import on_the_wall
from schedule.working_time import horizon, local_date
from works.errors import ReasonMissing, TimeInFuture
from works.events import record
from works.models import Person, Site
from works.people import Group, require

NOON = time(12)


@transaction.atomic
def order_part(
    *,
    bought_out_id: int,
    supplier: str,
    ordered_on: date,
    by: Person | None,
    at: datetime,
    promised_on: date | None = None,
    note: str = "",
    sent_straight_to_site: bool = False,
) -> BoughtOut:
    """Order something; its lead runs from that day until there is a promise.

    raises : NotAllowed, NoSuchThing, RouteNotInWork, AlreadyReported, TimeInFuture, BadFigure,
        GateOpen
    """
    part = _locked(bought_out_id, by, "order a part")
    operation = part.operation
    if part.ordered_on is not None:
        right = "Change its promise instead."
        raise AlreadyReported(operation=operation.name, state="ordered", right=right)
    if not supplier.strip():
        raise BadFigure(field="The supplier", value="empty", right="given")
    _past("The day of ordering", ordered_on, at)
    if promised_on is not None:
        _promise(promised_on, ordered_on, at)
    if reasons := start_gates(operation):
        raise GateOpen(operation=str(operation), deed="be ordered", gates=reasons)
    part.supplier, part.ordered_on, part.promised_on = (
        supplier.strip()[:100],
        ordered_on,
        promised_on,
    )
    part.note = note.strip()[:200] or part.note
    part.sent_straight_to_site = sent_straight_to_site
    _save(part)
    _report(operation, Progress.Deed.START, _noon(ordered_on, at), by, at)
    after = {
        "supplier": part.supplier,
        "ordered_on": str(ordered_on),
        "promised_on": _iso(promised_on),
    }
    _done(Fact.PART_ORDERED, part, by, at, {}, after)
    return part


@transaction.atomic
def promise(
    *,
    bought_out_id: int,
    promised_on: date,
    by: Person | None,
    at: datetime,
    reason: str = "",
) -> BoughtOut:
    """Note the day that the supplier promises; a later one than before says why.

    raises : NotAllowed, NoSuchThing, RouteNotInWork, AlreadyReported, BadFigure, ReasonMissing
    """
    part = _locked(bought_out_id, by, "note a promise")
    if part.ordered_on is None:
        raise BadFigure(field="The promise", value=promised_on, right="given after ordering it")
    if part.arrived_on is not None:
        right = "If that is wrong, take the arrival back first."
        raise AlreadyReported(operation=part.operation.name, state="here", right=right)
    _promise(promised_on, part.ordered_on, at)
    before = part.promised_on
    if before is not None and promised_on > before and not reason.strip():
        raise ReasonMissing(deed=f"move the promise of {part.item} later than {before}")
    part.promised_on = promised_on
    if reason.strip():
        part.note = reason.strip()[:200]
    _save(part)
    said = {"promised_on": str(promised_on), "reason": reason.strip()}
    _done(Fact.PART_PROMISED, part, by, at, {"promised_on": _iso(before)}, said)
    return part


@transaction.atomic
def arrive(*, bought_out_id: int, arrived_on: date, by: Person | None, at: datetime) -> BoughtOut:
    """Note that something is here: its operation is finished, and goods inward follows.

    raises : NotAllowed, NoSuchThing, RouteNotInWork, AlreadyReported, TimeInFuture, BadFigure
    """
    part = _locked(bought_out_id, by, "book an arrival")
    operation = part.operation
    if part.arrived_on is not None:
        right = f"It arrived on {part.arrived_on}."
        raise AlreadyReported(operation=operation.name, state="here", right=right)
    if part.ordered_on is None:
        raise BadFigure(field=f"{part.item}", value="not ordered", right="ordered before it comes")
    _past("The day of arrival", arrived_on, at)
    if arrived_on < part.ordered_on:
        right = f"{part.ordered_on} or later, when it was ordered"
        raise BadFigure(field="The day of arrival", value=arrived_on, right=right)
    part.arrived_on = arrived_on
    _save(part)
    stated = max(_noon(arrived_on, at), operation.started_at or at)
    _report(operation, Progress.Deed.FINISH, stated, by, at)
    late = (arrived_on - part.promised_on).days if part.promised_on else None
    _done(Fact.PART_ARRIVED, part, by, at, {}, {"arrived_on": str(arrived_on), "days_late": late})
    return part


def _locked(pk: int, by: Person | None, deed: str) -> BoughtOut:
    """The part, its route and operation locked first.

    raises : NotAllowed, NoSuchThing, RouteNotInWork
    """
    if by is not None:
        require(by, Group.BUYER, Group.PLANNER, deed=deed)
    operation_id = BoughtOut.objects.filter(pk=pk).values_list("operation_id", flat=True).first()
    if operation_id is None:
        raise NoSuchThing(what="bought-out part", key=pk)
    operation = lock_operations([operation_id])[0]
    route = operation.route
    if route.state not in {Route.State.RELEASED, Route.State.ON_HOLD}:
        raise RouteNotInWork(route=str(route), state=route.get_state_display(), deed=deed)
    part = BoughtOut.objects.select_for_update().get(pk=pk)
    part.operation = operation
    return part


def _past(what: str, on: date, at: datetime) -> None:
    today = local_date(at, Site.current().zone)
    if on > today:
        raise TimeInFuture(what=what, stated=str(on), now=str(today))
    first = horizon(at)[0]
    if on < first:
        raise BadFigure(field=what, value=on, right=f"{first} or later")


def _promise(promised_on: date, ordered_on: date, at: datetime) -> None:
    last = horizon(at)[1]
    if not ordered_on <= promised_on <= last:
        right = f"a day from {ordered_on}, when it was ordered, to {last}"
        raise BadFigure(field="The promise", value=promised_on, right=right)


def _noon(on: date, at: datetime) -> datetime:
    """Days have no hour: noon stands for them, or the moment of the report before that."""
    return min(at, on_the_wall(on, NOON, Site.current().zone))


def _report(
    operation: Operation, deed: str, stated_at: datetime, by: Person | None, at: datetime
) -> None:
    marks = Marker([operation], at=at).marks(operation, deed, stated_at, "")
    write(
        [
            Progress(
                operation=operation,
                deed=deed,
                stated_at=stated_at,
                reported_at=at,
                by=by,
                marks=[mark for mark in marks if mark != "late"],  # booked by days, not hours
            )
        ]
    )
    restate([operation], at)


def _save(part: BoughtOut) -> None:
    part.version += 1
    part.save()


def _iso(on: date | None) -> str | None:
    return None if on is None else on.isoformat()


def _done(
    fact: Fact,
    part: BoughtOut,
    by: Person | None,
    at: datetime,
    before: Mapping[str, object],
    after: Mapping[str, object],
) -> None:
    route_id = part.operation.route_id
    record(fact, about=part, by=by, at=at, before=before, after={"route": route_id, **after})
    reforecast(route_ids=[route_id], now=at)
