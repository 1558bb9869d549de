"""Deeds about customers and the people there."""

from datetime import datetime

from django.db import transaction

from orders.facts import Fact
from orders.models import Contact, Customer
from works.events import record
from works.models import Person
from works.people import Group, require


@transaction.atomic
def add_customer(*, name: str, country: str, note: str = "", by: Person, at: datetime) -> Customer:
    """Add a customer.

    raises : NotAllowed; ValidationError for a name that is there already
    """
    _may(by, "add a customer")
    customer = Customer(name=name.strip(), country=country.strip().upper(), note=note.strip())
    customer.full_clean()
    customer.save()
    record(Fact.CUSTOMER_ADDED, about=customer, by=by, at=at, after={"name": customer.name})
    return customer


@transaction.atomic
def change_customer(
    *, customer_id: int, name: str, country: str, note: str, by: Person, at: datetime
) -> Customer:
    """Change a customer's particulars.

    raises : NotAllowed; ValidationError for a name that is there already
    """
    _may(by, "change a customer")
    customer = Customer.objects.select_for_update().get(pk=customer_id)
    before = {"name": customer.name, "country": customer.country, "note": customer.note}
    customer.name, customer.country = name.strip(), country.strip().upper()
    customer.note = note.strip()
    customer.full_clean()
    customer.save()
    after = {"name": customer.name, "country": customer.country, "note": customer.note}
    record(Fact.CUSTOMER_CHANGED, about=customer, by=by, at=at, before=before, after=after)
    return customer


@transaction.atomic
def add_contact(
    *, customer_id: int, name: str, email: str, is_inspector: bool, by: Person, at: datetime
) -> Contact:
    """Add somebody at a customer's.

    raises : NotAllowed; ValidationError
    """
    _may(by, "add a contact")
    contact = Contact(
        customer_id=customer_id,
        name=name.strip(),
        email=email.strip(),
        is_inspector=is_inspector,
    )
    contact.full_clean()
    contact.save()
    record(Fact.CONTACT_ADDED, about=contact.customer, by=by, at=at, after={"name": contact.name})
    return contact


@transaction.atomic
def change_contact(
    *, contact_id: int, name: str, email: str, is_inspector: bool, by: Person, at: datetime
) -> Contact:
    """Change somebody's particulars.

    raises : NotAllowed; ValidationError
    """
    _may(by, "change a contact")
    contact = (
        Contact.objects.select_for_update(of=("self",))
        .select_related("customer")
        .get(pk=contact_id)
    )
    before = {"name": contact.name, "email": contact.email}
    contact.name, contact.email, contact.is_inspector = name.strip(), email.strip(), is_inspector
    contact.full_clean()
    contact.save()
    after = {"name": contact.name, "email": contact.email}
    record(Fact.CONTACT_CHANGED, about=contact.customer, by=by, at=at, before=before, after=after)
    return contact


def _may(by: Person, deed: str) -> None:
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed=deed)
