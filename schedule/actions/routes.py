"""A route's state and the dates it is judged by; growing it is in `growing`."""

from collections.abc import Collection, Mapping
from datetime import date, datetime

from django.db import transaction
from django.db.models import Q

from schedule.actions.forecast import reforecast
from schedule.actions.growing import difference, grow_route, regrow_route, repeat_operations
from schedule.actions.locks import lock_route
from schedule.actions.revising import Regrown
from schedule.errors import BadFigure, NoSuchThing, NotReadyToShip, RouteNotInWork, SerialTaken
from schedule.facts import Fact
from schedule.models import Gate, Operation, Route, Unit
from schedule.working_time import horizon, local_date
from works.errors import ReasonMissing, TimeInFuture
from works.events import record
from works.models import Person, Site
from works.people import Group, require

__all__ = [
    "Regrown",
    "cancel_route",
    "difference",
    "give_serials",
    "grow_route",
    "hold_route",
    "issue_drawing",
    "regrow_route",
    "release_route",
    "repeat_operations",
    "resume_route",
    "set_due",
    "set_published",
    "set_unit_due",
    "set_weight",
    "ship_units",
]

State = Route.State
TO_BE_MADE = (State.DRAFT, State.RELEASED, State.ON_HOLD)


def release_route(*, route_id: int, by: Person | None, at: datetime) -> Route:
    """Let the floor begin.

    raises : NotAllowed, NoSuchThing, RouteNotInWork
    """
    return _move(
        route_id, (State.DRAFT,), State.RELEASED, Fact.ROUTE_RELEASED, "release it", by, at
    )


def hold_route(*, route_id: int, reason: str, by: Person | None, at: datetime) -> Route:
    """Stop all work on a route; the floor's reports on it are refused until it goes on.

    raises : NotAllowed, NoSuchThing, RouteNotInWork, ReasonMissing
    """
    _reason(reason, "put a route on hold")
    from_ = (State.DRAFT, State.RELEASED)
    return _move(route_id, from_, State.ON_HOLD, Fact.ROUTE_HELD, "put it on hold", by, at, reason)


def resume_route(*, route_id: int, by: Person | None, at: datetime, reason: str = "") -> Route:
    """Let work on a held route go on.

    raises : NotAllowed, NoSuchThing, RouteNotInWork
    """
    from_ = (State.ON_HOLD,)
    return _move(
        route_id, from_, State.RELEASED, Fact.ROUTE_RESUMED, "let it go on", by, at, reason
    )


def cancel_route(*, route_id: int, reason: str, by: Person | None, at: datetime) -> Route:
    """Give a route up for good; its castings may go to the shelf.

    raises : NotAllowed, NoSuchThing, RouteNotInWork, ReasonMissing
    """
    _reason(reason, "cancel a route")
    fact = Fact.ROUTE_CANCELLED
    return _move(route_id, TO_BE_MADE, State.CANCELLED, fact, "cancel it", by, at, reason)


@transaction.atomic
def _move(
    route_id: int,
    from_: Collection[str],
    to: State,
    fact: Fact,
    deed: str,
    by: Person | None,
    at: datetime,
    reason: str = "",
) -> Route:
    if by is not None:
        require(by, Group.PLANNER, Group.APPLICATION_ENGINEER, deed=f"{deed} (a route)")
    route = lock_route(route_id)
    _in_state(route, from_, deed)
    before, route.state = route.state, to
    route.save(update_fields=["state"])
    after = {"route": route.pk, "state": str(to), "reason": reason.strip()}
    record(fact, about=route, by=by, at=at, before={"state": before}, after=after)
    reforecast(route_ids=[route.pk], now=at)
    route.refresh_from_db()
    return route


