"""Deeds of the ground floor and what each refuses."""

from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from tests.factories.works import PersonFactory, SiteFactory, person
from works import actions, queries
from works.errors import LastManager, NotAllowed, SiteMissing, TimeInFuture
from works.models import Document, Event, Person, Site, StandardValue
from works.people import Group
from works.standards.certainty import Certainty

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 4, 10, 0, tzinfo=UTC)
SITE = {"name": "Tamebrook Pump Works", "country": "PT", "time_zone": "Europe/Lisbon"}


def manager() -> Person:
    return person(Group.WORKS_MANAGER)


def deeds() -> list[str]:
    return list(Event.objects.order_by("id").values_list("deed", flat=True))


# The site


def test_a_works_manager_sets_the_site_up_and_changes_it() -> None:
    by = manager()
    actions.set_up_site(by=by, at=NOW, **SITE)
    site = actions.set_up_site(by=by, at=NOW, place="Vila Nova")
    assert (site.name, site.place, site.zone.key) == (SITE["name"], "Vila Nova", "Europe/Lisbon")
    told = Event.objects.latest("id")
    assert (told.before["place"], told.after["place"]) == ("", "Vila Nova")


def test_others_do_not_set_the_site_up() -> None:
    with pytest.raises(NotAllowed):
        actions.set_up_site(by=person(Group.PLANNER), at=NOW, **SITE)
    assert not Site.objects.exists()


def test_the_program_makes_the_first_site_but_changes_none() -> None:
    actions.set_up_site(by=None, at=NOW, **SITE)
    with pytest.raises(NotAllowed):
        actions.set_up_site(by=None, at=NOW, name="Another")


@pytest.mark.parametrize(
    ("field", "typed", "right"),
    [
        ("time_zone", "Lisbon", "such as Europe/Lisbon"),
        ("time_zone", "../../etc/passwd", "such as Europe/Lisbon"),
        ("country", "XX", "ISO 3166-1"),
        ("region", "Atlantis", "PT has no region"),
    ],
)
def test_a_place_that_is_none_is_refused(field: str, typed: str, right: str) -> None:
    with pytest.raises(ValidationError, match=right):
        actions.set_up_site(by=manager(), at=NOW, **{**SITE, field: typed})
    assert not Site.objects.exists()


def test_there_is_one_site_only() -> None:
    SiteFactory.create()
    with pytest.raises(IntegrityError), transaction.atomic():
        Site.objects.create(**SITE)


def test_a_works_without_a_site_says_what_to_do() -> None:
    with pytest.raises(SiteMissing, match="set its name, country and time zone first"):
        Site.current()


# People

ANNA: dict[str, Any] = {
    "username": "anna",
    "first_name": "Anna",
    "last_name": "Silva",
    "email": "anna@example.org",
    "password": "split-case-7",
    "groups": [Group.PLANNER],
}


def test_somebody_added_may_sign_in_and_is_in_their_groups() -> None:
    anna = actions.add_person(by=manager(), at=NOW, **ANNA)
    assert anna.check_password("split-case-7")
    assert anna.group_names == {"planner"}
    assert "split-case-7" not in str(Event.objects.latest("id").after)


@pytest.mark.parametrize(
    ("field", "typed", "right"),
    [
        ("password", "short", "at least 8 characters"),
        ("password", "password1", "too common"),
        ("email", "anna at home", "valid email"),
    ],
)
def test_a_person_with_a_bad_entry_is_not_added(field: str, typed: str, right: str) -> None:
    with pytest.raises(ValidationError, match=right):
        actions.add_person(by=manager(), at=NOW, **{**ANNA, field: typed})
    assert not Person.objects.filter(username="anna").exists()


def test_a_name_to_sign_in_with_is_given_once() -> None:
    by = manager()
    actions.add_person(by=by, at=NOW, **ANNA)
    with pytest.raises(ValidationError, match="already exists"):
        actions.add_person(by=by, at=NOW, **ANNA)


def test_only_a_works_manager_lets_people_in() -> None:
    planner = person(Group.PLANNER)
    with pytest.raises(NotAllowed, match="may not add a person"):
        actions.add_person(by=planner, at=NOW, **ANNA)
    with pytest.raises(NotAllowed, match="may not change"):
        change(planner, planner, groups=[Group.WORKS_MANAGER])
    with pytest.raises(NotAllowed, match="new password"):
        actions.give_password(person_id=planner.pk, password="x" * 12, by=planner, at=NOW)


def change(who: Person, by: Person, **fields: Any) -> Person:
    values: dict[str, Any] = {"groups": [Group.PLANNER], "areas": [], "is_active": True, **fields}
    return actions.change_person(person_id=who.pk, by=by, at=NOW, **values)


def test_a_change_of_groups_and_name_is_told_with_before_and_after() -> None:
    by, anna = manager(), person(Group.PLANNER)
    change(anna, by, groups=[Group.BUYER], last_name="Sousa")
    told = Event.objects.latest("id")
    assert told.before["groups"] == ["planner"]
    assert told.after["groups"] == ["buyer"]
    assert Person.objects.get(pk=anna.pk).last_name == "Sousa"


