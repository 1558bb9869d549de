"""Deeds of the ground floor: setting up the site, people, papers, and standards' tables."""

import hashlib
from collections.abc import Sequence
from datetime import date, datetime

from django.contrib.auth.models import Group as AuthGroup
from django.contrib.auth.password_validation import validate_password
from django.db import models, transaction
from django.utils import timezone

from works.errors import LastManager, TimeInFuture
from works.events import record
from works.facts import Fact
from works.models import Document, Person, Revision, Site, StandardValue
from works.people import Group, require
from works.standards import tables

SITE_FIELDS = ("name", "country", "region", "place", "time_zone", "tolerance_cross")


@transaction.atomic
def set_up_site(
    *, by: Person | None, at: datetime, is_demonstration: bool = False, **fields: str
) -> Site:
    """Make or change the works' one site.

    raises : NotAllowed; ValidationError for a time zone or country that is none
    """
    site = Site.objects.select_for_update().first()
    if site is not None or by is not None:
        require(by, Group.WORKS_MANAGER, deed="set up the site")
    before = {name: getattr(site, name) for name in SITE_FIELDS} if site else {}
    site = site or Site(is_demonstration=is_demonstration)
    for name in SITE_FIELDS:
        if name in fields:
            setattr(site, name, fields[name])
    site.full_clean()
    site.save()
    after = {name: getattr(site, name) for name in SITE_FIELDS}
    record(Fact.SITE_SET_UP, about=site, by=by, at=at, before=before, after=after)
    return site


@transaction.atomic
def add_person(
    *,
    username: str,
    first_name: str,
    last_name: str,
    email: str,
    password: str,
    groups: Sequence[str],
    areas: Sequence[str] = (),
    by: Person | None,
    at: datetime,
) -> Person:
    """Add somebody who may sign in.

    `by` is None only for the program itself, e.g. while it loads the demonstration.
    raises : NotAllowed; ValidationError for a weak password or a name taken
    """
    if by is not None:
        require(by, Group.WORKS_MANAGER, deed="add a person")
    person = Person(
        username=username,
        first_name=first_name,
        last_name=last_name,
        email=email,
        areas=list(areas),
    )
    validate_password(password, person)
    person.set_password(password)
    person.full_clean()
    person.save()
    _join(person, groups)
    after = {"username": username, "groups": sorted(groups), "areas": list(areas)}
    record(Fact.PERSON_ADDED, about=person, by=by, at=at, after=after)
    return person


@transaction.atomic
def change_person(
    *,
    person_id: int,
    groups: Sequence[str],
    areas: Sequence[str],
    is_active: bool,
    first_name: str | None = None,
    last_name: str | None = None,
    email: str | None = None,
    by: Person,
    at: datetime,
) -> Person:
    """Change what a person may do or is called, or stop them signing in; None leaves as it is.

    raises : NotAllowed; LastManager; ValidationError
    """
    require(by, Group.WORKS_MANAGER, deed="change what a person may do")
    # All of them, in one order: two managers who demote each other at once must not both succeed.
    list(Person.objects.select_for_update().order_by("pk").values_list("pk"))
    person = Person.objects.get(pk=person_id)
    named = {"first_name": first_name, "last_name": last_name, "email": email}
    wanted = {name: value for name, value in named.items() if value is not None}
    before = {
        "groups": sorted(person.groups.values_list("name", flat=True)),
        "areas": person.areas,
        "is_active": person.is_active,
        **{name: getattr(person, name) for name in wanted},
    }
    person.areas, person.is_active = list(areas), is_active
    for name, value in wanted.items():
        setattr(person, name, value)
    person.full_clean(exclude=["password"])
    person.save(update_fields=["areas", "is_active", *wanted])
    _join(person, groups)
    if not _managers().exists():
        raise LastManager(person=str(person))
    after = {"groups": sorted(groups), "areas": list(areas), "is_active": is_active, **wanted}
    record(Fact.PERSON_CHANGED, about=person, by=by, at=at, before=before, after=after)
    return person


