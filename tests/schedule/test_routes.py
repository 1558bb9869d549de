"""A route's state and dates: who may move them, and how far."""

from datetime import date, timedelta

import pytest
from django.db import DatabaseError, transaction

from schedule.actions.progress import report
from schedule.actions.routes import (
    cancel_route,
    give_serials,
    hold_route,
    issue_drawing,
    release_route,
    resume_route,
    set_due,
    set_published,
    set_unit_due,
    set_weight,
    ship_units,
)
from schedule.errors import BadFigure, NoSuchThing, NotReadyToShip, RouteNotInWork, SerialTaken
from schedule.models import Operation, Progress, Route, Unit
from tests.factories.schedule import NOW, GateFactory, grown, person, step
from works.errors import NotAllowed, ReasonMissing, TimeInFuture
from works.models import Event
from works.people import Group

pytestmark = pytest.mark.django_db


def all_done(route: Route, unit: int) -> None:
    """Everything of a unit, and what the units share, is finished."""
    rows = Operation.objects.open().filter(route=route)
    rows = rows.filter(unit__number=unit) | rows.filter(unit=None)
    rows.update(state="finished", started_at=NOW, finished_at=NOW)


def test_a_route_goes_from_draft_to_work_to_hold_and_on() -> None:
    route = grown(released=False)
    planner = person(Group.PLANNER)
    assert release_route(route_id=route.pk, by=planner, at=NOW).state == "released"
    assert hold_route(route_id=route.pk, reason="money", by=planner, at=NOW).state == "on hold"
    assert resume_route(route_id=route.pk, by=planner, at=NOW).state == "released"
    assert cancel_route(route_id=route.pk, reason="gone", by=planner, at=NOW).state == "cancelled"
    deeds = list(Event.objects.order_by("pk").values_list("deed", flat=True))
    assert [deed for deed in deeds if "route_" in deed][-4:] == [
        "schedule.route_released",
        "schedule.route_held",
        "schedule.route_resumed",
        "schedule.route_cancelled",
    ]


def test_a_released_route_is_not_released_again() -> None:
    with pytest.raises(RouteNotInWork, match="is in work, so nobody may release it"):
        release_route(route_id=grown().pk, by=None, at=NOW)


def test_a_hold_and_a_cancellation_say_why() -> None:
    route = grown()
    with pytest.raises(ReasonMissing):
        hold_route(route_id=route.pk, reason="", by=None, at=NOW)
    with pytest.raises(ReasonMissing):
        cancel_route(route_id=route.pk, reason=" ", by=None, at=NOW)


def test_the_floor_may_not_hold_a_route() -> None:
    with pytest.raises(NotAllowed):
        hold_route(route_id=grown().pk, reason="x", by=person(Group.SUPERVISOR), at=NOW)


def test_a_route_that_is_not_there_is_refused() -> None:
    with pytest.raises(NoSuchThing, match="no route 0"):
        set_weight(route_id=0, weight=3, by=None, at=NOW)


@pytest.mark.parametrize("on", [date(2026, 3, 3), date(2050, 1, 1)])
def test_a_ship_by_is_not_moved_into_the_past_or_out_of_reach(on: date) -> None:
    route = grown()
    with pytest.raises(BadFigure, match="a day from 2026-03-04 to 2031-12-31"):
        set_due(route_id=route.pk, due_on=on, by=None, at=NOW)
    with pytest.raises(BadFigure, match="a day from 2026-03-04 to 2031-12-31"):
        set_unit_due(unit_id=route.units.get().pk, due_on=on, by=None, at=NOW)


def test_moving_a_ship_by_keeps_the_day_before_it() -> None:
    route = grown()
    was = route.due_on
    set_due(route_id=route.pk, due_on=date(2026, 7, 1), by=None, at=NOW, reason="asked")
    event = Event.objects.get(deed="schedule.due_set")
    assert (event.before["due_on"], event.after["due_on"]) == (was.isoformat(), "2026-07-01")


def test_a_published_date_is_noted() -> None:
    route = set_published(route_id=grown().pk, on=date(2026, 6, 1), by=None, at=NOW)
    assert route.published_on == date(2026, 6, 1)


@pytest.mark.parametrize("weight", [0, 10, -3])
def test_a_weight_is_from_one_to_nine(weight: int) -> None:
    with pytest.raises(BadFigure, match="from 1 to 9"):
        set_weight(route_id=grown().pk, weight=weight, by=None, at=NOW)


def test_serial_numbers_are_given_once_in_the_works() -> None:
    first, second = grown(quantity=2), grown()
    give_serials(route_id=first.pk, serials={1: "TB-1001", 2: "TB-1002"}, by=None, at=NOW)
    with pytest.raises(SerialTaken, match=r"TB-1001 is that of T-0000/1 unit 1"):
        give_serials(route_id=second.pk, serials={1: "TB-1001"}, by=None, at=NOW)
    with pytest.raises(SerialTaken):
        give_serials(route_id=first.pk, serials={1: "TB-9", 2: "TB-9"}, by=None, at=NOW)
    with pytest.raises(BadFigure, match="1 to 40 characters"):
        give_serials(route_id=second.pk, serials={1: " "}, by=None, at=NOW)
    with pytest.raises(NoSuchThing, match="numbered 7"):
        give_serials(route_id=second.pk, serials={7: "TB-7"}, by=None, at=NOW)


