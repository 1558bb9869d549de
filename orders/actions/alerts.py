"""Alerts about orders: reviewed by the rules, and acknowledged by a person."""

from collections.abc import Collection
from datetime import datetime

from django.db import transaction
from django.db.models import QuerySet

from orders.alert_rules import HELD_RULES, RULES, TITLES, Finding, Rule
from orders.models import Order
from orders.queries.watching import watched_orders
from works import alerts
from works.models import Alert, Person
from works.people import Group, require


def review(*, order_ids: Collection[int] | None = None, at: datetime) -> int:
    """Bring the alerts of orders to what is so now: raised, escalated, closed.

    Each order by itself and locked before it is looked at, so that two workers can neither get in
    each other's way nor the one who looked first overwrite the other.

    order_ids : primary keys; None for every order that is in work or has an alert open
    returns : how many are open for them afterwards
    """
    wanted = _all() if order_ids is None else sorted(set(order_ids))
    return sum(_reviewed(order_id, at) for order_id in wanted)


def _all() -> list[int]:
    in_work = set(Order.objects.in_work().values_list("pk", flat=True))
    alerted = set(_open().values_list("about_id", flat=True))
    return sorted(in_work | alerted)


def _open() -> QuerySet[Alert]:
    return Alert.objects.open().filter(rule__in=TITLES, about_kind="orders.order")


@transaction.atomic
def _reviewed(order_id: int, at: datetime) -> int:
    order = Order.objects.select_for_update().filter(pk=order_id).first()
    still = set()
    for watched in watched_orders(order_ids=[order_id], now=at) if order is not None else ():
        rules = HELD_RULES if watched.order.state == Order.State.ON_HOLD else RULES
        for rule in rules:
            for finding in rule.find(watched):
                still.add(_raised(rule, watched.order, finding, at).cause)
    gone = _open().filter(about_id=order_id).exclude(cause__in=still)
    for cause in gone.order_by("pk").values_list("cause", flat=True):
        alerts.close(cause=cause, at=at)
    return len(still)


def _raised(rule: Rule, order: Order, finding: Finding, at: datetime) -> Alert:
    part = f"#{finding.part}" if finding.part else ""
    return alerts.raise_or_update(
        cause=rule.cause(order, finding),
        rule=rule.key,
        level=rule.level(finding.figure),
        about=order,
        sentence=finding.sentence,
        figure=round(finding.figure, 1),
        url=f"{order.get_absolute_url()}{part}",
        at=at,
    )


@transaction.atomic
def acknowledge(*, alert_id: int, by: Person, at: datetime) -> Alert:
    """Note that somebody has seen an alert and deals with it.

    raises : NotAllowed
    """
    require(
        by,
        Group.PLANNER,
        Group.APPLICATION_ENGINEER,
        Group.BUYER,
        Group.SUPERVISOR,
        Group.QUALITY_ENGINEER,
        deed="acknowledge an alert",
    )
    return alerts.acknowledge(alert_id=alert_id, by=by, at=at)
