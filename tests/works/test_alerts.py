"""One open alert a cause, whoever reviews the rule and however often."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest
from django.db import connection

from tests.factories.schedule import NOW, PersonFactory, SiteFactory
from works.alerts import acknowledge, close, close_others, raise_or_update
from works.facts import Fact
from works.models import Alert, Event, Outbox, Site

pytestmark = pytest.mark.django_db


def raised(cause="late:1", level=Alert.Level.NOTICE, at=NOW, **changes):
    fields = {
        "cause": cause,
        "rule": "late",
        "level": level,
        "about": changes.pop("about", None) or SiteFactory.create(),
        "sentence": "It is two days late.",
        "figure": 2.0,
        "url": "/",
        "at": at,
        **changes,
    }
    return raise_or_update(**fields)


def test_a_new_cause_opens_an_alert_and_tells_it():
    alert = raised()
    event = Event.objects.get(deed=Fact.ALERT_RAISED)
    assert (alert.opened_at, alert.about_kind) == (NOW, "works.site")
    assert event.by is None
    assert Outbox.objects.filter(event=event).exists()


def test_the_same_cause_again_is_the_same_alert():
    first, second = raised(), raised()
    assert first.pk == second.pk
    assert Event.objects.filter(deed=Fact.ALERT_RAISED).count() == 1


def test_new_words_are_written_down_without_a_new_event():
    raised()
    raised(sentence="It is three days late.", figure=3.0)
    assert Alert.objects.get().sentence == "It is three days late."
    assert Event.objects.count() == 1


def test_a_higher_level_escalates_and_asks_to_be_seen_again():
    alert = raised()
    acknowledge(alert_id=alert.pk, by=PersonFactory.create(), at=NOW)
    later = NOW + timedelta(hours=8)
    raised(level=Alert.Level.URGENT, at=later)
    alert.refresh_from_db()
    assert (alert.level, alert.escalated_at) == (Alert.Level.URGENT, later)
    assert alert.acknowledged_at is None
    assert Event.objects.get(deed=Fact.ALERT_ESCALATED).before == {"level": 1}


def test_a_lower_level_is_written_down_and_keeps_its_acknowledgement():
    alert = raised(level=Alert.Level.URGENT)
    acknowledge(alert_id=alert.pk, by=PersonFactory.create(), at=NOW)
    raised(level=Alert.Level.NOTICE)
    alert.refresh_from_db()
    assert alert.level == Alert.Level.NOTICE
    assert alert.acknowledged_at == NOW


def test_a_closed_cause_may_open_again():
    first = raised()
    close(cause="late:1", at=NOW + timedelta(hours=1))
    second = raised(at=NOW + timedelta(hours=2))
    assert first.pk != second.pk
    assert Alert.objects.open().get() == second


def test_closing_what_is_not_open_does_nothing():
    assert close(cause="late:7", at=NOW) is None
    assert not Event.objects.exists()


def test_a_lagging_clock_does_not_close_before_the_opening():
    alert = raised()
    close(cause="late:1", at=NOW - timedelta(minutes=5))
    alert.refresh_from_db()
    assert alert.closed_at == alert.opened_at


def test_causes_that_hold_no_longer_are_closed_together():
    raised("late:1")
    raised("late:2")
    raised("idle:1", rule="idle")
    closed = close_others(rule="late", still=["late:2"], at=NOW)
    assert [alert.cause for alert in closed] == ["late:1"]
    assert set(Alert.objects.open().values_list("cause", flat=True)) == {"late:2", "idle:1"}


def test_acknowledging_twice_keeps_the_first_name():
    alert = raised()
    first = PersonFactory.create()
    acknowledge(alert_id=alert.pk, by=first, at=NOW)
    acknowledge(alert_id=alert.pk, by=PersonFactory.create(), at=NOW + timedelta(hours=1))
    alert.refresh_from_db()
    assert alert.acknowledged_by == first


@pytest.mark.django_db(transaction=True)
def test_workers_at_the_same_moment_raise_one_alert():
    SiteFactory.create()
    site = Site.objects.get()
    together = Barrier(8)

    def review(_: int) -> int:
        try:
            together.wait(timeout=10)
            return raised(about=site).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        found = set(pool.map(review, range(8)))
    assert len(found) == 1
    assert Alert.objects.open().count() == 1
    assert Event.objects.filter(deed=Fact.ALERT_RAISED).count() == 1
