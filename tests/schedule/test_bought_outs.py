"""Purchases: ordered, promised, late, here."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import DatabaseError, transaction

from schedule.actions.bought_outs import arrive, order_part, promise
from schedule.actions.progress import correct_report, report
from schedule.actions.routes import cancel_route
from schedule.errors import (
    AlreadyReported,
    BadFigure,
    BookedElsewhere,
    GateOpen,
    NoSuchThing,
    RouteNotInWork,
)
from schedule.models import BoughtOut, Operation, Progress, Route
from schedule.queries.bought_outs import bought_out_list
from tests.factories.schedule import NOW, GateFactory, grown, person, step
from works.errors import NotAllowed, ReasonMissing, TimeInFuture
from works.models import Event
from works.people import Group

pytestmark = pytest.mark.django_db

DAY = timedelta(days=1)
TODAY = NOW.date()


def seal(route: Route) -> BoughtOut:
    """The route's mechanical seals."""
    return BoughtOut.objects.get(operation__route=route, operation__dropped_in=None)


def ordered(route: Route, **fields: Any) -> BoughtOut:
    values: dict[str, Any] = {"supplier": "Selado Lda", "ordered_on": TODAY, "by": None, "at": NOW}
    return order_part(bought_out_id=seal(route).pk, **{**values, **fields})


def test_ordering_starts_the_operation_and_its_lead_runs_from_then() -> None:
    route = grown()
    ordered(route, by=person(Group.BUYER))
    operation = step(route, "BUY-SEAL")
    assert operation.state == Operation.State.STARTED
    assert operation.earliest_finish_at is not None and operation.started_at is not None
    assert operation.earliest_finish_at - operation.started_at == 20 * DAY


def test_a_promise_takes_the_leads_place() -> None:
    route = grown()
    ordered(route, promised_on=date(2026, 4, 20))
    found = step(route, "BUY-SEAL").earliest_finish_at
    assert found is not None and found.date() == date(2026, 4, 20)


def test_an_arrival_finishes_the_operation() -> None:
    route = grown()
    part = ordered(route, promised_on=TODAY + 20 * DAY)
    later = NOW + 25 * DAY
    arrive(bought_out_id=part.pk, arrived_on=later.date(), by=person(Group.BUYER), at=later)
    assert step(route, "BUY-SEAL").state == Operation.State.FINISHED
    assert Event.objects.get(deed="schedule.part_arrived").after["days_late"] == 5


def test_a_part_is_not_ordered_tomorrow_nor_twice_nor_from_nobody() -> None:
    route = grown()
    with pytest.raises(TimeInFuture):
        ordered(route, ordered_on=TODAY + DAY)
    with pytest.raises(BadFigure, match="The supplier is empty"):
        ordered(route, supplier=" ")
    with pytest.raises(BadFigure, match="2024-01-01 or later"):
        ordered(route, ordered_on=date(1999, 1, 1))
    ordered(route)
    with pytest.raises(AlreadyReported, match="Change its promise instead"):
        ordered(route)


def test_a_held_purchase_is_not_ordered() -> None:
    route = grown()
    GateFactory.create(operation=step(route, "BUY-SEAL"), reason="Data frozen")
    with pytest.raises(GateOpen, match="held by Data frozen"):
        ordered(route)


def test_a_promise_before_the_order_or_without_one_is_refused() -> None:
    route = grown()
    with pytest.raises(BadFigure, match="given after ordering it"):
        promise(bought_out_id=seal(route).pk, promised_on=TODAY, by=None, at=NOW)
    part = ordered(route)
    with pytest.raises(BadFigure, match="a day from 2026-03-04"):
        promise(bought_out_id=part.pk, promised_on=TODAY - DAY, by=None, at=NOW)


def test_a_later_promise_says_why() -> None:
    part = ordered(grown(), promised_on=TODAY + 10 * DAY)
    with pytest.raises(ReasonMissing, match="later than 2026-03-14"):
        promise(bought_out_id=part.pk, promised_on=TODAY + 20 * DAY, by=None, at=NOW)
    part = promise(
        bought_out_id=part.pk, promised_on=TODAY + 20 * DAY, by=None, at=NOW, reason="strike"
    )
    assert part.note == "strike"
    promise(bought_out_id=part.pk, promised_on=TODAY + 15 * DAY, by=None, at=NOW)


