"""Private links to an order's page: random, kept only as a hash, expiring, revocable."""

import hashlib
import secrets
from datetime import datetime

from django.db import transaction

from orders.errors import DeadLink
from orders.facts import Fact
from orders.models import CustomerLink, Order
from works.events import record
from works.models import Person
from works.people import Group, require

SECRET_BYTES = 32


def hashed(secret: str) -> str:
    """What is kept of a link's secret."""
    return hashlib.sha256(secret.encode()).hexdigest()


@transaction.atomic
def make_link(
    *,
    order_id: int,
    contact_id: int | None,
    may_answer: bool,
    expires_at: datetime,
    by: Person,
    at: datetime,
) -> tuple[CustomerLink, str]:
    """Make a link; the secret is told this once and never again.

    raises : NotAllowed
    """
    require(by, Group.PLANNER, Group.APPLICATION_ENGINEER, deed="make a customer's link")
    order = Order.objects.get(pk=order_id)
    secret = secrets.token_urlsafe(SECRET_BYTES)
    link = CustomerLink.objects.create(
        order=order,
        contact_id=contact_id,
        secret_sha256=hashed(secret),
        may_answer=may_answer,
        expires_at=expires_at,
        made_by=by,
        made_at=at,
    )
    after = {"expires_at": expires_at.isoformat(), "may_answer": may_answer}
    record(Fact.LINK_MADE, about=order, by=by, at=at, after=after)
    return link, secret


@transaction.atomic
def revoke_link(*, link_id: int, by: Person, at: datetime) -> CustomerLink:
    """Withdraw a link at once; withdrawing it again changes nothing.

    raises : NotAllowed
    """
    require(by, Group.PLANNER, Group.APPLICATION_ENGINEER, deed="withdraw a customer's link")
    link = CustomerLink.objects.select_for_update().get(pk=link_id)
    if link.revoked_at is None:
        link.revoked_by, link.revoked_at = by, at
        link.save(update_fields=["revoked_by", "revoked_at"])
        record(Fact.LINK_REVOKED, about=link.order, by=by, at=at)
    return link


def open_link(*, secret: str, at: datetime) -> CustomerLink:
    """The link of a secret, if it still leads anywhere.

    raises : DeadLink, the same for unknown, expired and withdrawn links
    """
    link = (
        CustomerLink.objects.select_related("order__customer", "contact")
        .filter(secret_sha256=hashed(secret), revoked_at=None, expires_at__gt=at)
        .first()
    )
    if link is None:
        raise DeadLink
    return link
