"""Deeds about the lines of an enquiry: added, changed, taken out, and the choice one takes.

Once the order is in work, a line changes by a change only: see `changes`.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction
from django.db.models import Max

from orders.actions.enquiries import must_be_enquiry
from orders.errors import BadQuantity, ForeignChoice, NotSpares, WrongState
from orders.facts import Fact
from orders.models import Item, Order
from selection.configuration import PatternWork, Rotation
from selection.models import Choice, Pattern, Study
from works.errors import ChangedMeanwhile
from works.events import record
from works.models import Person
from works.people import Group, require

SPARE_FACTS = (
    "pump",
    "impeller_pattern",
    "impeller_metal",
    "rotation",
    "pattern_work",
    "shaft_metal",
)
"""What a spares item may say of itself: the pump it is for, and what it is made from."""


@transaction.atomic
def add_item(
    *,
    order_id: int,
    kind: str,
    quantity: int,
    tag: str = "",
    description: str = "",
    spare_for: Mapping[str, str] | None = None,
    by: Person,
    at: datetime,
) -> Item:
    """Add a line: pumps (with a study to choose them in) or spares.

    raises : NotAllowed; WrongState once the order is in work (that is a change then);
        BadQuantity; NotSpares; ValidationError
    """
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="add an item")
    order = Order.objects.select_for_update().get(pk=order_id)
    must_be_enquiry(order, deed="add an item")
    number = (order.items.aggregate(last=Max("number"))["last"] or 0) + 1
    check_quantity(quantity)
    item = Item(
        order=order,
        number=number,
        kind=kind,
        quantity=quantity,
        tag=tag.strip(),
        description=description.strip(),
        spare_for=_spare(f"{order.number}/{number}", kind, spare_for or {}),
    )
    item.full_clean(exclude=["spare_for"])
    if kind == Item.Kind.PUMP:
        item.study = Study.objects.create(
            title=f"{order.number}/{number} {item.tag}".strip(),
            origin_label=f"Order {order.number}, item {number}",
            origin_path=order.get_absolute_url(),
            by=by,
            at=at,
        )
    item.save()
    after = {"item": number, "kind": kind, "quantity": quantity}
    record(Fact.ITEM_ADDED, about=order, by=by, at=at, after=after)
    return item


@transaction.atomic
def change_item(
    *,
    item_id: int,
    version: int,
    quantity: int,
    tag: str,
    description: str,
    spare_for: Mapping[str, str] | None = None,
    by: Person,
    at: datetime,
) -> Item:
    """Change a line of an enquiry.

    raises : NotAllowed; WrongState; ChangedMeanwhile; BadQuantity; NotSpares; ValidationError
    """
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="change an item")
    item = _locked(item_id)
    must_be_enquiry(item.order, deed="change an item here")
    if item.version != version:
        raise ChangedMeanwhile(what=f"Item {item}")
    check_quantity(quantity)
    before = {"quantity": item.quantity, "tag": item.tag, "description": item.description}
    item.quantity, item.tag, item.description = quantity, tag.strip(), description.strip()
    if spare_for is not None:
        item.spare_for = _spare(str(item), item.kind, spare_for)
    item.version += 1
    item.full_clean(exclude=["spare_for"])
    item.save()
    after = {
        "item": item.number,
        "quantity": quantity,
        "tag": item.tag,
        "description": item.description,
    }
    record(Fact.ITEM_CHANGED, about=item.order, by=by, at=at, before=before, after=after)
    return item


@transaction.atomic
def remove_item(*, item_id: int, by: Person, at: datetime) -> Order:
    """Take a line out of an enquiry; its study stays at the selection desk.

    raises : NotAllowed; WrongState
    """
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="take an item out")
    item = _locked(item_id)
    must_be_enquiry(item.order, deed="take an item out")
    order = item.order
    before = {"item": item.number, "kind": item.kind, "quantity": item.quantity}
    item.delete()
    record(Fact.ITEM_REMOVED, about=order, by=by, at=at, before=before)
    return order


@transaction.atomic
def take_choice(*, item_id: int, choice_id: int, by: Person, at: datetime) -> Item:
    """Take a frozen choice for an item that is not in work yet.

    raises : NotAllowed; ForeignChoice; WrongState once in work (that is a change then)
    """
    require(by, Group.APPLICATION_ENGINEER, deed="take a choice")
    item = _locked(item_id)
    if item.route_id is not None or item.order.state != Order.State.ENQUIRY:
        raise WrongState(
            order=item.order.number,
            state=item.order.get_state_display(),
            deed="take another choice",
            wanted="an enquiry; propose a change instead",
        )
    choice = own_choice(item, choice_id)
    before = {"choice": item.choice_id}
    item.choice = choice
    item.version += 1
    item.save(update_fields=["choice", "version"])
    after = {"item": item.number, "choice": str(choice)}
    record(Fact.CHOICE_TAKEN, about=item.order, by=by, at=at, before=before, after=after)
    return item


def own_choice(item: Item, choice_id: int) -> Choice:
    """A choice that was frozen in the item's own study.

    raises : ForeignChoice
    """
    choice = Choice.objects.select_related("study").get(pk=choice_id)
    if item.study_id is None or choice.study_id != item.study_id:
        raise ForeignChoice(item=str(item), choice=str(choice))
    return choice


def check_quantity(quantity: int) -> None:
    """raises : BadQuantity"""
    if not 1 <= quantity <= 50:
        raise BadQuantity(quantity=quantity)


def _locked(item_id: int) -> Item:
    """The item, its order locked first as every deed does."""
    order_id = Item.objects.values_list("order_id", flat=True).get(pk=item_id)
    order = Order.objects.select_for_update().get(pk=order_id)
    item = Item.objects.select_for_update(of=("self",)).get(pk=item_id)
    item.order = order
    return item


def _spare(item: str, kind: str, given: Mapping[str, str]) -> dict[str, Any]:
    """What a spares item says of itself, checked.

    raises : NotSpares
    """
    facts = {name: given[name].strip() for name in SPARE_FACTS if given.get(name, "").strip()}
    if kind == Item.Kind.PUMP:
        return {}
    if kind == Item.Kind.SPARES_SHAFT:
        return {name: facts[name] for name in ("pump", "shaft_metal") if name in facts}
    facts.pop("shaft_metal", None)
    number = facts.get("impeller_pattern", "")
    if not Pattern.objects.filter(number=number, part=Pattern.Part.IMPELLER).exists():
        raise NotSpares(item=item, lacks="the number of an impeller pattern of the register")
    if not facts.get("impeller_metal"):
        raise NotSpares(item=item, lacks="the metal of the impeller")
    if facts.get("rotation") not in set(Rotation):
        raise NotSpares(item=item, lacks=f"the rotation, {' or '.join(Rotation)}")
    if facts.setdefault("pattern_work", str(PatternWork.NONE)) not in set(PatternWork):
        raise NotSpares(item=item, lacks=f"the pattern work, one of {', '.join(PatternWork)}")
    return facts
