"""Reminders of notices, visits, calibrations and questions: raised once, closed by themselves."""

from datetime import timedelta

import pytest

from quality import tasks
from quality.acceptance.hydrostatic import Leak, Place
from quality.actions.nonconformances import ask_buyer
from quality.actions.reminders import (
    CALIBRATION_RULE,
    NOTICE_RULE,
    OUTCOME_RULE,
    QUESTION_RULE,
    review_reminders,
)
from quality.actions.visits import give_notice, plan_visit
from quality.models import InspectionPoint, Nonconformance, Party, Visit
from schedule.actions.growing import repeat_operations
from tests.factories import quality as q
from tests.factories.schedule import NOW
from works.models import Alert, Errand
from works.outbox import expand

pytestmark = pytest.mark.django_db


def of(rule):
    return Alert.objects.open().filter(rule=rule)


@pytest.fixture
def visit():
    plan = q.plan()
    return plan_visit(
        point_ids=[q.point(plan, "HYDRO-START").pk],
        party=Party.CUSTOMER,
        on=q.TODAY + timedelta(days=20),
        by=q.inspector(),
        at=NOW,
    )


def test_a_notice_is_reminded_of_before_its_last_day_and_urged_after_it(visit):
    review_reminders(at=NOW)
    assert not of(NOTICE_RULE).exists()
    due = NOW + (visit.notice_by_on - q.TODAY)
    review_reminders(at=due)
    assert of(NOTICE_RULE).get().level == Alert.Level.WARNING
    review_reminders(at=due + timedelta(days=1))
    alert = of(NOTICE_RULE).get()
    assert alert.level == Alert.Level.URGENT
    assert "should have been given" in alert.sentence


def test_a_notice_given_closes_its_reminder(visit):
    due = NOW + (visit.notice_by_on - q.TODAY)
    review_reminders(at=due)
    give_notice(visit_id=visit.pk, version=1, on=q.TODAY, by=q.inspector(), at=due)
    review_reminders(at=due)
    assert not of(NOTICE_RULE).exists()


def test_a_visit_gone_by_asks_what_came_of_it(visit):
    Visit.objects.filter(pk=visit.pk).update(on=q.TODAY - timedelta(days=2))
    review_reminders(at=NOW)
    assert of(OUTCOME_RULE).get().figure == 2.0


def test_a_calibration_running_out_is_said_in_time():
    q.gauge("PG-1", due_on=q.TODAY + timedelta(days=10))
    review_reminders(at=NOW)
    assert of(CALIBRATION_RULE).get().level == Alert.Level.NOTICE
    review_reminders(at=NOW + timedelta(days=11))
    assert "proves nothing" in of(CALIBRATION_RULE).get().sentence


def test_a_question_left_a_week_is_told():
    plan = q.plan()
    q.passed_pressure_test(plan, leaks=[Leak(place=Place.BODY, where="foot")])
    ask_buyer(
        nonconformance_id=Nonconformance.objects.get().pk,
        proposed="repair",
        question="May we?",
        by=q.inspector(),
        at=NOW,
    )
    review_reminders(at=NOW + timedelta(days=6))
    assert not of(QUESTION_RULE).exists()
    review_reminders(at=NOW + timedelta(days=8))
    assert "for 8 days" in of(QUESTION_RULE).get().sentence


def test_the_beats_task_may_run_twice(visit):
    q.gauge("PG-1", due_on=q.TODAY + timedelta(days=10))
    tasks.remind_of_visits()
    count = Alert.objects.open().count()
    tasks.remind_of_visits()
    assert Alert.objects.open().count() == count


def test_a_route_grown_again_takes_its_plan_with_it():
    plan = q.plan()
    q.cast(plan)
    pour = q.operation(plan, "FDY-I-POUR")
    repeat_operations(operation_ids=[pour.pk], reason="cold shut", by=None, at=NOW)
    expand()
    errand = Errand.objects.get(task="quality.tasks.follow_the_route")
    for _ in range(2):  # a second delivery does no harm
        tasks.follow_the_route(errand.pk)
    points = InspectionPoint.objects.filter(
        plan=plan, code="IMPELLER-CASTING", operation__repeat=1, withdrawn_at=None
    )
    errand.refresh_from_db()
    assert points.count() == 1
    assert errand.done_at is not None
