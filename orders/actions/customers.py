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
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="add a customer")
    customer = Customer(name=name, country=country, note=note)
    customer.full_clean()
    customer.save()
    record(Fact.CUSTOMER_ADDED, about=customer, by=by, at=at, after={"name": name})
    return customer


@transaction.atomic
def add_contact(
    *, customer_id: int, name: str, email: str, is_inspector: bool, by: Person, at: datetime
) -> Contact:
    """Add somebody at a customer's.

    raises : NotAllowed
    """
    require(by, Group.APPLICATION_ENGINEER, Group.PLANNER, deed="add a contact")
    contact = Contact(customer_id=customer_id, name=name, email=email, is_inspector=is_inspector)
    contact.full_clean()
    contact.save()
    record(Fact.CONTACT_ADDED, about=contact.customer, by=by, at=at, after={"name": name})
    return contact
