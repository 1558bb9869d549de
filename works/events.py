"""Recording what happened: the event and its outbox row in the deed's own transaction."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import models, transaction

from works.models import Event, Outbox, Person

PROGRAM = "Greensand"


def record(
    fact: str,
    *,
    about: models.Model,
    by: Person | None,
    at: datetime,
    before: Mapping[str, Any] | None = None,
    after: Mapping[str, Any] | None = None,
    by_name: str = "",
) -> Event:
    """Write the event and its outbox row.

    `by` is None for the program itself and for a customer, who is then named in `by_name`.
    raises : RuntimeError outside a transaction, since a deed and its event stand or fall together
    """
    if not transaction.get_connection().in_atomic_block:
        raise RuntimeError(f"{fact} recorded outside a transaction")
    event = Event.objects.create(
        deed=str(fact),
        about_kind=about._meta.label_lower,
        about_id=about.pk,
        about_label=str(about)[:200],
        by=by,
        by_name=str(by) if by else by_name or PROGRAM,
        at=at,
        before=dict(before or {}),
        after=dict(after or {}),
    )
    Outbox.objects.create(event=event)
    return event
