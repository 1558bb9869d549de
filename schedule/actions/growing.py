"""Routes grown from a template, and grown again after a change or a loss.

What is done is never dropped in silence: it stays on the record, and what rested on something
that changed is repeated, held by the same gates as the first time.
"""

import dataclasses
from collections.abc import Collection, Mapping
from datetime import date, datetime

from django.db import transaction

from schedule.actions.forecast import reforecast
from schedule.actions.locks import lock_operations, lock_route
from schedule.actions.revising import (
    Regrown,
    all_rows,
    done,
    insert,
    kept,
    new_row,
    revise,
    work_centres,
)
from schedule.errors import BadFigure, RouteCannotGrow, RouteNotInWork
from schedule.facts import Fact
from schedule.models import Route, RouteTemplate, Unit
from schedule.planning import network
from schedule.planning.conditions import Terms
from schedule.planning.errors import PlanningError
from schedule.planning.growing import Growth, grow
from schedule.planning.regrowing import regrow, remake
from schedule.queries.growths import growth_of, key, template_of
from schedule.working_time import horizon, local_date
from selection.configuration import Configuration
from selection.models import Choice
from works.errors import ReasonMissing
from works.events import record
from works.models import Person, Site
from works.people import Group, require

MOST_UNITS = 50
REGROWN_STATES = (Route.State.DRAFT, Route.State.RELEASED, Route.State.ON_HOLD)


@transaction.atomic
def grow_route(
    *,
    label: str,
    template: RouteTemplate,
    configuration: Configuration | None,
    terms: Terms,
    quantity: int,
    due_on: date,
    weight: int,
    choice: Choice | None,
    by: Person | None,
    at: datetime,
    spare: Mapping[str, str] | None = None,
) -> Route:
    """Grow a route for an item: its units, operations, links, and things to buy; not yet released.

    label : what the works calls it, such as order and item
    configuration : None for a spare without a hydraulic choice
    spare : then what is known of it: impeller_pattern, impeller_metal, rotation
    due_on : ship-by
    weight : 1 to 9
    raises : NotAllowed, BadFigure, RouteCannotGrow
    """
    if by is not None:
        require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="grow a route")
    if not label.strip():
        raise BadFigure(field="The route's label", value="empty", right="the order and item")
    _check_figures(quantity=quantity, due_on=due_on, weight=weight, at=at)
    try:
        growth = grow(template_of(template), configuration, terms, units=quantity)
        _check_network(growth)
    except PlanningError as error:
        raise RouteCannotGrow(label=label, why=str(error)) from error
    centres = work_centres(growth.operations, label)
    facts = dataclasses.asdict(configuration) if configuration else dict(spare or {})
    route = Route.objects.create(
        label=label.strip(),
        template=template,
        choice=choice,
        configuration=facts,
        terms=terms.as_json(),
        quantity=quantity,
        due_on=due_on,
        weight=weight,
    )
    units = Unit.objects.bulk_create(Unit(route=route, number=n) for n in range(1, quantity + 1))
    rows = [
        new_row(route, operation, {unit.number: unit for unit in units}, centres, position)
        for position, operation in enumerate(growth.operations)
    ]
    insert(rows, growth.links, {})
    record(
        Fact.ROUTE_GROWN,
        about=route,
        by=by,
        at=at,
        after={
            "route": route.pk,
            "quantity": quantity,
            "due_on": due_on.isoformat(),
            "weight": weight,
            "operations": len(rows),
        },
    )
    reforecast(route_ids=[route.pk], now=at)
    route.refresh_from_db()
    return route