def _managers() -> models.QuerySet[Person]:
    """Everybody who may sign in and let others in."""
    return Person.objects.filter(is_active=True).filter(
        models.Q(is_superuser=True) | models.Q(groups__name=Group.WORKS_MANAGER.value)
    )


@transaction.atomic
def give_password(*, person_id: int, password: str, by: Person, at: datetime) -> Person:
    """Give somebody who forgot theirs a new password; their other sessions end.

    raises : NotAllowed; ValidationError for a weak one
    """
    require(by, Group.WORKS_MANAGER, deed="give a person a new password")
    person = Person.objects.select_for_update().get(pk=person_id)
    validate_password(password, person)
    person.set_password(password)
    person.save(update_fields=["password"])
    record(Fact.PASSWORD_GIVEN, about=person, by=by, at=at)
    return person


def _join(person: Person, groups: Sequence[str]) -> None:
    person.groups.set(
        [AuthGroup.objects.get_or_create(name=Group(name).value)[0] for name in groups]
    )


@transaction.atomic
def file_document(
    *,
    about: models.Model,
    kind: str,
    title: str,
    file_name: str,
    content: bytes,
    content_type: str,
    for_customer: bool,
    by: Person | None,
    at: datetime,
    number: str | None = None,
) -> Revision:
    """Keep a paper about something; the same kind and title again is its next revision."""
    document, _ = Document.objects.get_or_create(
        about_kind=about._meta.label_lower,
        about_id=about.pk,
        kind=kind,
        title=title,
        defaults={"for_customer": for_customer},
    )
    Document.objects.select_for_update().get(pk=document.pk)
    revision = document.revisions.create(
        number=number or str(document.revisions.count() + 1),
        file_name=file_name,
        content_type=content_type,
        sha256=hashlib.sha256(content).hexdigest(),
        content=content,
        by=by,
        at=at,
    )
    after = {"title": title, "revision": revision.number, "sha256": revision.sha256}
    record(Fact.DOCUMENT_FILED, about=about, by=by, at=at, after=after)
    return revision


@transaction.atomic
def load_standards(*, by: Person | None = None, at: datetime | None = None) -> int:
    """Put every shipped row that the database does not have yet into it.

    Rows already there stay: one checked against the works' own copy is never overwritten.
    `by` is None only for the program itself, e.g. while it loads the demonstration.
    returns : how many rows were new
    raises : NotAllowed; SiteMissing
    """
    if by is not None:
        require(by, Group.QUALITY_ENGINEER, deed="load the tables of standards")
    there = set(StandardValue.objects.values_list("table", "key"))
    fresh = [
        StandardValue(key=row.key, position=position, **row.as_record())
        for name in tables.table_names()
        for position, row in enumerate(tables.load(name))
        if (name, row.key) not in there
    ]
    StandardValue.objects.bulk_create(fresh)
    if fresh and by is not None and at is not None:
        after = {"rows": len(fresh)}
        record(Fact.STANDARDS_LOADED, about=Site.current(), by=by, at=at, after=after)
    return len(fresh)


@transaction.atomic
def check_standard_value(
    *, value_id: int, on: date | None, by: Person, at: datetime
) -> StandardValue:
    """Say that a row was compared with the works' own copy of the standard, or take that back.

    on : the day; None takes the mark away
    raises : NotAllowed; TimeInFuture
    """
    require(by, Group.QUALITY_ENGINEER, deed="check a standard's value")
    today = timezone.localdate(at)
    if on is not None and on > today:
        raise TimeInFuture(what="The check", stated=on.isoformat(), now=today.isoformat())
    value = StandardValue.objects.select_for_update().get(pk=value_id)
    before = {"checked_on": value.checked_on and value.checked_on.isoformat()}
    value.checked_by, value.checked_on = (None, None) if on is None else (by, on)
    value.save(update_fields=["checked_by", "checked_on"])
    record(
        Fact.STANDARD_VALUE_UNCHECKED if on is None else Fact.STANDARD_VALUE_CHECKED,
        about=value,
        by=by,
        at=at,
        before=before,
        after={"checked_on": on and on.isoformat()},
    )
    return value
