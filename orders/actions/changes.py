"""Changes to an order in work: what one touches is shown before anybody accepts it.

What it touches is found by doing it and taking it back before anybody sees it, so that the showing
cannot promise anything else than the doing. Accepting revises the item, the route and the
inspection plan together.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction
from django.db.models import Max

from orders.actions.changing import apply
from orders.actions.items import check_quantity, own_choice
from orders.contract import Contract
from orders.effects import Effect, Wanted
from orders.errors import ChangeDecided, DateInPast, EffectMoved, NothingChanges, WrongState
from orders.facts import Fact
from orders.models import Change, Item, Order
from works.errors import ReasonMissing
from works.events import record
from works.models import Person
from works.people import Group, require

IN_WORK = (Order.State.ORDERED, Order.State.ON_HOLD)


@transaction.atomic
def propose_change(
    *,
    item_id: int,
    what: str,
    choice_id: int | None = None,
    quantity: int | None = None,
    promised_on: date | None = None,
    contract: Contract | None = None,
    shelf_casings: Sequence[int] | None = None,
    shelf_impellers: Sequence[int] | None = None,
    today: date,
    by: Person,
    at: datetime,
) -> Change:
    """Put a change forward; what it touches is reckoned and kept with it, nothing is changed yet.

    what : the change in words, such as the customer's own
    choice_id : another frozen choice of the item's study, for another seal, flange, metal, impeller
    promised_on, contract : of the whole order, whichever item it is put forward on
    shelf_casings, shelf_impellers : units whose castings come from the shelf
    raises : NotAllowed; WrongState; ReasonMissing; NothingChanges; DateInPast; BadQuantity;
        ForeignChoice; ChangeCannotBe, when no route can be grown for it
    """
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="propose a change")
    item = _locked(item_id)
    _must_be_in_work(item, deed="propose a change")
    if not what.strip():
        raise ReasonMissing(deed="propose a change")
    if promised_on is not None and promised_on < today:
        raise DateInPast(what="The date on site", on=promised_on, today=today)
    if quantity is not None:
        check_quantity(quantity)
    if choice_id is not None:
        own_choice(item, choice_id)
    wanted = _what_differs(
        item,
        Wanted(
            choice_id=choice_id,
            quantity=quantity,
            promised_on=promised_on.isoformat() if promised_on else None,
            contract=contract.as_data() if contract else None,
            shelf_casings=_numbers(shelf_casings),
            shelf_impellers=_numbers(shelf_impellers),
        ),
    )
    effect = _tried(item, wanted, reason=what, by=by, at=at)
    last = item.changes.aggregate(last=Max("number"))["last"] or 0
    change = Change.objects.create(
        item=item,
        number=last + 1,
        what=what.strip(),
        choice_id=wanted.choice_id,
        wanted=wanted.as_data(),
        effect=effect.as_data(),
        by=by,
        at=at,
    )
    after = {"item": item.number, "change": change.number, "what": change.what}
    record(
        Fact.CHANGE_PROPOSED,
        about=item.order,
        by=by,
        at=at,
        after=after | {"wanted": change.wanted},
    )
    return change


def accept_change(*, change_id: int, by: Person, at: datetime) -> Change:
    """Do what was shown: item, route and inspection plan are revised together.

    When it would touch something else by now (a casting was poured meanwhile), nothing is changed:
    what it touches is reckoned and kept again, and whoever decides is told.
    raises : NotAllowed; WrongState; ChangeDecided; EffectMoved; ChangeCannotBe
    """
    require(by, Group.PLANNER, deed="accept a change")
    decided = _accepted(change_id, by, at)
    if decided.moved:
        raise EffectMoved(change=str(decided.change))
    return decided.change


@transaction.atomic
def refuse_change(*, change_id: int, reason: str, by: Person, at: datetime) -> Change:
    """Say no to a change; it stays on the record with what it would have touched.

    raises : NotAllowed; ChangeDecided; ReasonMissing
    """
    require(by, Group.PLANNER, Group.APPLICATION_ENGINEER, deed="refuse a change")
    change = _locked_change(change_id)
    if not reason.strip():
        raise ReasonMissing(deed="refuse a change")
    _decide(change, Change.State.REFUSED, by, at)
    after = {
        "item": change.item.number,
        "change": change.number,
        "what": change.what,
        "reason": reason.strip(),
    }
    record(Fact.CHANGE_REFUSED, about=change.item.order, by=by, at=at, after=after)
    return change


@dataclass(frozen=True)
class _Decided:
    change: Change
    moved: bool


@transaction.atomic
def _accepted(change_id: int, by: Person, at: datetime) -> _Decided:
    change = _locked_change(change_id)
    item = change.item
    _must_be_in_work(item, deed="accept a change")
    wanted = Wanted.from_data(change.wanted)
    with transaction.atomic():
        effect = apply(item=item, wanted=wanted, reason=change.what, by=by, at=at)
        moved = effect.touches != Effect.from_data(change.effect).touches
        transaction.set_rollback(moved)
    if moved:
        change.effect = effect.as_data()
        change.save(update_fields=["effect"])
        return _Decided(change, moved=True)
    _decide(change, Change.State.ACCEPTED, by, at)
    told = {
        "item": item.number,
        "change": change.number,
        "what": change.what,
        "revision": item.revision,
        "ships": [row.after.ship_on for row in effect.items],
    }
    record(Fact.CHANGE_ACCEPTED, about=item.order, by=by, at=at, after=told)
    return _Decided(change, moved=False)


def _tried(item: Item, wanted: Wanted, *, reason: str, by: Person, at: datetime) -> Effect:
    """What the change would do, found by doing it and taking it back."""
    with transaction.atomic():
        effect = apply(item=item, wanted=wanted, reason=reason, by=by, at=at)
        transaction.set_rollback(True)
    item.refresh_from_db()
    return effect


def _what_differs(item: Item, wanted: Wanted) -> Wanted:
    """The wishes that are not so already.

    raises : NothingChanges
    """
    order, route = item.order, item.route
    terms = route.terms if route is not None else {}
    there = {
        "choice_id": item.choice_id,
        "quantity": item.quantity,
        "promised_on": order.promised_on.isoformat() if order.promised_on else None,
        "contract": Contract.from_data(order.contract).as_data(),
        "shelf_casings": list(terms.get("shelf_casings", ())),
        "shelf_impellers": list(terms.get("shelf_impellers", ())),
    }
    differs = {name: value for name, value in wanted.as_data().items() if there[name] != value}
    if not differs:
        raise NothingChanges(item=str(item))
    return Wanted.from_data(differs)


def _decide(change: Change, state: str, by: Person, at: datetime) -> None:
    change.state, change.decided_by, change.decided_at = state, by, at
    change.save(update_fields=["state", "decided_by", "decided_at"])


def _locked_change(change_id: int) -> Change:
    """The change, its order and item locked first.

    raises : ChangeDecided
    """
    item = _locked(Change.objects.values_list("item_id", flat=True).get(pk=change_id))
    change = Change.objects.select_for_update(of=("self",)).get(pk=change_id)
    change.item = item
    if change.state != Change.State.PROPOSED:
        raise ChangeDecided(change=str(change), state=change.get_state_display())
    return change


def _locked(item_id: int) -> Item:
    order_id = Item.objects.values_list("order_id", flat=True).get(pk=item_id)
    order = Order.objects.select_for_update(of=("self",)).select_related("lane").get(pk=order_id)
    item = (
        Item.objects.select_for_update(of=("self",))
        .select_related("choice", "route", "inspection_plan")
        .get(pk=item_id)
    )
    item.order = order
    return item


def _must_be_in_work(item: Item, *, deed: str) -> None:
    order = item.order
    if order.state not in IN_WORK or item.route_id is None:
        raise WrongState(
            order=order.number, state=order.get_state_display(), deed=deed, wanted="in work"
        )


def _numbers(units: Sequence[int] | None) -> tuple[int, ...] | None:
    return None if units is None else tuple(sorted(set(units)))
