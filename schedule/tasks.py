"""Jobs of the schedule: each fetches the newest state, calls one action, and may run twice."""

from celery import shared_task
from django.utils import timezone

from schedule.actions import elapsed, forecast
from schedule.facts import Fact
from works.models import Event
from works.outbox import answers


@shared_task(name="schedule.tasks.reforecast_all")
def reforecast_all() -> int:
    """Forecast every route again, each shift: time went on even where nobody reported."""
    return forecast.reforecast_all(now=timezone.now())


@shared_task(name="schedule.tasks.finish_elapsed")
def finish_elapsed() -> int:
    """Begin and end what time alone has done."""
    return elapsed.finish_elapsed(now=timezone.now())


@answers(Fact.CALENDAR_CHANGED, Fact.WORK_CENTRE_CHANGED)
def reforecast_by_new_hours(event: Event) -> None:
    """A calendar or a work centre's calendar changed: every route may have moved."""
    forecast.reforecast_all(now=timezone.now())