@transaction.atomic
def ship_units(
    *, route_id: int, units: Collection[int], on: date, by: Person | None, at: datetime
) -> Route:
    """Units leave the works; with the last of them the route is shipped.

    units : numbers
    raises : NotAllowed, NoSuchThing, RouteNotInWork, BadFigure, TimeInFuture, NotReadyToShip
    """
    if by is not None:
        require(by, Group.PLANNER, Group.SUPERVISOR, deed="ship units")
    route = lock_route(route_id)
    _in_state(route, (State.RELEASED,), "ship its units")
    today = local_date(at, Site.current().zone)
    if on > today:
        raise TimeInFuture(what="The day of shipping", stated=f"{on}", now=f"{today}")
    chosen = _units(route, units)
    if gone := [unit for unit in chosen if unit.shipped_on is not None]:
        raise NotReadyToShip(what=str(gone[0]), lacks=[f"it shipped on {gone[0].shipped_on}"])
    for unit in chosen:
        lacks = [
            *Operation.objects.open().filter(unit=unit).values_list("name", flat=True),
            *Gate.objects.open()
            .filter(operation__unit=unit, operation__dropped_in=None)
            .values_list("reason", flat=True),
        ]
        if lacks:
            raise NotReadyToShip(what=str(unit), lacks=lacks)
        unit.shipped_on = on
    Unit.objects.bulk_update(chosen, ["shipped_on"])
    numbers = sorted(unit.number for unit in chosen)
    if not route.units.filter(dropped_in=None, shipped_on=None).exists():
        route.state = State.SHIPPED
        route.save(update_fields=["state"])
    after = {"route": route.pk, "units": numbers, "on": on.isoformat(), "state": route.state}
    record(Fact.UNITS_SHIPPED, about=route, by=by, at=at, after=after)
    reforecast(route_ids=[route.pk], now=at)
    route.refresh_from_db()
    return route


@transaction.atomic
def set_due(
    *, route_id: int, due_on: date, by: Person | None, at: datetime, reason: str = ""
) -> Route:
    """Move the day by which the route must ship.

    raises : NotAllowed, NoSuchThing, RouteNotInWork, BadFigure
    """
    _may_plan(by, "move a ship-by date")
    route = lock_route(route_id)
    _in_state(route, TO_BE_MADE, "move its ship-by date")
    _day("The ship-by date", due_on, at)
    before, route.due_on = route.due_on, due_on
    route.save(update_fields=["due_on"])
    after = {"route": route.pk, "due_on": due_on.isoformat(), "reason": reason.strip()}
    return _changed(Fact.DUE_SET, route, by, at, {"due_on": before.isoformat()}, after)


@transaction.atomic
def set_published(
    *, route_id: int, on: date | None, by: Person | None, at: datetime, reason: str = ""
) -> Route:
    """Note the ship date that was told outside.

    raises : NotAllowed, NoSuchThing
    """
    _may_plan(by, "publish a date")
    route = lock_route(route_id)
    before, route.published_on = route.published_on, on
    route.save(update_fields=["published_on"])
    after = {"route": route.pk, "on": on and on.isoformat(), "reason": reason.strip()}
    said = {"on": before and before.isoformat()}
    record(Fact.PUBLISHED_SET, about=route, by=by, at=at, before=said, after=after)
    return route


@transaction.atomic
def set_unit_due(*, unit_id: int, due_on: date | None, by: Person | None, at: datetime) -> Unit:
    """Give a unit its own ship-by, as for a part delivery; None takes it back.

    raises : NotAllowed, NoSuchThing, RouteNotInWork, BadFigure
    """
    _may_plan(by, "move a unit's ship-by date")
    unit = Unit.objects.filter(pk=unit_id).first()
    if unit is None:
        raise NoSuchThing(what="unit", key=unit_id)
    route = lock_route(unit.route_id)
    _in_state(route, TO_BE_MADE, "move a unit's ship-by date")
    if due_on is not None:
        _day("The unit's ship-by date", due_on, at)
    before, unit.due_on = unit.due_on, due_on
    unit.save(update_fields=["due_on"])
    record(
        Fact.UNIT_DUE_SET,
        about=unit,
        by=by,
        at=at,
        before={"due_on": before and before.isoformat()},
        after={"route": route.pk, "unit": unit.number, "due_on": due_on and due_on.isoformat()},
    )
    reforecast(route_ids=[route.pk], now=at)
    unit.refresh_from_db()
    return unit


@transaction.atomic
def set_weight(*, route_id: int, weight: int, by: Person | None, at: datetime) -> Route:
    """Say how much a day late costs against other routes.

    weight : 1 to 9
    raises : NotAllowed, NoSuchThing, BadFigure
    """
    _may_plan(by, "set a route's weight")
    if not 1 <= weight <= 9:
        raise BadFigure(field="The weight", value=weight, right="from 1 to 9")
    route = lock_route(route_id)
    before, route.weight = route.weight, weight
    route.save(update_fields=["weight"])
    after = {"route": route.pk, "weight": weight}
    return _changed(Fact.WEIGHT_SET, route, by, at, {"weight": before}, after)


