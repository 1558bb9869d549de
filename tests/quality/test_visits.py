"""Visits: several points and units at one time, notice in working days, and what came of them."""

from datetime import date, timedelta

import pytest

from quality.actions.visits import (
    agree_visit,
    cancel_visit,
    give_notice,
    move_visit,
    plan_visit,
    visit_took_place,
    visit_was_missed,
)
from quality.errors import (
    NoticeTooShort,
    VisitIsOver,
    VisitOfSeveralRoutes,
    VisitWithoutPoints,
)
from quality.models import Party, Release, Visit
from quality.notice import WorkingDays, working_days
from quality.queries.visits import dates_to_attend, inside_notice
from schedule.models import CalendarDay
from tests.factories import quality as q
from tests.factories.schedule import NOW, CalendarFactory
from works.errors import ChangedMeanwhile, NotAllowed, ReasonMissing, TimeInFuture
from works.people import Group

pytestmark = pytest.mark.django_db

DAY = date(2026, 3, 25)


@pytest.fixture
def plan():
    return q.plan(units=2, contract=q.terms(notice_days=10))


def planned(plan, codes=("HYDRO-START",), on=DAY, **changes):
    points = plan.points.filter(code__in=codes)
    fields = {
        "point_ids": [point.pk for point in points],
        "party": Party.CUSTOMER,
        "on": on,
        "inspector": "E. Amadhila",
        "by": q.inspector(),
        "at": NOW,
        **changes,
    }
    return plan_visit(**fields)


def test_one_visit_serves_several_points_and_two_units(plan):
    visit = planned(plan, codes=("HYDRO-START", "HYDRO"))
    assert visit.points.count() == 4
    assert {p.operation.unit.number for p in visit.points.all()} == {1, 2}


def test_notice_is_counted_in_working_days(plan):
    # Ten working days before Wednesday 2026-03-25 is Wednesday 2026-03-11.
    assert planned(plan).notice_by_on == date(2026, 3, 11)


def test_a_holiday_of_the_inspectors_calendar_makes_the_notice_longer():
    calendar = CalendarFactory.create()
    CalendarDay.objects.create(
        calendar=calendar, on=date(2026, 3, 19), kind=CalendarDay.Kind.PUBLIC_HOLIDAY
    )
    plan = q.plan(units=2, calendar_id=calendar.pk)
    assert planned(plan).notice_by_on == date(2026, 3, 10)


def test_working_days_of_a_calendar_leave_out_weekends_and_take_in_overtime():
    calendar = CalendarFactory.create()
    CalendarDay.objects.create(
        calendar=calendar,
        on=date(2026, 3, 7),
        kind=CalendarDay.Kind.OVERTIME,
        starts="08:00",
        ends="12:00",
    )
    days = working_days(calendar)
    assert days.holds(date(2026, 3, 6))
    assert days.holds(date(2026, 3, 7))
    assert not days.holds(date(2026, 3, 8))
    assert days.before(date(2026, 3, 9), 2) == date(2026, 3, 6)


def test_without_a_calendar_monday_to_friday_count():
    assert WorkingDays().after(date(2026, 3, 6), 1) == date(2026, 3, 9)
    assert working_days(None) == WorkingDays()


def test_the_schedule_counts_on_the_visits_day(plan):
    planned(plan)
    assert q.point(plan, "HYDRO-START").gate.release_expected_on == DAY


def test_too_short_a_notice_is_refused_with_the_earliest_day(plan):
    # Ten working days after Wednesday 2026-03-04 is Wednesday 2026-03-18.
    with pytest.raises(NoticeTooShort, match="earliest day is now 2026-03-18"):
        planned(plan, on=date(2026, 3, 11))


def test_shorter_notice_needs_the_name_of_who_agreed(plan):
    visit = planned(plan, on=date(2026, 3, 11), note="E. Amadhila agreed by telephone")
    assert visit.on == date(2026, 3, 11)


def test_a_party_without_a_part_is_not_visited(plan):
    with pytest.raises(VisitWithoutPoints):
        planned(plan, party=Party.THIRD_PARTY)


