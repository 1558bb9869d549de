"""An enquiry becomes an order with a route, an inspection plan, serials and published dates."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError

from orders.actions.enquiries import change_enquiry, decline_enquiry
from orders.actions.items import add_item, change_item, remove_item, take_choice
from orders.actions.orders import FIRST_PUBLICATION
from orders.contract import Contract
from orders.errors import (
    BadQuantity,
    BadTerm,
    DateInPast,
    ForeignChoice,
    NoChoice,
    NoItems,
    NoTemplate,
    NotSpares,
    NoWay,
    WrongState,
)
from orders.facts import Fact
from orders.models import Item, Milestone, Order
from quality.models import InspectionPoint
from schedule.models import Gate, Operation, Route, RouteTemplate
from tests.factories.orders import (
    NOW,
    ON_SITE,
    TODAY,
    choice,
    engineer,
    enquiry,
    lane,
    ordered,
    planner,
    pumps,
    spares,
    taken,
    viewer,
)
from works.errors import ChangedMeanwhile, NotAllowed, ReasonMissing
from works.models import Event, Outbox

pytestmark = pytest.mark.django_db


def test_a_ship_by_is_worked_back_along_the_lane() -> None:
    order = enquiry()
    # 2 d haulage, 5 d customs and 24 d voyage before Friday 2026-09-18 is Tuesday 2026-08-18; the
    # last Friday sailing is 2026-08-14, less 2 d cut-off and 1 d road: Tuesday 2026-08-11.
    assert order.ship_by_on == date(2026, 8, 11)
    assert order.number == "26-001"
    assert enquiry().number == "26-002"


def test_after_the_last_number_of_three_figures_comes_one_of_four() -> None:
    first = enquiry()
    Order.objects.filter(pk=first.pk).update(number="26-999")
    assert enquiry().number == "26-1000"
    assert enquiry().number == "26-1001"


def test_an_order_collected_at_the_works_ships_when_it_is_wanted() -> None:
    order = enquiry(lane_id=None, delivery_term="EXW", on_site_on=date(2026, 8, 3))
    assert order.ship_by_on == date(2026, 8, 3)


def test_an_enquiry_becomes_an_order_in_work() -> None:
    order = enquiry()
    pumps(order, 3)
    order = taken(order)
    item = order.items.get()
    route = item.route
    assert route is not None
    assert (order.state, order.ordered_on, order.promised_on) == ("ordered", TODAY, ON_SITE)
    assert (route.state, route.due_on, route.quantity) == ("released", order.ship_by_on, 3)
    assert route.choice == item.choice
    assert route.published_on == order.ship_by_on
    assert route.forecast_ship_at is not None
    assert route.days_in_hand is not None
    assert [unit.serial for unit in route.units.all()] == [
        "26-001-1-01",
        "26-001-1-02",
        "26-001-1-03",
    ]
    assert item.inspection_plan is not None
    held = Gate.objects.open().filter(operation__route=route, operation__code="ASM-HYDRO")
    assert held.count() >= 3  # one a unit at least: the pressure test is held
    assert InspectionPoint.objects.filter(plan=item.inspection_plan).count() > 30
    assert Event.objects.filter(deed=Fact.ORDER_TAKEN, about_id=order.pk).count() == 1
    assert Outbox.objects.filter(event__deed=Fact.ORDER_TAKEN).count() == 1


def test_the_first_dates_are_told_and_none_lies_after_ship_by() -> None:
    order = ordered()
    told = {row.milestone: row for row in order.items.get().published_dates.all()}
    assert set(told) == set(Milestone)
    assert {row.reason for row in told.values()} == {FIRST_PUBLICATION}
    assert told[Milestone.SHIPPED].on == order.ship_by_on
    assert told[Milestone.ON_SITE].on == order.on_site_on
    days = [told[each].on for each in Milestone]
    assert days == sorted(days)


def test_no_date_in_the_past_is_told_when_work_should_have_begun_already() -> None:
    order = enquiry(on_site_on=TODAY + timedelta(days=75))
    pumps(order)
    order = taken(order)
    route = order.items.get().route
    assert route is not None and route.days_in_hand is not None
    assert route.days_in_hand < 0
    for row in order.items.get().published_dates.all():
        assert TODAY <= row.on <= order.on_site_on
    late = [row.on for row in order.items.get().published_dates.exclude(milestone="on site")]
    assert max(late) == order.ship_by_on


def test_the_contract_makes_the_route() -> None:
    rounds = Contract(approval_rounds=3, bare_until_pressure_test=True, critical_castings=True)
    order = ordered(contract=rounds)
    codes = set(
        Operation.objects.live().filter(route__item__order=order).values_list("code", flat=True)
    )
    assert {"ENG-APPROVAL", "ENG-APPROVAL-R3", "ASM-PRIME-1", "MCH-CASING-CRACK"} <= codes
    assert "FDY-U-PRIME-1" not in codes


def test_spares_are_made_without_a_hydraulic_choice() -> None:
    order = enquiry()
    spares(order, "spares impeller", 2)
    spares(order, "spares shaft")
    order = taken(order)
    impellers, shaft = order.items.all()
    assert impellers.route is not None and shaft.route is not None
    assert impellers.choice is None
    assert impellers.route.configuration["impeller_pattern"] == "P-IMPELLER"
    assert impellers.route.units.count() == 2
    assert Operation.objects.filter(route=impellers.route, code="FDY-I-POUR").count() == 2
    assert Operation.objects.filter(route=shaft.route, code="MCH-SHAFT").count() == 1
    assert InspectionPoint.objects.filter(plan=shaft.inspection_plan).exists()
    told = set(shaft.published_dates.values_list("milestone", flat=True))
    assert told == {Milestone.MACHINED, Milestone.SHIPPED, Milestone.ON_SITE}


def test_an_order_without_an_item_is_refused() -> None:
    with pytest.raises(NoItems, match="has no item"):
        taken(enquiry())


def test_pumps_without_a_choice_are_refused_and_nothing_is_in_work() -> None:
    order = enquiry()
    pumps(order)
    add_item(order_id=order.pk, kind="pump", quantity=1, by=planner(), at=NOW)
    with pytest.raises(NoChoice, match="no frozen choice"):
        taken(order)
    order.refresh_from_db()
    assert order.state == Order.State.ENQUIRY
    assert not Route.objects.exists()


def test_an_order_is_taken_once() -> None:
    order = ordered()
    with pytest.raises(WrongState, match="is in work: to take it in hand"):
        taken(order)


def test_an_order_is_not_taken_over_somebody_elses_change() -> None:
    order = enquiry()
    pumps(order)
    change_enquiry(
        order_id=order.pk,
        version=order.version,
        fields={"project": "Pump station 3"},
        today=TODAY,
        by=planner(),
        at=NOW,
    )
    with pytest.raises(ChangedMeanwhile):
        taken(order, version=order.version)


def test_a_viewer_takes_no_order() -> None:
    order = enquiry()
    pumps(order)
    with pytest.raises(NotAllowed, match="planner or application engineer"):
        taken(order, by=viewer())


def test_a_promise_in_the_past_is_refused() -> None:
    order = enquiry()
    pumps(order)
    with pytest.raises(DateInPast, match="promised on site"):
        taken(order, promised_on=TODAY - timedelta(days=1))


def test_a_promise_whose_ship_by_has_passed_is_refused() -> None:
    order = enquiry()
    pumps(order)
    with pytest.raises(DateInPast, match="last day of shipping"):
        taken(order, promised_on=TODAY + timedelta(days=20))


def test_an_order_without_a_template_is_refused() -> None:
    order = enquiry()
    pumps(order)
    RouteTemplate.objects.filter(kind="pump").update(kind="pumps of old")
    with pytest.raises(NoTemplate, match="no route template for pump"):
        taken(order)


def test_terms_that_cannot_be_are_refused() -> None:
    order = enquiry(contract=Contract(approval_rounds=99))
    pumps(order)
    with pytest.raises(BadTerm, match="approval_rounds"):
        taken(order)


def test_an_enquiry_for_yesterday_is_refused() -> None:
    with pytest.raises(DateInPast, match="give a date to come"):
        enquiry(on_site_on=TODAY - timedelta(days=1))


def test_an_enquiry_along_a_lane_that_cannot_be_used_is_refused() -> None:
    bad = lane()
    bad.sailing_weekdays = []
    bad.save()
    with pytest.raises(NoWay, match="no sailing is known"):
        enquiry(lane_id=bad.pk)


def test_a_quantity_of_nothing_is_refused() -> None:
    order = enquiry()
    with pytest.raises(BadQuantity, match="from 1 to 50"):
        add_item(order_id=order.pk, kind="pump", quantity=0, by=planner(), at=NOW)


def test_a_priority_beyond_nine_is_refused() -> None:
    with pytest.raises(ValidationError):
        enquiry(priority=10)


def test_a_viewer_enters_no_enquiry() -> None:
    with pytest.raises(NotAllowed):
        enquiry(by=viewer())


def test_spare_impellers_need_a_pattern_of_the_register() -> None:
    order = enquiry()
    with pytest.raises(NotSpares, match="number of an impeller pattern"):
        add_item(
            order_id=order.pk,
            kind="spares impeller",
            quantity=1,
            spare_for={"impeller_pattern": "P-NOBODY"},
            by=planner(),
            at=NOW,
        )


def test_a_choice_of_another_study_is_refused() -> None:
    order = enquiry()
    one, other = pumps(order), pumps(order)
    with pytest.raises(ForeignChoice, match="was not made for item"):
        take_choice(item_id=one.pk, choice_id=choice(other.study).pk, by=engineer(), at=NOW)


def test_another_choice_of_an_item_in_work_is_refused() -> None:
    order = ordered()
    item = order.items.get()
    with pytest.raises(WrongState, match="propose a change instead"):
        take_choice(item_id=item.pk, choice_id=choice(item.study).pk, by=engineer(), at=NOW)


def test_items_change_and_go_while_it_is_an_enquiry() -> None:
    order = enquiry()
    item = pumps(order)
    item = change_item(
        item_id=item.pk,
        version=item.version,
        quantity=4,
        tag="P-7",
        description="",
        by=planner(),
        at=NOW,
    )
    assert (item.quantity, item.tag) == (4, "P-7")
    remove_item(item_id=item.pk, by=planner(), at=NOW)
    assert not Item.objects.exists()
    assert pumps(order).number == 1


def test_two_people_changing_one_item_do_not_overwrite_each_other() -> None:
    item = pumps(enquiry())
    fields: dict[str, Any] = {
        "item_id": item.pk,
        "version": item.version,
        "tag": "",
        "description": "",
    }
    change_item(**fields, quantity=2, by=planner(), at=NOW)
    with pytest.raises(ChangedMeanwhile):
        change_item(**fields, quantity=3, by=planner(), at=NOW)


def test_items_do_not_change_once_in_work() -> None:
    order = ordered()
    item = order.items.get()
    with pytest.raises(WrongState):
        add_item(order_id=order.pk, kind="pump", quantity=1, by=planner(), at=NOW)
    with pytest.raises(WrongState):
        remove_item(item_id=item.pk, by=planner(), at=NOW)


def test_two_people_changing_one_enquiry_do_not_overwrite_each_other() -> None:
    order = enquiry()
    one: dict[str, Any] = {
        "order_id": order.pk,
        "version": order.version,
        "today": TODAY,
        "at": NOW,
    }
    changed = change_enquiry(**one, fields={"on_site_on": date(2026, 10, 2)}, by=planner())
    assert changed.ship_by_on == date(2026, 8, 25)
    with pytest.raises(ChangedMeanwhile, match="Nothing was overwritten"):
        change_enquiry(**one, fields={"project": "Another"}, by=planner())


def test_an_enquiry_is_declined_with_a_reason() -> None:
    order = enquiry()
    with pytest.raises(ReasonMissing):
        decline_enquiry(order_id=order.pk, reason=" ", by=planner(), at=NOW)
    decline_enquiry(order_id=order.pk, reason="too far from our range", by=planner(), at=NOW)
    order.refresh_from_db()
    assert order.state == Order.State.DECLINED
    with pytest.raises(WrongState):
        decline_enquiry(order_id=order.pk, reason="again", by=planner(), at=NOW)
