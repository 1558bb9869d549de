"""Alerts about orders: reviewed by the rules, and acknowledged by a person."""

from collections.abc import Collection
from datetime import datetime

from django.db import transaction

from orders.alert_rules import HELD_RULES, RULES, TITLES
from orders.models import Order
from orders.queries.watching import watched_orders
from works import alerts
from works.models import Alert, Person
from works.people import Group, require


@transaction.atomic
def review(*, order_ids: Collection[int] | None = None, at: datetime) -> int:
    """Bring the alerts of orders to what is so now: raised, escalated, closed.

    order_ids : primary keys; None for every order
    returns : how many are open for them afterwards
    """
    still = set()
    for watched in watched_orders(order_ids=order_ids, now=at):
        order = watched.order
        rules = HELD_RULES if order.state == Order.State.ON_HOLD else RULES
        for rule in rules:
            for finding in rule.find(watched):
                part = f"#{finding.part}" if finding.part else ""
                alert = alerts.raise_or_update(
                    cause=rule.cause(order, finding),
                    rule=rule.key,
                    level=rule.level(finding.figure),
                    about=order,
                    sentence=finding.sentence,
                    figure=round(finding.figure, 1),
                    url=f"{order.get_absolute_url()}{part}",
                    at=at,
                )
                still.add(alert.cause)
    there = Alert.objects.open().filter(rule__in=TITLES, about_kind="orders.order")
    if order_ids is not None:
        there = there.filter(about_id__in=order_ids)
    for cause in there.exclude(cause__in=still).order_by("pk").values_list("cause", flat=True):
        alerts.close(cause=cause, at=at)
    return len(still)


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