def test_a_visit_belongs_to_one_route(plan):
    other = q.plan()
    both = [*plan.points.filter(code="HYDRO"), *other.points.filter(code="HYDRO")]
    with pytest.raises(VisitOfSeveralRoutes):
        planned(plan, point_ids=[point.pk for point in both])


def test_notice_given_is_told_to_the_schedule(plan):
    visit = planned(plan)
    give_notice(visit_id=visit.pk, version=1, on=q.TODAY, by=q.inspector(), at=NOW)
    visit.refresh_from_db()
    assert (visit.state, visit.notice_sent_on) == (Visit.State.NOTICE_SENT, q.TODAY)
    assert q.point(plan, "HYDRO-START").gate.notified_on == q.TODAY


def test_notice_is_not_given_tomorrow(plan):
    visit = planned(plan)
    with pytest.raises(TimeInFuture):
        give_notice(
            visit_id=visit.pk,
            version=1,
            on=q.TODAY + timedelta(days=1),
            by=q.inspector(),
            at=NOW,
        )


def test_the_second_of_two_people_is_told(plan):
    visit = planned(plan)
    agree_visit(visit_id=visit.pk, version=1, by=q.inspector(), at=NOW)
    with pytest.raises(ChangedMeanwhile):
        cancel_visit(visit_id=visit.pk, version=1, why="rain", by=q.inspector(), at=NOW)


def test_a_visit_moves_a_day_later_and_the_hold_with_it(plan):
    visit = planned(plan)
    later = DAY + timedelta(days=1)
    move_visit(
        visit_id=visit.pk,
        version=1,
        on=later,
        why="flight cancelled",
        by=q.inspector(),
        at=NOW,
    )
    assert q.point(plan, "HYDRO-START").gate.release_expected_on == later


def test_a_move_says_why(plan):
    visit = planned(plan)
    with pytest.raises(ReasonMissing):
        move_visit(visit_id=visit.pk, version=1, on=DAY, why=" ", by=q.inspector(), at=NOW)


def test_a_visit_that_took_place_releases_nothing(plan):
    visit = planned(plan, on=q.TODAY, note="agreed")
    visit_took_place(visit_id=visit.pk, version=1, by=q.inspector(), at=NOW)
    assert not Release.objects.exists()
    assert q.point(plan, "HYDRO-START").gate.is_open


def test_a_missed_visit_lets_witnessed_work_go_on_and_holds_stay(plan):
    visit = planned(plan, codes=("HYDRO-START", "HYDRO"), on=q.TODAY, note="agreed")
    visit_was_missed(visit_id=visit.pk, version=1, note="no call", by=q.inspector(), at=NOW)
    witness, hold = q.point(plan, "HYDRO"), q.point(plan, "HYDRO-START")
    assert witness.releases.get().kind == Release.Kind.NOT_ATTENDED
    assert not hold.releases.exists()
    assert hold.gate.is_open


def test_what_came_of_a_visit_is_not_told_before_its_day(plan):
    visit = planned(plan)
    with pytest.raises(TimeInFuture):
        visit_took_place(visit_id=visit.pk, version=1, by=q.inspector(), at=NOW)


def test_a_visit_that_is_over_is_not_moved(plan):
    visit = planned(plan)
    cancel_visit(visit_id=visit.pk, version=1, why="waived", by=q.inspector(), at=NOW)
    with pytest.raises(VisitIsOver):
        move_visit(visit_id=visit.pk, version=2, on=DAY, why="x", by=q.inspector(), at=NOW)


def test_a_supervisor_plans_no_visit(plan):
    with pytest.raises(NotAllowed):
        planned(plan, by=q.person(Group.SUPERVISOR))


def test_the_desk_lists_visits_whose_notice_runs(plan, django_assert_num_queries):
    planned(plan)
    planned(plan, on=date(2026, 6, 1))
    with django_assert_num_queries(2):
        rows = inside_notice(date(2026, 3, 10))
    assert [row.on for row in rows] == [DAY]
    assert rows[0].word == "notice due in 1 d"


def test_a_customers_dates_are_those_of_its_own_routes(plan):
    other = q.plan()
    planned(plan)
    assert [row.on for row in dates_to_attend([plan.route_id], q.TODAY)] == [DAY]
    assert dates_to_attend([other.route_id], q.TODAY) == []
