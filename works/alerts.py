"""Alerts: one open a cause, raised, escalated and closed by whoever reviews the rule.

A cause names the rule and what it is about, such as "late:route:12". Two workers that review the
same rule at once end up with one alert: the database lets only one be open for a cause, and the
second worker updates what the first has raised.
"""

from collections.abc import Collection
from datetime import datetime

from django.db import IntegrityError, models, transaction

from works.events import record
from works.facts import Fact
from works.models import Alert, Person


@transaction.atomic
def raise_or_update(
    *,
    cause: str,
    rule: str,
    level: int,
    about: models.Model,
    sentence: str,
    figure: float | None,
    url: str,
    at: datetime,
) -> Alert:
    """The open alert of that cause, raised if there is none, brought up to date if there is.

    A higher level escalates it and asks for a fresh acknowledgement; a lower one is only written
    down, since nobody needs to act on good news. The same words again change nothing.
    """
    alert = _locked(cause)
    if alert is None:
        try:
            with transaction.atomic():
                return _raised(cause, rule, level, about, sentence, figure, url, at)
        except IntegrityError:
            # Another worker raised it since we looked: its row is committed now, or the
            # database would still have kept us waiting.
            alert = _locked(cause)
            if alert is None:
                raise
    return _updated(alert, level, sentence, figure, url, at)


@transaction.atomic
def close(*, cause: str, at: datetime) -> Alert | None:
    """Close the open alert of a cause; None when there is none."""
    alert = _locked(cause)
    return _closed(alert, at) if alert else None


@transaction.atomic
def close_others(*, rule: str, still: Collection[str], at: datetime) -> list[Alert]:
    """Close every open alert of a rule whose cause no longer holds.

    still : causes that hold at the moment
    """
    gone = (
        Alert.objects.open()
        .filter(rule=rule)
        .exclude(cause__in=still)
        .select_for_update()
        .order_by("id")
    )
    return [_closed(alert, at) for alert in gone]


@transaction.atomic
def acknowledge(*, alert_id: int, by: Person, at: datetime) -> Alert:
    """Note that somebody has seen the alert; a second look changes nothing."""
    alert = Alert.objects.select_for_update().get(pk=alert_id)
    if alert.acknowledged_at is None and alert.closed_at is None:
        alert.acknowledged_by, alert.acknowledged_at = by, at
        alert.save(update_fields=["acknowledged_by", "acknowledged_at"])
        record(Fact.ALERT_ACKNOWLEDGED, about=alert, by=by, at=at)
    return alert


def _locked(cause: str) -> Alert | None:
    return Alert.objects.open().select_for_update().filter(cause=cause).first()


def _raised(
    cause: str,
    rule: str,
    level: int,
    about: models.Model,
    sentence: str,
    figure: float | None,
    url: str,
    at: datetime,
) -> Alert:
    alert = Alert.objects.create(
        cause=cause,
        rule=rule,
        level=level,
        about_kind=about._meta.label_lower,
        about_id=about.pk,
        about_label=str(about)[:200],
        sentence=sentence,
        figure=figure,
        url=url,
        opened_at=at,
    )
    record(
        Fact.ALERT_RAISED,
        about=alert,
        by=None,
        at=at,
        after={"cause": cause, "level": level, "sentence": sentence},
    )
    return alert


def _updated(
    alert: Alert, level: int, sentence: str, figure: float | None, url: str, at: datetime
) -> Alert:
    before, escalated = alert.level, level > alert.level
    changed = [
        name
        for name, value in (
            ("level", level),
            ("sentence", sentence),
            ("figure", figure),
            ("url", url),
        )
        if getattr(alert, name) != value
    ]
    alert.level, alert.sentence, alert.figure, alert.url = level, sentence, figure, url
    if escalated:
        alert.escalated_at, alert.acknowledged_by, alert.acknowledged_at = at, None, None
        changed += ["escalated_at", "acknowledged_by", "acknowledged_at"]
    if changed:
        alert.save(update_fields=changed)
    if escalated:
        record(
            Fact.ALERT_ESCALATED,
            about=alert,
            by=None,
            at=at,
            before={"level": before},
            after={"level": level, "sentence": sentence},
        )
    return alert


def _closed(alert: Alert, at: datetime) -> Alert:
    # A worker whose clock lags must not close an alert before it was opened.
    alert.closed_at = max(at, alert.opened_at)
    alert.save(update_fields=["closed_at"])
    record(Fact.ALERT_CLOSED, about=alert, by=None, at=at, before={"level": alert.level})
    return alert
