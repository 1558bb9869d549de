"""Dates told to the customer: moved by a person, each move kept with its reason."""

from datetime import date, datetime

from django.db import transaction

from orders.facts import Fact
from orders.models import Item, Milestone, PublishedDate
from schedule.actions import routes
from works.errors import ReasonMissing
from works.events import record
from works.models import Person
from works.people import Group, require


@transaction.atomic
def publish_date(
    *, item_id: int, milestone: Milestone, on: date, reason: str, by: Person, at: datetime
) -> PublishedDate:
    """Tell the customer another date for a milestone; the older ones stay.

    raises : NotAllowed; ReasonMissing
    """
    require(by, Group.PLANNER, deed="publish a date")
    if not reason.strip():
        raise ReasonMissing(deed="publish a date")
    item = Item.objects.select_for_update(of=("self",)).select_related("order").get(pk=item_id)
    last = item.published_dates.filter(milestone=milestone).order_by("-id").first()
    told = item.published_dates.create(
        milestone=milestone, on=on, reason=reason.strip(), by=by, at=at
    )
    if milestone == Milestone.SHIPPED and item.route_id is not None:
        routes.set_published(route_id=item.route_id, published_on=on, by=by, at=at)
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
    return told