@transaction.atomic
def give_serials(
    *, route_id: int, serials: Mapping[int, str], by: Person | None, at: datetime
) -> list[Unit]:
    """Give units their serial numbers, each once in the works.

    serials : by unit number
    raises : NotAllowed, NoSuchThing, BadFigure, SerialTaken
    """
    _may_plan(by, "give serial numbers")
    route = lock_route(route_id)
    units = _units(route, serials)
    wanted = {number: serial.strip() for number, serial in serials.items()}
    for number, serial in wanted.items():
        if not serial or len(serial) > 40:
            field = f"The serial number of unit {number}"
            raise BadFigure(field=field, value=repr(serial), right="1 to 40 characters")
    if len(set(wanted.values())) < len(wanted):
        raise SerialTaken(serial="one of them", by="another of these units")
    taken = (
        Unit.objects.select_related("route")
        .filter(serial__in=wanted.values())
        .exclude(Q(route=route) & Q(number__in=wanted))
        .first()
    )
    if taken is not None:
        raise SerialTaken(serial=str(taken.serial), by=f"{taken.route} unit {taken.number}")
    before = {str(unit.number): unit.serial for unit in units}
    # Two units may exchange numbers: none is unique while the rows change one by one.
    Unit.objects.filter(pk__in=[unit.pk for unit in units]).update(serial=None)
    for unit in units:
        unit.serial = wanted[unit.number]
    Unit.objects.bulk_update(units, ["serial"])
    after = {"route": route.pk, "serials": {str(unit.number): unit.serial for unit in units}}
    record(Fact.SERIALS_GIVEN, about=route, by=by, at=at, before={"serials": before}, after=after)
    return units


@transaction.atomic
def issue_drawing(
    *,
    route_id: int,
    drawing: str,
    revision: str,
    by: Person | None,
    at: datetime,
    codes: Collection[str] | None = None,
) -> int:
    """Issue a drawing's revision to the operations that work to it and are not yet finished.

    codes : of the operations; None for all that confirm a drawing at their start
    returns : how many operations have it now
    raises : NotAllowed, NoSuchThing, RouteNotInWork, BadFigure
    """
    if by is not None:
        require(by, Group.APPLICATION_ENGINEER, deed="issue a drawing")
    for field, value, most in (("The drawing", drawing, 40), ("The revision", revision, 10)):
        if not 1 <= len(value.strip()) <= most:
            raise BadFigure(field=field, value=repr(value), right=f"1 to {most} characters")
    route = lock_route(route_id)
    _in_state(route, TO_BE_MADE, "issue a drawing for it")
    operations = Operation.objects.open().filter(route=route)
    if codes is None:
        operations = operations.filter(confirmations__contains=["drawing revision"])
    else:
        operations = operations.filter(code__in=codes)
    replaced = sorted(
        {
            f"{name} rev {old}"
            for name, old in operations.exclude(drawing="").values_list(
                "drawing", "drawing_revision"
            )
        }
    )
    count = operations.update(drawing=drawing.strip(), drawing_revision=revision.strip())
    after = {
        "route": route.pk,
        "drawing": drawing.strip(),
        "revision": revision.strip(),
        "operations": count,
    }
    before = {"drawings": replaced}
    record(Fact.DRAWING_ISSUED, about=route, by=by, at=at, before=before, after=after)
    return count


def _may_plan(by: Person | None, deed: str) -> None:
    if by is not None:
        require(by, Group.PLANNER, Group.APPLICATION_ENGINEER, deed=deed)


def _reason(reason: str, deed: str) -> None:
    if not reason.strip():
        raise ReasonMissing(deed=deed)


def _in_state(route: Route, states: Collection[str], deed: str) -> None:
    if route.state not in states:
        raise RouteNotInWork(route=str(route), state=route.get_state_display(), deed=deed)


def _day(field: str, on: date, at: datetime) -> None:
    """Nobody moves a date into the past, nor to where no calendar reaches."""
    first, last = local_date(at, Site.current().zone), horizon(at)[1]
    if not first <= on <= last:
        raise BadFigure(field=field, value=on, right=f"a day from {first} to {last}")


def _units(route: Route, numbers: Collection[int]) -> list[Unit]:
    units = list(route.units.select_for_update().filter(number__in=numbers, dropped_in=None))
    for unit in units:
        unit.route = route
    if missing := set(numbers) - {unit.number for unit in units}:
        raise NoSuchThing(what=f"unit of {route} numbered", key=min(missing))
    if not units:
        raise BadFigure(field="The units", value="none", right="at least one")
    return units


def _changed(
    fact: Fact,
    route: Route,
    by: Person | None,
    at: datetime,
    before: Mapping[str, object],
    after: Mapping[str, object],
) -> Route:
    record(fact, about=route, by=by, at=at, before=before, after=after)
    reforecast(route_ids=[route.pk], now=at)
    route.refresh_from_db()
    return route
