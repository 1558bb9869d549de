"""Jobs of the schedule: answered through the outbox, done once however often they are handed on."""

from datetime import date, timedelta

import pytest
from django.utils import timezone

from schedule import tasks
from schedule.actions.calendars import close_days
from schedule.actions.progress import report
from schedule.actions.work_centres import change_work_centre
from schedule.models import Calendar, Operation, Progress, Route
from tests.background import Background
from tests.factories.schedule import grown, step
from works.models import Errand, Event
from works.outbox import expand

pytestmark = pytest.mark.django_db


def soon(weeks: int = 20) -> date:
    return timezone.localdate() + timedelta(weeks=weeks)


def real_day() -> Route:
    """A route grown a week ago, on today's clock."""
    return grown(at=timezone.now() - timedelta(days=7), due_on=soon())


def shut_two_weeks() -> None:
    """The works is shut from tomorrow on."""
    first = timezone.localdate() + timedelta(days=1)
    close_days(
        calendar_id=Calendar.objects.get().pk,
        first=first,
        last=first + timedelta(days=13),
        by=None,
        at=timezone.now(),
    )


def test_every_route_is_forecast_again_each_shift() -> None:
    route = real_day()
    before = route.forecast_ship_at
    assert tasks.reforecast_all() == 1
    route.refresh_from_db()
    assert before is not None and route.forecast_ship_at is not None
    assert route.forecast_ship_at - before > timedelta(days=5)  # a week went by, nothing was done


def test_elapsed_operations_are_ended_by_the_clock() -> None:
    route = real_day()
    long_ago = timezone.now() - timedelta(days=3)
    pour, cooling = step(route, "FDY-I-POUR"), step(route, "FDY-I-COOL")
    for operation in (pour, cooling):
        Operation.objects.filter(pk=operation.pk).update(
            state="finished", started_at=long_ago, finished_at=long_ago
        )
    assert tasks.finish_elapsed() == 2
    assert tasks.finish_elapsed() == 0
    assert step(route, "FDY-I-CURE").state == Operation.State.FINISHED
    assert Progress.objects.filter(by=None).count() == 2


def test_other_hours_are_answered_by_an_errand_that_moves_every_route() -> None:
    route = real_day()
    tasks.reforecast_all()
    route.refresh_from_db()
    before = route.forecast_ship_at
    shut_two_weeks()
    expand()
    errand = Errand.objects.get(task="schedule.tasks.reforecast_by_new_hours")
    tasks.reforecast_by_new_hours(errand.pk)
    route.refresh_from_db()
    assert before is not None and route.forecast_ship_at is not None
    assert route.forecast_ship_at - before > timedelta(days=10)
    errand.refresh_from_db()
    assert errand.done_at is not None
    moved = Event.objects.filter(deed="schedule.forecast_moved").count()
    tasks.reforecast_by_new_hours(errand.pk)  # handed on twice: nothing is done twice
    assert Event.objects.filter(deed="schedule.forecast_moved").count() == moved


def test_another_calendar_of_a_work_centre_is_answered_too() -> None:
    grown()
    change_work_centre(code="LATHE", places=3, by=None, at=timezone.now())
    expand()
    assert Errand.objects.filter(task="schedule.tasks.reforecast_by_new_hours").exists()


def test_a_report_asks_no_task_of_this_app_since_its_route_has_moved_already() -> None:
    route = real_day()
    report(
        operation_ids=[step(route, "ENG-REVIEW").pk],
        deed="start",
        stated_at=timezone.now(),
        by=None,
        at=timezone.now(),
    )
    expand()
    assert not Errand.objects.filter(task__startswith="schedule.").exists()


def test_a_shutdown_reaches_the_forecasts_through_a_real_worker(worker: Background) -> None:
    route = real_day()
    tasks.reforecast_all()
    route.refresh_from_db()
    before = route.forecast_ship_at
    assert before is not None
    shut_two_weeks()

    def moved() -> bool:
        route.refresh_from_db()
        assert route.forecast_ship_at is not None and before is not None
        return route.forecast_ship_at - before > timedelta(days=10)

    worker.wait_until(moved)