def test_an_arrival_is_neither_tomorrow_nor_before_the_order_nor_twice() -> None:
    route = grown()
    with pytest.raises(BadFigure, match="ordered before it comes"):
        arrive(bought_out_id=seal(route).pk, arrived_on=TODAY, by=None, at=NOW)
    part = ordered(route)
    with pytest.raises(TimeInFuture):
        arrive(bought_out_id=part.pk, arrived_on=TODAY + DAY, by=None, at=NOW)
    with pytest.raises(BadFigure, match="when it was ordered"):
        arrive(bought_out_id=part.pk, arrived_on=TODAY - DAY, by=None, at=NOW)
    arrive(bought_out_id=part.pk, arrived_on=TODAY, by=None, at=NOW)
    with pytest.raises(AlreadyReported, match="It arrived on 2026-03-04"):
        arrive(bought_out_id=part.pk, arrived_on=TODAY, by=None, at=NOW)
    with pytest.raises(AlreadyReported, match="is here already"):
        promise(bought_out_id=part.pk, promised_on=TODAY + DAY, by=None, at=NOW)


def test_the_floor_does_not_buy_and_a_cancelled_route_buys_nothing() -> None:
    route = grown()
    with pytest.raises(NotAllowed, match="buyer"):
        ordered(route, by=person(Group.SUPERVISOR))
    cancel_route(route_id=route.pk, reason="gone", by=None, at=NOW)
    with pytest.raises(RouteNotInWork):
        ordered(route)
    with pytest.raises(NoSuchThing):
        arrive(bought_out_id=0, arrived_on=TODAY, by=None, at=NOW)


def test_a_purchase_is_not_reported_on_from_the_floor() -> None:
    route = grown()
    with pytest.raises(BookedElsewhere, match="buying list"):
        report(
            operation_ids=[step(route, "BUY-SEAL").pk],
            deed="start",
            stated_at=NOW,
            by=None,
            at=NOW,
        )


def test_an_arrival_booked_wrongly_is_taken_back() -> None:
    route = grown()
    part = ordered(route)
    arrive(bought_out_id=part.pk, arrived_on=TODAY, by=None, at=NOW)
    booked = Progress.objects.get(operation=part.operation, deed="finish")
    correct_report(
        report_id=booked.pk, withdraws=True, by=person(Group.BUYER), at=NOW + timedelta(hours=1)
    )
    part.refresh_from_db()
    assert (part.arrived_on, part.ordered_on) == (None, TODAY)
    assert step(route, "BUY-SEAL").state == Operation.State.STARTED


def test_the_database_refuses_an_arrival_of_what_was_never_ordered() -> None:
    part = seal(grown())
    with pytest.raises(DatabaseError, match="arrives_after"), transaction.atomic():
        BoughtOut.objects.filter(pk=part.pk).update(arrived_on=TODAY)


def test_the_buying_list_says_what_is_needed_promised_late_and_here() -> None:
    late, early, fresh = grown(), grown(), grown()
    ordered(late, promised_on=date(2026, 7, 1))
    ordered(early, promised_on=date(2026, 3, 20))
    found = bought_out_list(now=NOW)
    assert [part.route for part in found] == [late.label, fresh.label, early.label]
    assert [part.state for part in found] == ["will come too late", "to order", "ordered"]
    first = found[0]
    # Ship-by 29 May, less packing (6 h) and building (10 h): two working days.
    assert first.needed_on == date(2026, 5, 28)
    assert first.days_late == (date(2026, 7, 1) - date(2026, 5, 28)).days
    assert first.binds
    assert found[1].to_order_by_on == date(2026, 5, 8)
    arrive(bought_out_id=found[2].pk, arrived_on=TODAY, by=None, at=NOW)
    assert len(bought_out_list(now=NOW)) == 2
    assert bought_out_list(now=NOW, arrived=True)[-1].state == "arrived"


def test_what_should_have_been_ordered_is_said() -> None:
    grown()
    assert bought_out_list(now=NOW + 90 * DAY)[0].state == "should have been ordered"


def test_what_the_supplier_has_not_brought_is_said() -> None:
    ordered(grown(), promised_on=date(2026, 3, 20))
    assert bought_out_list(now=NOW + 30 * DAY)[0].state == "overdue from the supplier"


def test_the_buying_list_is_one_question(django_assert_num_queries: Any) -> None:
    for _ in range(3):
        grown()
    with django_assert_num_queries(2):  # the site's zone, the parts
        bought_out_list(now=NOW)
