"""The outbox: one errand an event and task, done once, kept while it cannot be done."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from tests.factories.works import SiteFactory
from works import outbox
from works.events import record
from works.models import Errand, Event, Outbox

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 3, 4, 10, 0, tzinfo=UTC)
FACT = "tests.bell_rung"


SAID: list[Event] = []


@outbox.answers(FACT)
def hear(event: Event) -> None:
    """A task that lists what it has heard; Celery keeps one of a name, so it is made once."""
    if event.after.get("fails"):
        raise ValueError("the bell is cracked")
    SAID.append(event)


@pytest.fixture
def heard() -> Iterator[list[Event]]:
    SAID.clear()
    yield SAID
    SAID.clear()


def ring(**after: object) -> Event:
    return record(FACT, about=SiteFactory.create(), by=None, at=NOW, after=after)


def test_an_event_becomes_one_errand_however_often_the_outbox_is_emptied(
    heard: list[Event],
) -> None:
    event = ring()
    assert outbox.expand() == 1
    assert outbox.expand() == 0
    assert [errand.event for errand in Errand.objects.all()] == [event]
    assert Outbox.objects.get().passed_on_at is not None


def test_an_event_that_nobody_answers_makes_no_errand(heard: list[Event]) -> None:
    record("tests.nobody_listens", about=SiteFactory.create(), by=None, at=NOW)
    assert outbox.expand() == 1
    assert not Errand.objects.exists()


def test_a_task_delivered_twice_does_its_work_once(heard: list[Event]) -> None:
    event = ring()
    outbox.expand()
    errand = Errand.objects.get()
    hear(errand.pk)
    hear(errand.pk)
    assert heard == [event]
    errand.refresh_from_db()
    assert errand.done_at is not None


def test_a_task_that_fails_is_not_done_and_says_why(heard: list[Event]) -> None:
    ring(fails=True)
    outbox.expand()
    errand = Errand.objects.get()
    with pytest.raises(ValueError, match="cracked"):
        hear(errand.pk)
    errand.refresh_from_db()
    assert errand.done_at is None
    assert "the bell is cracked" in errand.trouble


def test_an_errand_whose_task_is_gone_waits_and_says_so(heard: list[Event]) -> None:
    errand = Errand.objects.create(event=ring(), task="tests.gone")
    assert outbox.publish() == 0
    errand.refresh_from_db()
    assert errand.trouble == "no task is named tests.gone"
    assert errand.attempts == 1


@pytest.mark.parametrize(
    ("attempts", "seconds", "due"), [(1, 19, 0), (1, 21, 1), (3, 79, 0), (3, 81, 1)]
)
def test_each_try_waits_twice_as_long_as_the_one_before(
    heard: list[Event], attempts: int, seconds: int, due: int
) -> None:
    handed_on = timezone.now() - timedelta(seconds=seconds)
    Errand.objects.create(
        event=ring(), task="tests.gone", handed_on_at=handed_on, attempts=attempts
    )
    outbox.publish()
    assert Errand.objects.get().attempts == attempts + due


def test_the_database_takes_one_errand_an_event_and_task(heard: list[Event]) -> None:
    event = ring()
    Errand.objects.create(event=event, task="tests.hear")
    with pytest.raises(IntegrityError), transaction.atomic():
        Errand.objects.create(event=event, task="tests.hear")
