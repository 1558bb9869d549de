"""Dates told to the customer: moved by a person, each move kept with its reason."""

from datetime import date, datetime

from django.db import transaction

from orders.errors import WrongState
from orders.facts import Fact
from orders.models import Item, Milestone, Order, PublishedDate
from schedule.actions import routes
from works.errors import ChangedMeanwhile, ReasonMissing
from works.events import record
from works.models import Person
from works.people import Group, require


@transaction.atomic
def publish_date(
    *,
    item_id: int,
    milestone: Milestone | str,
    on: date,
    reason: str,
    seen: int | None = None,
    by: Person,
    at: datetime,
) -> PublishedDate:
    """Tell the customer another date for a milestone; the older ones stay.

    seen : the last published row that the person had before them, by primary key; None looks
        no further
    raises : NotAllowed; WrongState; ReasonMissing; ChangedMeanwhile
    """
    require(by, Group.PLANNER, deed="publish a date")
    if not reason.strip():
        raise ReasonMissing(deed="publish a date")
    item = Item.objects.select_for_update(of=("self",)).select_related("order").get(pk=item_id)
    if item.order.state not in {Order.State.ORDERED, Order.State.ON_HOLD}:
        raise WrongState(
            order=item.order.number,
            state=item.order.get_state_display(),
            deed="publish a date",
            wanted="in work",
        )
    last = item.published_dates.filter(milestone=milestone).order_by("-id").first()
    if seen is not None and last is not None and last.pk > seen:
        raise ChangedMeanwhile(what=f"The published date of {item}")
    row = item.published_dates.create(
        milestone=milestone, on=on, reason=reason.strip(), by=by, at=at
    )
    if milestone == Milestone.SHIPPED and item.route_id is not None:
        routes.set_published(route_id=item.route_id, on=on, reason=reason, by=by, at=at)
    record(
        Fact.DATE_PUBLISHED,
        about=item.order,
        by=by,
        at=at,
        before={"on": last.on.isoformat()} if last else {},
        after={
            "item": item.number,
            "milestone": str(milestone),
            "on": on.isoformat(),
            "reason": reason,
        },
    )
    return row