@transaction.atomic
def regrow_route(
    *,
    route_id: int,
    configuration: Configuration | None,
    terms: Terms,
    reason: str,
    by: Person | None,
    at: datetime,
    quantity: int | None = None,
    choice: Choice | None = None,
    spare: Mapping[str, str] | None = None,
) -> Regrown:
    """Grow a route again from a changed choice, changed terms or another quantity.

    raises : NotAllowed, NoSuchThing, RouteNotInWork, ReasonMissing, BadFigure, RouteCannotGrow
    """
    if by is not None:
        require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="grow a route again")
    if not reason.strip():
        raise ReasonMissing(deed="grow a route again")
    route = _to_regrow(lock_route(route_id), "grow it again")
    wanted = route.quantity if quantity is None else quantity
    _check_figures(quantity=wanted)
    rows = all_rows(route)
    operations = kept(rows)
    try:
        new = grow(template_of(route.template), configuration, terms, units=wanted)
        found = regrow(growth_of(operations), new, done=done(operations))
        _check_network(found.growth)
    except PlanningError as error:
        raise RouteCannotGrow(label=route.label, why=str(error)) from error
    facts = dataclasses.asdict(configuration) if configuration else dict(spare or {})
    if choice is not None:
        route.choice = choice
    route.configuration = facts or route.configuration
    route.terms, route.quantity = terms.as_json(), wanted
    route.save(update_fields=["choice", "configuration", "terms", "quantity"])
    return revise(route, rows, found, reason=reason, by=by, at=at)


def difference(
    *,
    route_id: int,
    configuration: Configuration | None,
    terms: Terms,
    at: datetime,
    quantity: int | None = None,
    spare: Mapping[str, str] | None = None,
) -> Regrown:
    """What growing a route again would do, forecast included; nothing is changed.

    It is the deed itself, taken back before anybody sees it, so that it cannot promise otherwise.
    raises : as `regrow_route`
    """
    with transaction.atomic():
        found = regrow_route(
            route_id=route_id,
            configuration=configuration,
            terms=terms,
            reason="asked what it would do",
            by=None,
            at=at,
            quantity=quantity,
            spare=spare,
        )
        transaction.set_rollback(True)
    return found


@transaction.atomic
def repeat_operations(
    *, operation_ids: Collection[int], reason: str, by: Person | None, at: datetime
) -> Regrown:
    """Do again the work of some operations of one route, and what followed from it.

    raises : NotAllowed, NoSuchThing, RouteNotInWork, ReasonMissing, RouteCannotGrow
    """
    if by is not None:
        require(by, Group.QUALITY_ENGINEER, Group.PLANNER, deed="have work done again")
    if not reason.strip():
        raise ReasonMissing(deed="have work done again")
    lost = lock_operations(operation_ids)
    if len({operation.route_id for operation in lost}) != 1:
        raise RouteCannotGrow(label="These operations", why="Choose operations of one route.")
    route = _to_regrow(lost[0].route, "have its work done again")
    rows = all_rows(route)
    operations = kept(rows)
    try:
        found = remake(
            growth_of(operations),
            [key(operation) for operation in lost],
            done=done(operations),
            why=reason.strip(),
        )
        _check_network(found.growth)
    except PlanningError as error:
        raise RouteCannotGrow(label=route.label, why=str(error)) from error
    return revise(route, rows, found, reason=reason, by=by, at=at)


def _check_figures(
    *,
    quantity: int = 1,
    due_on: date | None = None,
    weight: int = 1,
    at: datetime | None = None,
) -> None:
    if not 1 <= quantity <= MOST_UNITS:
        raise BadFigure(field="The quantity", value=quantity, right=f"from 1 to {MOST_UNITS}")
    if not 1 <= weight <= 9:
        raise BadFigure(field="The weight", value=weight, right="from 1 to 9")
    if due_on is not None and at is not None:
        first, last = local_date(at, Site.current().zone), horizon(at)[1]
        if not first <= due_on <= last:
            right = f"a day from {first} to {last}"
            raise BadFigure(field="The ship-by date", value=due_on, right=right)


def _check_network(growth: Growth) -> None:
    """Refuse a ring of links before the database does, in the trade's words.

    raises : Cycle
    """
    network.Problem(
        operations=tuple(
            network.Operation(key=operation.key, minutes=0, kind=network.Kind.ELAPSED)
            for operation in growth.operations
        ),
        links=growth.links,
    )


def _to_regrow(route: Route, deed: str) -> Route:
    if route.state not in REGROWN_STATES:
        raise RouteNotInWork(route=str(route), state=route.get_state_display(), deed=deed)
    return route
