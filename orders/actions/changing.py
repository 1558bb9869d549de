"""Doing a change: item, route and inspection plan revised together, and what that touched."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime
from typing import Any

from django.db.models import Q

from orders.actions.orders import TO_BE_MADE, give_serials, publish_first_dates
from orders.contract import Contract
from orders.effects import Bought, Casting, Effect, Inspection, ItemEffect, Standing, Step, Wanted
from orders.errors import ChangeCannotBe
from orders.models import Item, Order
from orders.shipping import worked_back
from orders.terms import configuration_of, quality_terms, schedule_terms, spare_facts
from quality.actions.plans import PlanDifference, rewrite_plan
from quality.models import InspectionPoint
from schedule.actions import routes
from schedule.actions.forecast import forecast_once, reforecast
from schedule.actions.pieces import put_on_shelf
from schedule.actions.revising import Regrown, Touched
from schedule.errors import RouteCannotGrow
from schedule.models import BoughtOut, Operation, Piece, Route
from schedule.planning.conditions import Terms
from schedule.queries.confirmations import part_of
from selection.models import Choice
from works.models import Person, Site
from works.people import Area


def apply(*, item: Item, wanted: Wanted, reason: str, by: Person, at: datetime) -> Effect:
    """Revise what the change asks for, in the caller's transaction.

    item : locked, with its order, route, plan and choice at hand
    raises : ChangeCannotBe; NoWay; BadTerm; schedule's and quality's refusals
    """
    order = item.order
    before = order.on_site_on
    items = _touched_items(item, wanted)
    reforecast(route_ids=[each.route_id for each in items if each.route_id], now=at)
    _revise_order(order, wanted, at=at)
    effects = tuple(
        _revise(each, wanted if each.pk == item.pk else _shared(wanted), reason, by, at)
        for each in items
    )
    return Effect(
        items=effects, on_site_before=before.isoformat(), on_site=order.on_site_on.isoformat()
    )


def _touched_items(item: Item, wanted: Wanted) -> list[Item]:
    """The item, and with a change of date or terms every item of the order still to be made."""
    if not wanted.whole_order:
        return [item]
    others = list(
        item.order.items.select_related("choice", "route", "inspection_plan")
        .filter(route__state__in=TO_BE_MADE)
        .exclude(pk=item.pk)
    )
    for other in others:
        other.order = item.order
    return sorted([item, *others], key=lambda each: each.number)


def _shared(wanted: Wanted) -> Wanted:
    """What of a wish concerns the other items of the order."""
    return Wanted(promised_on=wanted.promised_on, contract=wanted.contract)


def _revise_order(order: Order, wanted: Wanted, *, at: datetime) -> None:
    if not wanted.whole_order:
        return
    if wanted.promised_on is not None:
        order.on_site_on = order.promised_on = date.fromisoformat(wanted.promised_on)
        order.ship_by_on = worked_back(order.lane, order.on_site_on, now=at).ship_on
    if wanted.contract is not None:
        order.contract = Contract.from_data(wanted.contract).as_data()
    order.version += 1
    order.full_clean()
    order.save(update_fields=["on_site_on", "promised_on", "ship_by_on", "contract", "version"])


def _revise(item: Item, wanted: Wanted, reason: str, by: Person, at: datetime) -> ItemEffect:
    """One item with its route and plan."""
    route, plan = item.route, item.inspection_plan
    assert route is not None and plan is not None
    before = _stands(route)
    _revise_item(item, wanted)
    terms = _terms(item, wanted)
    with forecast_once(now=at):
        if wanted.promised_on is not None:
            routes.set_due(
                route_id=route.pk, due_on=item.order.ship_by_on, reason=reason, by=by, at=at
            )
        regrown = _regrow(item, terms, reason=reason, by=by, at=at)
        route.refresh_from_db()
        give_serials(item=item, order=item.order, route=route, by=by, at=at)
        points = rewrite_plan(
            plan_id=plan.pk,
            configuration=configuration_of(item),
            terms=quality_terms(item.order, item),
            by=by,
            at=at,
        )
        lost = _lost_castings(route, regrown) if regrown else []
        castings = tuple(
            Casting(piece.mark, piece.part, piece.heat, str(piece.unit)) for piece in lost
        )
        for piece in lost:
            # By the program: whoever accepts the change decides that they are no longer wanted.
            put_on_shelf(piece_id=piece.pk, reason=f"change: {reason}"[:200], by=None, at=at)
    publish_first_dates(item=item, order=item.order, by=by, at=at)
    return _effect(item.number, before, _stands(route), regrown, points, castings)


def _revise_item(item: Item, wanted: Wanted) -> None:
    if wanted.choice_id is not None:
        item.choice = Choice.objects.get(pk=wanted.choice_id)
    if wanted.quantity is not None:
        item.quantity = wanted.quantity
    item.revision += 1
    item.version += 1
    item.full_clean(exclude=["spare_for"])
    item.save(update_fields=["choice", "quantity", "revision", "version"])


def _terms(item: Item, wanted: Wanted) -> Terms:
    """The route's terms with the shelf's castings as wished; units that are gone need none."""
    assert item.route is not None
    kept = dict(item.route.terms)
    for name in ("shelf_casings", "shelf_impellers"):
        wish = getattr(wanted, name)
        units = kept.get(name, ()) if wish is None else wish
        beyond = [unit for unit in units if not 1 <= unit <= item.quantity]
        if wish is not None and beyond:
            raise ChangeCannotBe(
                why=f"Item {item} has units 1 to {item.quantity}; there is no unit {beyond[0]} "
                "that could take castings from the shelf."
            )
        kept[name] = [unit for unit in units if unit not in beyond]
    item.route.terms = kept
    return schedule_terms(item.order, item)


def _regrow(item: Item, terms: Terms, *, reason: str, by: Person, at: datetime) -> Regrown | None:
    """Grow the route again, unless nothing of it changed but its date."""
    route = item.route
    assert route is not None
    configuration = configuration_of(item)
    facts = configuration.as_data() if configuration else spare_facts(item)
    stored = Route.objects.values("terms", "configuration", "quantity").get(pk=route.pk)
    if (
        stored["quantity"] == item.quantity
        and _same(stored["configuration"], facts)
        and Terms.from_json(stored["terms"]) == terms
    ):
        return None
    try:
        return routes.regrow_route(
            route_id=route.pk,
            configuration=configuration,
            terms=terms,
            quantity=item.quantity,
            choice=item.choice,
            spare=spare_facts(item),
            reason=reason,
            by=by,
            at=at,
        )
    except RouteCannotGrow as refusal:
        raise ChangeCannotBe(why=str(refusal)) from refusal


def _same(stored: dict[str, Any], wanted: dict[str, Any]) -> bool:
    """Whether a pump is as the route was grown for; JSON keeps enumerations as their words."""
    return {name: _word(value) for name, value in wanted.items()} == stored


def _word(value: Any) -> Any:
    return str(value) if isinstance(value, str) else value


def _lost_castings(route: Route, regrown: Regrown) -> list[Piece]:
    """Castings that the route pours again or no longer wants: of units gone, or poured to other
    facts. One whose paint alone is done again stays."""
    units = {unit.pk: unit.number for unit in route.units.all()}
    gone = {pk for pk, dropped in route.units.values_list("pk", "dropped_in") if dropped}
    pours = _pours(route)
    lost = {
        (row.unit, part_of(row.code))
        for row in (*regrown.superseded, *(old for old, _ in regrown.repeated))
        if row.area == Area.FOUNDRY and row.code in pours
    }
    taken = Piece.objects.filter(unit__in=units, state=Piece.State.TAKEN).select_related("unit")
    return [
        piece
        for piece in taken.order_by("mark")
        if piece.unit_id in gone or (units[piece.unit_id or 0], piece.part) in lost
    ]


def _pours(route: Route) -> set[str]:
    """Codes of the operations that a mould is used up by."""
    return {
        code
        for grown in Operation.objects.filter(route=route).values_list("grown", flat=True)
        for code in _codes(grown.get("remade_with", ()))
    }


def _codes(kept: str | Sequence[str]) -> Iterable[str]:
    return (kept,) if isinstance(kept, str) else kept


def _stands(route: Route) -> Standing:
    """Where the route stands by its latest forecast."""
    route.refresh_from_db()
    ships = route.forecast_ship_at
    return Standing(
        ship_by=route.due_on.isoformat(),
        ship_on=ships.astimezone(Site.current().zone).date().isoformat() if ships else "",
        days_in_hand=route.days_in_hand,
        trouble=route.forecast_trouble,
    )


def _effect(
    number: int,
    before: Standing,
    after: Standing,
    regrown: Regrown | None,
    points: PlanDifference,
    castings: tuple[Casting, ...],
) -> ItemEffect:
    effect = ItemEffect(
        item=number,
        before=before,
        after=after,
        inspections_added=_inspections(points.added),
        inspections_dropped=_inspections(points.withdrawn),
        inspections_changed=_inspections(points.changed),
    )
    if regrown is None:
        return effect
    return replace(
        effect,
        added=_steps(regrown.added),
        dropped=_steps(regrown.dropped),
        superseded=_steps(regrown.superseded),
        repeated=tuple(
            Step(new.code, old.name, new.area, new.unit, old.state, new.because)
            for old, new in regrown.repeated
        ),
        castings=castings,
        bought=_bought(regrown),
    )


def _steps(rows: Iterable[Touched]) -> tuple[Step, ...]:
    return tuple(Step(row.code, row.name, row.area, row.unit, row.state) for row in rows)


def _bought(regrown: Regrown) -> tuple[Bought, ...]:
    """What was ordered and is dropped, superseded or bought again."""
    gone = [row.pk for row in (*regrown.dropped, *regrown.superseded)]
    again = [old.pk for old, _ in regrown.repeated]
    rows = BoughtOut.objects.filter(
        Q(operation_id__in=gone) | Q(operation_id__in=again), ordered_on__isnull=False
    ).order_by("pk")
    return tuple(Bought(row.item, row.supplier, f"{row.ordered_on}") for row in rows)


def _inspections(points: Sequence[InspectionPoint]) -> tuple[Inspection, ...]:
    found = InspectionPoint.objects.select_related("operation__unit").filter(
        pk__in=[point.pk for point in points]
    )
    return tuple(
        Inspection(
            point.code,
            point.characteristic,
            point.operation.name,
            point.operation.unit.number if point.operation.unit else None,
        )
        for point in found.order_by("operation__position", "pk")
    )
