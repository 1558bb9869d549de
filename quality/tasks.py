"""What quality does by itself: plans follow their routes, visits are remembered."""

from celery import shared_task
from django.utils import timezone

from quality.actions.plans import follow_route
from quality.actions.reminders import review_reminders
from schedule.facts import Fact as ScheduleFact
from works.models import Event
from works.outbox import answers


@answers(ScheduleFact.ROUTE_REGROWN)
def follow_the_route(event: Event) -> None:
    """Bring the inspection plan to the operations that the route has now."""
    follow_route(route_id=event.about_id, by=None, at=event.written_at)


@shared_task
def remind_of_visits() -> None:
    """Raise, escalate and close the alerts on notices, instruments and open questions."""
    review_reminders(at=timezone.now())