def test_two_units_exchange_their_serial_numbers() -> None:
    route = grown(quantity=2)
    give_serials(route_id=route.pk, serials={1: "TB-1", 2: "TB-2"}, by=None, at=NOW)
    give_serials(route_id=route.pk, serials={1: "TB-2", 2: "TB-1"}, by=None, at=NOW)
    assert list(route.units.values_list("serial", flat=True)) == ["TB-2", "TB-1"]


def test_the_database_refuses_a_serial_number_twice() -> None:
    route = grown(quantity=2)
    give_serials(route_id=route.pk, serials={1: "TB-1"}, by=None, at=NOW)
    with pytest.raises(DatabaseError, match="serial"), transaction.atomic():
        Unit.objects.filter(route=route, number=2).update(serial="TB-1")


def test_a_drawing_goes_to_what_works_to_one_and_is_not_finished() -> None:
    route = grown()
    assert issue_drawing(route_id=route.pk, drawing="IM-1", revision="A", by=None, at=NOW) == 2
    done = step(route, "FDY-I-MOULD")
    Operation.objects.filter(pk=done.pk).update(state="finished", started_at=NOW, finished_at=NOW)
    assert issue_drawing(route_id=route.pk, drawing="IM-1", revision="B", by=None, at=NOW) == 1
    assert step(route, "FDY-I-MOULD").drawing_revision == "A"
    assert step(route, "MCH-I-TURN").drawing_revision == "B"
    event = Event.objects.filter(deed="schedule.drawing_issued").latest("pk")
    assert event.before["drawings"] == ["IM-1 rev A"]


def test_a_drawing_has_a_number_and_a_revision() -> None:
    with pytest.raises(BadFigure, match="The revision is ' '"):
        issue_drawing(route_id=grown().pk, drawing="IM-1", revision=" ", by=None, at=NOW)


def test_units_ship_one_by_one_and_the_route_with_the_last() -> None:
    route = grown(quantity=2)
    all_done(route, 1)
    route = ship_units(route_id=route.pk, units=[1], on=NOW.date(), by=None, at=NOW)
    assert route.state == "released"
    all_done(route, 2)
    route = ship_units(route_id=route.pk, units=[2], on=NOW.date(), by=None, at=NOW)
    assert route.state == "shipped"


def test_a_unit_with_open_work_does_not_ship() -> None:
    with pytest.raises(NotReadyToShip, match=r"Moulding: impeller; .* and 3 more"):
        ship_units(route_id=grown().pk, units=[1], on=NOW.date(), by=None, at=NOW)


def test_a_unit_with_an_open_hold_does_not_ship() -> None:
    route = grown()
    all_done(route, 1)
    GateFactory.create(
        operation=step(route, "DSP-PACK"), timing="after", reason="Certificate of the shaft"
    )
    with pytest.raises(NotReadyToShip, match="Certificate of the shaft"):
        ship_units(route_id=route.pk, units=[1], on=NOW.date(), by=None, at=NOW)


def test_nothing_ships_tomorrow_nor_twice_nor_none() -> None:
    route = grown(quantity=2)
    all_done(route, 1)
    tomorrow = NOW.date() + timedelta(days=1)
    with pytest.raises(TimeInFuture):
        ship_units(route_id=route.pk, units=[1], on=tomorrow, by=None, at=NOW)
    with pytest.raises(BadFigure, match="at least one"):
        ship_units(route_id=route.pk, units=[], on=NOW.date(), by=None, at=NOW)
    ship_units(route_id=route.pk, units=[1], on=NOW.date(), by=None, at=NOW)
    with pytest.raises(NotReadyToShip, match="shipped on 2026-03-04"):
        ship_units(route_id=route.pk, units=[1], on=NOW.date(), by=None, at=NOW)


def test_a_held_route_does_not_ship() -> None:
    route = grown()
    hold_route(route_id=route.pk, reason="money", by=None, at=NOW)
    with pytest.raises(RouteNotInWork, match="on hold"):
        ship_units(route_id=route.pk, units=[1], on=NOW.date(), by=None, at=NOW)


def test_reports_stay_when_a_route_is_cancelled() -> None:
    route = grown()
    pk = step(route, "ENG-REVIEW").pk
    report(operation_ids=[pk], deed="start", stated_at=NOW, by=None, at=NOW)
    cancel_route(route_id=route.pk, reason="withdrawn", by=None, at=NOW)
    assert Progress.objects.filter(operation=pk).count() == 1