@pytest.mark.parametrize(
    "fields", [{"groups": [Group.VIEWER]}, {"is_active": False, "groups": [Group.WORKS_MANAGER]}]
)
def test_the_last_works_manager_cannot_shut_everybody_out(fields: dict[str, Any]) -> None:
    last = manager()
    PersonFactory.create(groups=[Group.WORKS_MANAGER], is_active=False)
    with pytest.raises(LastManager, match="Make somebody else a works manager first"):
        change(last, last, **fields)
    last.refresh_from_db()
    assert last.is_active
    assert list(last.groups.values_list("name", flat=True)) == ["works manager"]
    assert deeds() == []


def test_a_works_manager_goes_when_another_stays() -> None:
    first, second = manager(), manager()
    change(second, first, is_active=False)
    assert not Person.objects.get(pk=second.pk).is_active


def test_a_new_password_lets_its_person_in_and_is_not_told() -> None:
    by, anna = manager(), person(Group.PLANNER)
    actions.give_password(person_id=anna.pk, password="horizontal-9", by=by, at=NOW)
    assert Person.objects.get(pk=anna.pk).check_password("horizontal-9")
    told = Event.objects.latest("id")
    assert (told.words, told.after) == ("password given", {})


def test_a_weak_new_password_is_refused() -> None:
    anna = person(Group.PLANNER)
    with pytest.raises(ValidationError):
        actions.give_password(person_id=anna.pk, password="12345", by=manager(), at=NOW)


# Papers


def file(content: bytes, title: str = "Heat H-1") -> Any:
    return actions.file_document(
        about=Site.current(),
        kind="certificate",
        title=title,
        file_name="heat.pdf",
        content=content,
        content_type="application/pdf",
        for_customer=True,
        by=None,
        at=NOW,
    )


def test_the_same_paper_again_is_its_next_revision_and_the_first_stays() -> None:
    SiteFactory.create()
    first, second, other = file(b"one"), file(b"two"), file(b"one", "Heat H-2")
    assert [paper.number for paper in (first, second, other)] == ["1", "2", "1"]
    assert Document.objects.count() == 2
    # SHA-256 of b"one", by coreutils' sha256sum
    assert first.sha256 == "7692c3ad3540bb803c020b3aee66cd8887123234ea0c6e7143c0add73ff431ed"


# Standards


def test_loading_brings_every_row_once_and_overwrites_none() -> None:
    SiteFactory.create()
    engineer = person(Group.QUALITY_ENGINEER)
    count = actions.load_standards(by=engineer, at=NOW)
    assert count == StandardValue.objects.count() > 100
    value = StandardValue.objects.filter(certainty=Certainty.MEMORY).first()
    assert value
    actions.check_standard_value(value_id=value.pk, on=date(2026, 3, 3), by=engineer, at=NOW)
    assert actions.load_standards(by=engineer, at=NOW) == 0
    value.refresh_from_db()
    assert (value.checked_by, value.checked_on) == (engineer, date(2026, 3, 3))


def test_a_checked_row_is_handed_out_as_confirmed_until_the_check_is_taken_back() -> None:
    SiteFactory.create()
    engineer = person(Group.QUALITY_ENGINEER)
    actions.load_standards(by=engineer, at=NOW)
    value = StandardValue.objects.filter(certainty=Certainty.MEMORY).first()
    assert value

    def certainty() -> Certainty:
        rows = queries.standard_rows(value.table)
        return next(row.certainty for row in rows if row.key == value.key)

    assert certainty() is Certainty.MEMORY
    actions.check_standard_value(value_id=value.pk, on=date(2026, 3, 3), by=engineer, at=NOW)
    assert certainty() is Certainty.CONFIRMED
    actions.check_standard_value(value_id=value.pk, on=None, by=engineer, at=NOW)
    assert certainty() is Certainty.MEMORY
    assert deeds()[-2:] == ["works.standard_value_checked", "works.standard_value_unchecked"]


def test_a_check_is_not_of_tomorrow_and_not_by_anybody() -> None:
    SiteFactory.create()
    actions.load_standards()
    value = StandardValue.objects.all()[0]
    with pytest.raises(TimeInFuture, match="only 2026-03-04"):
        actions.check_standard_value(
            value_id=value.pk, on=date(2026, 3, 5), by=person(Group.QUALITY_ENGINEER), at=NOW
        )
    with pytest.raises(NotAllowed):
        actions.check_standard_value(
            value_id=value.pk, on=date(2026, 3, 4), by=person(Group.PLANNER), at=NOW
        )
    with pytest.raises(NotAllowed):
        actions.load_standards(by=person(Group.PLANNER), at=NOW)
    with pytest.raises(IntegrityError), transaction.atomic():
        StandardValue.objects.filter(pk=value.pk).update(checked_on=date(2026, 3, 4))
