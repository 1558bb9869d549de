"""Deeds of the ground floor: setting up the site, people, papers, and standards' tables."""

import hashlib
from collections.abc import Sequence
from datetime import date, datetime

from django.contrib.auth.models import Group as AuthGroup
from django.contrib.auth.password_validation import validate_password
from django.db import models, transaction

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
    by: Person,
    at: datetime,
) -> Person:
    """Change what a person may do, or stop them signing in.

    raises : NotAllowed
    """
    require(by, Group.WORKS_MANAGER, deed="change what a person may do")
    person = Person.objects.select_for_update().get(pk=person_id)
    before = {
        "groups": sorted(person.group_names),
        "areas": person.areas,
        "is_active": person.is_active,
    }
    person.areas, person.is_active = list(areas), is_active
    person.save(update_fields=["areas", "is_active"])
    _join(person, groups)
    after = {"groups": sorted(groups), "areas": list(areas), "is_active": is_active}
    record(Fact.PERSON_CHANGED, about=person, by=by, at=at, before=before, after=after)
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
def load_standards() -> int:
    """Put every shipped row that the database does not have yet into it.

    Rows already there stay: one checked against the works' own copy is never overwritten.
    returns : how many rows were new
    """
    there = set(StandardValue.objects.values_list("table", "key"))
    fresh = [
        StandardValue(key=row.key, position=position, **row.as_record())
        for name in tables.table_names()
        for position, row in enumerate(tables.load(name))
        if (name, row.key) not in there
    ]
    StandardValue.objects.bulk_create(fresh)
    return len(fresh)


@transaction.atomic
def check_standard_value(*, value_id: int, on: date, by: Person, at: datetime) -> StandardValue:
    """Say that a row was compared with the works' own copy of the standard.

    raises : NotAllowed
    """
    require(by, Group.QUALITY_ENGINEER, deed="check a standard's value")
    value = StandardValue.objects.select_for_update().get(pk=value_id)
    before = {"checked_on": value.checked_on and value.checked_on.isoformat()}
    value.checked_by, value.checked_on = by, on
    value.save(update_fields=["checked_by", "checked_on"])
    record(
        Fact.STANDARD_VALUE_CHECKED,
        about=value,
        by=by,
        at=at,
        before=before,
        after={"checked_on": on.isoformat()},
    )
    return value
