"""Forecasts: what moves them, what they say, and what they cost the database."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db.models import F, Q

from schedule.actions.bought_outs import order_part, promise
from schedule.actions.calendars import close_days
from schedule.actions.forecast import forecast_once, reforecast, reforecast_all
from schedule.actions.gates import expect_release, give_notice, open_gate
from schedule.actions.progress import report
from schedule.actions.routes import cancel_route, set_due, set_unit_due
from schedule.errors import RouteCannotGrow
from schedule.models import (
    BoughtOut,
    Calendar,
    Gate,
    Link,
    Operation,
    Route,
    Shift,
    WorkCentre,
)
from schedule.planning.conditions import Terms
from schedule.queries.problems import gather
from schedule.queries.promises import Promises
from selection.configuration import Sealing
from tests.factories.schedule import (
    DUE,
    NOW,
    CalendarFactory,
    LinkFactory,
    OperationFactory,
    RouteFactory,
    SiteFactory,
    WorkCentreFactory,
    configuration,
    grown,
    person,
    small_works,
    step,
)
from works.models import Event
from works.people import Group

pytestmark = pytest.mark.django_db

HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def ship_at(route: Route) -> datetime:
    """The forecast as it stands in the database."""
    route.refresh_from_db()
    assert route.forecast_ship_at is not None
    return route.forecast_ship_at


def two_steps() -> tuple[Route, Operation, Operation]:
    """Eight hours and then four, at one work centre open from 8 to 12 and from 13 to 17."""
    SiteFactory.create()
    centre = WorkCentreFactory.create()
    route = RouteFactory.create(due_on=date(2026, 3, 10))
    first = OperationFactory.create(route=route, work_centre=centre, minutes=480)
    second = OperationFactory.create(route=route, work_centre=centre, minutes=240)
    LinkFactory.create(before=first, after=second)
    return route, first, second


def test_two_operations_by_hand() -> None:
    route, first, second = two_steps()
    reforecast(route_ids=[route.pk], now=datetime(2026, 3, 4, 8, 0, tzinfo=UTC))
    for operation in (first, second):
        operation.refresh_from_db()
    assert first.earliest_finish_at == datetime(2026, 3, 4, 17, 0, tzinfo=UTC)
    assert second.earliest_start_at == datetime(2026, 3, 5, 8, 0, tzinfo=UTC)
    assert second.earliest_finish_at == datetime(2026, 3, 5, 12, 0, tzinfo=UTC)
    assert second.latest_finish_at == datetime(2026, 3, 10, 17, 0, tzinfo=UTC)
    assert second.latest_start_at == datetime(2026, 3, 10, 13, 0, tzinfo=UTC)
    assert first.latest_start_at == datetime(2026, 3, 9, 13, 0, tzinfo=UTC)
    # From Thursday noon to Tuesday evening: half of Thursday, Friday, Monday, Tuesday.
    assert second.days_in_hand == pytest.approx(3.5)
    assert second.waits_for == first.name
    assert first.binds and second.binds
    route.refresh_from_db()
    assert route.days_in_hand == pytest.approx(3.5)
    assert route.latest_first_start_at == first.latest_start_at


def test_a_late_route_has_negative_days_in_hand() -> None:
    route, _, _ = two_steps()
    reforecast(route_ids=[route.pk], now=datetime(2026, 3, 11, 8, 0, tzinfo=UTC))
    route.refresh_from_db()
    assert route.days_in_hand == pytest.approx(-1.5)


def test_a_shutdown_moves_the_forecast() -> None:
    route = grown()
    before = ship_at(route)
    close_days(
        calendar_id=Calendar.objects.get().pk,
        first=date(2026, 3, 23),
        last=date(2026, 3, 27),
        by=None,
        at=NOW,
    )
    assert ship_at(route) == before
    event = Event.objects.get(deed="schedule.calendar_changed")
    assert event.outbox is not None  # the task of new hours hears of it and does this
    reforecast_all(now=NOW)
    assert ship_at(route) - before >= 4 * DAY


def test_an_expected_release_moves_the_forecast_and_is_named() -> None:
    route = grown()
    before = ship_at(route)
    packing = step(route, "DSP-PACK")
    gate = open_gate(
        operation_id=packing.pk, timing="before", reason="Papers complete", by=None, at=NOW
    )
    assert ship_at(route) == before
    planner = person(Group.PLANNER)
    expect_release(gate_id=gate.pk, on=date(2026, 5, 4), by=planner, at=NOW)
    assert ship_at(route) > datetime(2026, 5, 5, tzinfo=UTC)
    packing.refresh_from_db()
    assert packing.waits_for == "hold: Papers complete"


def test_a_hold_after_an_operation_holds_what_follows() -> None:
    route = grown()
    gate = open_gate(
        operation_id=step(route, "ASM-HYDRO").pk, timing="after", reason="No leak", by=None, at=NOW
    )
    expect_release(gate_id=gate.pk, on=date(2026, 5, 4), by=person(Group.PLANNER), at=NOW)
    build = step(route, "ASM-BUILD")
    assert build.earliest_start_at is not None
    assert build.earliest_start_at >= datetime(2026, 5, 4, 23, 0, tzinfo=UTC)
    assert build.waits_for == "hold: No leak"


def test_notice_not_yet_given_is_counted_from_now_and_given_from_its_day() -> None:
    route = grown()
    calendar = Calendar.objects.get()
    review = step(route, "ENG-REVIEW")
    gate = open_gate(
        operation_id=review.pk,
        timing="before",
        reason="Customer attends",
        notice_days=10,
        calendar_id=calendar.pk,
        by=None,
        at=NOW,
    )
    review.refresh_from_db()
    # Ten working days after Wednesday 4 March are Wednesday 18 March.
    assert review.earliest_start_at == datetime(2026, 3, 18, 8, 0, tzinfo=UTC)
    assert review.waits_for == "notice for Customer attends"
    give_notice(gate_ids=[gate.pk], on=date(2026, 2, 25), by=None, at=NOW)
    review.refresh_from_db()
    assert review.earliest_start_at == datetime(2026, 3, 11, 8, 0, tzinfo=UTC)


def test_a_promise_binds_the_route_and_is_named() -> None:
    route = grown()
    part = BoughtOut.objects.get(operation__route=route)
    order_part(bought_out_id=part.pk, supplier="Selado", ordered_on=NOW.date(), by=None, at=NOW)
    promise(bought_out_id=part.pk, promised_on=date(2026, 6, 1), by=None, at=NOW)
    seal, build = step(route, "BUY-SEAL"), step(route, "ASM-BUILD")
    assert seal.earliest_finish_at == datetime(2026, 6, 1, 23, 0, tzinfo=UTC)  # summer time
    assert build.waits_for == "Mechanical seals"
    assert seal.binds and build.binds
    route.refresh_from_db()
    assert route.days_in_hand is not None and route.days_in_hand < 0


def test_a_unit_with_its_own_ship_by_has_its_own_days_in_hand() -> None:
    route = grown(quantity=2)
    first = route.units.get(number=1)
    set_unit_due(unit_id=first.pk, due_on=date(2026, 4, 1), by=None, at=NOW)
    one, other = route.units.order_by("number")
    assert one.days_in_hand is not None and other.days_in_hand is not None
    assert other.days_in_hand - one.days_in_hand > 30
    route.refresh_from_db()
    assert route.days_in_hand == pytest.approx(one.days_in_hand)
    assert step(route, "DSP-PACK", 1).latest_finish_at == datetime(2026, 4, 1, 16, 0, tzinfo=UTC)
    assert step(route, "DSP-PACK", 2).latest_finish_at == datetime(2026, 5, 29, 16, 0, tzinfo=UTC)


def test_another_ship_by_moves_the_latest_dates_and_not_the_forecast() -> None:
    route = grown()
    before, latest = ship_at(route), step(route, "DSP-PACK").latest_finish_at
    set_due(route_id=route.pk, due_on=date(2026, 6, 30), by=None, at=NOW)
    assert ship_at(route) == before
    after = step(route, "DSP-PACK").latest_finish_at
    assert latest is not None and after is not None
    assert after - latest == 32 * DAY


def test_a_calendar_that_never_opens_is_named_and_the_others_are_forecast() -> None:
    good, bad = grown(), grown()
    shut = CalendarFactory.create(name="Never open")
    Shift.objects.filter(calendar=shut).delete()
    centre = WorkCentreFactory.create(code="SHUT", calendar=shut)
    Operation.objects.filter(pk=step(bad, "ENG-REVIEW").pk).update(work_centre=centre)
    before = ship_at(good)
    reforecast(route_ids=[good.pk, bad.pk], now=NOW + 24 * HOUR)
    assert ship_at(good) > before
    bad.refresh_from_db()
    assert bad.forecast_ship_at is None
    assert "The calendar Never open has no open hours" in bad.forecast_trouble
    assert "Give it a shift or overtime" in bad.forecast_trouble


def test_an_operation_longer_than_any_shift_that_may_not_be_split_is_named() -> None:
    route = grown()
    Operation.objects.filter(pk=step(route, "ASM-HYDRO").pk).update(minutes=3000)
    reforecast(route_ids=[route.pk], now=NOW)
    route.refresh_from_db()
    assert route.forecast_trouble.startswith("Casing hydrostatic test takes 3000 minutes")
    assert "lengthen the shift" in route.forecast_trouble


def test_a_ring_is_named_by_its_operations() -> None:
    first = OperationFactory.create(name="Turning")
    SiteFactory.create()
    second = OperationFactory.create(name="Boring", route=first.route)
    LinkFactory.create(before=first, after=second)
    # The trigger looks at links put in; this one is bent afterwards, as no action does.
    third = OperationFactory.create(name="Drilling", route=first.route)
    bent = LinkFactory.create(before=second, after=third)
    Link.objects.filter(pk=bent.pk).update(after=first)
    reforecast(route_ids=[first.route_id], now=NOW)
    first.route.refresh_from_db()
    assert "Turning → Boring → Turning" in first.route.forecast_trouble


def test_work_that_should_be_done_by_now_says_so() -> None:
    route = grown()
    review = step(route, "ENG-REVIEW")
    report(operation_ids=[review.pk], deed="start", stated_at=NOW, by=None, at=NOW)
    reforecast(route_ids=[route.pk], now=NOW + 5 * DAY)
    review.refresh_from_db()
    assert review.waits_for == "should be done by now; say what remains"


def test_a_promise_that_is_past_says_so() -> None:
    route = grown()
    part = BoughtOut.objects.get(operation__route=route)
    report(
        operation_ids=[step(route, "ENG-REVIEW").pk],
        deed="finish",
        started_at=NOW - HOUR,
        stated_at=NOW - HOUR,
        by=None,
        at=NOW,
    )
    order_part(bought_out_id=part.pk, supplier="Selado", ordered_on=NOW.date(), by=None, at=NOW)
    promise(bought_out_id=part.pk, promised_on=date(2026, 3, 20), by=None, at=NOW)
    reforecast(route_ids=[route.pk], now=NOW + 30 * DAY)
    seal = step(route, "BUY-SEAL")
    assert seal.waits_for == "promised for a time that is past"
    assert seal.earliest_finish_at == NOW + 30 * DAY


def test_a_cancelled_route_keeps_its_last_forecast() -> None:
    route = grown()
    before = ship_at(route)
    cancel_route(route_id=route.pk, reason="withdrawn", by=None, at=NOW)
    assert reforecast_all(now=NOW + 30 * DAY) == 0
    assert ship_at(route) == before


def test_a_moved_forecast_is_told_once_with_both_days() -> None:
    route = grown()
    reforecast(route_ids=[route.pk], now=NOW + HOUR)
    reforecast(route_ids=[route.pk], now=NOW + 21 * DAY)
    event = Event.objects.filter(deed="schedule.forecast_moved").latest("pk")
    assert event.after["route"] == route.pk
    assert event.before["ship_on"] < event.after["ship_on"]
    told = Event.objects.filter(deed="schedule.forecast_moved").count()
    reforecast(route_ids=[route.pk], now=NOW + 21 * DAY)
    assert Event.objects.filter(deed="schedule.forecast_moved").count() == told


def test_deeds_inside_one_forecast_share_it() -> None:
    route = grown()
    told = Event.objects.filter(deed="schedule.forecast_moved").count()
    with forecast_once(now=NOW + 40 * DAY):
        for weeks in (1, 2, 3):
            reforecast(route_ids=[route.pk], now=NOW + weeks * 7 * DAY)
    assert Event.objects.filter(deed="schedule.forecast_moved").count() == told + 1
    route.refresh_from_db()
    assert route.forecast_at == NOW + 40 * DAY


def test_a_failed_deed_inside_one_forecast_leaves_no_forecast_waiting() -> None:
    route = grown()
    with pytest.raises(RuntimeError), forecast_once(now=NOW):
        raise RuntimeError
    reforecast(route_ids=[route.pk], now=NOW + 7 * DAY)
    route.refresh_from_db()
    assert route.forecast_at == NOW + 7 * DAY


def test_an_older_now_than_a_report_forecasts_from_the_report() -> None:
    route = grown()
    review = step(route, "ENG-REVIEW")
    report(operation_ids=[review.pk], deed="start", stated_at=NOW + DAY, by=None, at=NOW + DAY)
    reforecast(route_ids=[route.pk], now=NOW)
    route.refresh_from_db()
    assert route.forecast_trouble == ""


def test_the_forecast_never_runs_backwards_along_the_route() -> None:
    route = grown(quantity=3)
    backwards = Link.objects.filter(before__route=route).filter(
        Q(after__earliest_start_at__lt=F("before__earliest_finish_at"))
        | Q(after__latest_start_at__lt=F("before__latest_finish_at"))
    )
    assert list(backwards) == []
    assert not route.operations.filter(earliest_start_at=None).exists()


def test_many_routes_cost_the_database_no_more_questions_than_one(
    django_assert_max_num_queries: Any,
) -> None:
    routes = [grown(quantity=2) for _ in range(5)]
    counts = []
    for some in (routes[:1], routes):
        with django_assert_max_num_queries(20) as asked:
            reforecast(route_ids=[route.pk for route in some], now=NOW)
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_what_is_not_yet_ordered_ships_when_a_route_grown_now_would() -> None:
    template = small_works()
    promises = Promises(template, now=NOW)
    found = promises.earliest(configuration(), Terms(), quantity=2, due_on=DUE)
    route = grown(template=template, quantity=2)
    assert found.ship_at == ship_at(route)
    assert found.days_in_hand == route.days_in_hand
    assert found.begin_by_at == route.latest_first_start_at
    assert found.chain[-1] == "Packing"
    packed = configuration(sealing=Sealing.PACKING)
    assert promises.earliest(packed, Terms(), quantity=2).ship_at < found.ship_at


def test_a_promise_asked_wrongly_says_what_would_be_right() -> None:
    template = small_works()
    WorkCentre.objects.filter(code="LATHE").update(closed_for_good=True)
    promises = Promises(template, now=NOW)
    with pytest.raises(RouteCannotGrow, match="LATHE"):
        promises.earliest(configuration(), Terms(), quantity=1)


def test_many_promises_are_asked_of_the_database_once(django_assert_num_queries: Any) -> None:
    promises = Promises(small_works(), now=NOW)
    with django_assert_num_queries(0):
        for quantity in (1, 2, 3):
            promises.earliest(configuration(), Terms(), quantity=quantity)


def test_a_question_can_be_asked_by_others_too() -> None:
    route = grown(quantity=2)
    question = gather([route.pk], now=NOW).asked[0]
    found = question.forecast()
    assert len(question.operations) == route.operations.count()
    assert found.days_in_hand[0].days == pytest.approx(route.days_in_hand, abs=0.01)
    assert Gate.objects.count() == 0
