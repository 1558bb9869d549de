"""Events: written with the deed, never changed, told in words."""

from datetime import UTC, datetime

import pytest
from django.db import IntegrityError, transaction
from pytest_django import DjangoAssertNumQueries

from tests.factories.works import PersonFactory, SiteFactory
from works import queries
from works.actions import file_document
from works.events import PROGRAM, record
from works.facts import Fact
from works.models import Event, Outbox, Revision

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 4, 10, 0, tzinfo=UTC)


@pytest.mark.django_db(transaction=True)
def test_a_deed_outside_a_transaction_is_not_recorded() -> None:
    site = SiteFactory.create()
    with pytest.raises(RuntimeError, match=r"works\.site_set_up recorded outside a transaction"):
        record(Fact.SITE_SET_UP, about=site, by=None, at=NOW)
    assert not Event.objects.exists()


def test_an_event_says_who_and_about_what_and_waits_in_the_outbox() -> None:
    site, who = SiteFactory.create(), PersonFactory.create()
    event = record(Fact.SITE_SET_UP, about=site, by=who, at=NOW, after={"name": "Tamebrook"})
    assert (event.by_name, event.about_label, event.words) == (str(who), str(site), "site set up")
    assert Outbox.objects.get(event=event).passed_on_at is None


def test_the_program_and_a_customer_are_named_too() -> None:
    site = SiteFactory.create()
    assert record(Fact.SITE_SET_UP, about=site, by=None, at=NOW).by_name == PROGRAM
    said = record(Fact.SITE_SET_UP, about=site, by=None, at=NOW, by_name="H. Amupolo")
    assert said.by_name == "H. Amupolo"


def test_a_deed_that_fails_leaves_neither_event_nor_outbox() -> None:
    site = SiteFactory.create()

    def deed() -> None:
        with transaction.atomic():
            record(Fact.SITE_SET_UP, about=site, by=None, at=NOW)
            raise ValueError("the deed fails after its event")

    with pytest.raises(ValueError, match="fails after"):
        deed()
    assert not Event.objects.exists()
    assert not Outbox.objects.exists()


@pytest.mark.parametrize("way", ["update", "delete"])
def test_the_database_refuses_to_change_an_event(way: str) -> None:
    event = record(Fact.SITE_SET_UP, about=SiteFactory.create(), by=None, at=NOW)
    with pytest.raises(IntegrityError, match="works_event rows never change"), transaction.atomic():
        if way == "update":
            Event.objects.filter(pk=event.pk).update(by_name="somebody else")
        else:
            Event.objects.filter(pk=event.pk)._raw_delete("default")
    assert Event.objects.get(pk=event.pk).by_name == PROGRAM


def test_the_database_refuses_to_change_a_filed_paper() -> None:
    paper = file_document(
        about=SiteFactory.create(),
        kind="certificate",
        title="Heat H-1",
        file_name="h1.pdf",
        content=b"%PDF",
        content_type="application/pdf",
        for_customer=True,
        by=None,
        at=NOW,
    )
    with pytest.raises(IntegrityError, match="works_revision rows never change"):
        Revision.objects.filter(pk=paper.pk).update(content=b"another")


def test_an_events_figures_are_told_in_words() -> None:
    event = Event(
        before={"is_active": True, "areas": []},
        after={"is_active": False, "areas": ["foundry", "test bed"], "nested": {"dn": None}},
    )
    assert event.before_words == "is active: yes; areas: —"
    assert event.after_words == "is active: no; areas: foundry, test bed; nested: dn: —"


def test_the_version_grows_with_every_deed() -> None:
    site = SiteFactory.create()
    first = queries.version()
    record(Fact.SITE_SET_UP, about=site, by=None, at=NOW)
    assert queries.version() > first


def test_a_things_history_is_its_own_and_newest_first(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    site, who = SiteFactory.create(), PersonFactory.create()
    record(Fact.PERSON_ADDED, about=who, by=None, at=NOW)
    for name in ("Tamebrook", "Tamebrook Pump Works"):
        record(Fact.SITE_SET_UP, about=site, by=who, at=NOW, after={"name": name})
    with django_assert_num_queries(1):
        told = [event.after["name"] for event in queries.history(site)]
    assert told == ["Tamebrook Pump Works", "Tamebrook"]
