"""Alerts: one open a cause, raised by the rules, escalated by days, closed when it is over."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from orders.actions.alerts import acknowledge, review
from orders.actions.orders import hold_order, resume_order
from orders.actions.published import publish_date
from orders.alert_rules import HELD_RULES, RULES, Rule
from orders.models import Order
from orders.queries.watching import watched_orders
from orders.tasks import orders_of, review_order
from quality.actions.visits import plan_visit
from quality.models import InspectionPoint
from schedule.actions.bought_outs import arrive, order_part, promise
from schedule.actions.forecast import reforecast
from schedule.actions.progress import report
from schedule.facts import Fact as ScheduleFact
from schedule.models import BoughtOut, Gate, Operation
from tests.factories.orders import (
    NOW,
    TODAY,
    engineer,
    only_item,
    ordered,
    planner,
    signed_in,
    step,
    viewer,
)
from works.errors import NotAllowed
from works.models import Alert, Errand, Event
from works.outbox import expand

pytestmark = pytest.mark.django_db

TIGHT = TODAY + timedelta(days=75)


def open_alerts(rule: str, order: Order | None = None) -> list[Alert]:
    found = Alert.objects.open().filter(rule=rule).order_by("pk")
    return list(found.filter(about_id=order.pk) if order else found)


def done(order: Order, code: str, *, at: datetime = NOW) -> None:
    operation = step(order, code)
    report(
        operation_ids=[operation.pk],
        deed="finish",
        started_at=at - timedelta(hours=2),
        stated_at=at,
        by=None,
        at=at,
    )


def test_an_order_in_time_raises_no_alert() -> None:
    ordered()
    review(at=NOW)
    assert not Alert.objects.open().exists()


def test_a_late_order_raises_one_alert_and_reviewing_again_raises_no_other() -> None:
    order = ordered(on_site_on=TIGHT)
    review(at=NOW)
    review(at=NOW)
    (alert,) = open_alerts("orders.late")
    assert alert.about_id == order.pk
    assert "working days late" in alert.sentence
    assert alert.url == f"{order.get_absolute_url()}#dates"
    assert Event.objects.filter(deed="works.alert_raised", about_id=alert.pk).count() == 1


def test_an_alert_closes_when_its_cause_is_gone() -> None:
    order = ordered(on_site_on=TIGHT)
    review(at=NOW)
    route = only_item(order).route
    assert route is not None
    type(route).objects.filter(pk=route.pk).update(due_on=TODAY + timedelta(days=300))
    reforecast(route_ids=[route.pk], now=NOW)
    review(order_ids=[order.pk], at=NOW)
    assert not open_alerts("orders.late")
    assert Alert.objects.filter(rule="orders.late", closed_at=NOW).count() == 1


def test_reviewing_one_order_leaves_the_alerts_of_others_alone() -> None:
    one, other = ordered(on_site_on=TIGHT), ordered(on_site_on=TIGHT)
    review(at=NOW)
    type(one).objects.filter(pk=other.pk).update(state="shipped")
    review(order_ids=[one.pk], at=NOW)
    assert open_alerts("orders.late", other)
    review(at=NOW)
    assert not open_alerts("orders.late", other)


def test_work_that_should_have_begun_grows_urgent_by_days() -> None:
    order = ordered(on_site_on=TODAY + timedelta(days=105))
    route = only_item(order).route
    assert route is not None and route.latest_first_start_at is not None
    due = route.latest_first_start_at
    review(at=due + timedelta(hours=5))
    (alert,) = open_alerts("orders.not begun", order)
    assert alert.level == Alert.Level.WARNING
    acknowledge(alert_id=alert.pk, by=planner(), at=due + timedelta(hours=6))
    review(at=due + timedelta(days=4))
    alert.refresh_from_db()
    assert alert.level == Alert.Level.URGENT
    assert alert.acknowledged_by is None  # it has grown worse: somebody is to look again
    done(order, "ENG-REVIEW", at=due + timedelta(days=4))
    review(at=due + timedelta(days=4))
    assert not open_alerts("orders.not begun", order)


def test_a_bought_out_promised_too_late_is_told_until_it_arrives() -> None:
    order = ordered()
    seal = BoughtOut.objects.get(operation=step(order, "BUY-SEAL"))
    order_part(bought_out_id=seal.pk, supplier="Vedari", ordered_on=TODAY, by=None, at=NOW)
    review(at=NOW)
    assert not open_alerts("orders.part late")
    promise(bought_out_id=seal.pk, promised_on=TODAY + timedelta(days=200), by=None, at=NOW)
    review(at=NOW)
    (alert,) = open_alerts("orders.part late")
    assert alert.sentence.startswith("Mechanical seals for")
    assert alert.level == Alert.Level.URGENT
    arrive(bought_out_id=seal.pk, arrived_on=TODAY, by=None, at=NOW)
    review(at=NOW)
    assert not open_alerts("orders.part late")


def test_a_bought_out_not_ordered_in_time_is_told() -> None:
    order = ordered()
    operation = step(order, "BUY-MOTOR")
    assert operation.latest_start_at is not None
    review(at=operation.latest_start_at + timedelta(days=3))
    sentences = [alert.sentence for alert in open_alerts("orders.part late", order)]
    assert any("Motor" in said and "was to be ordered by" in said for said in sentences)


def test_a_hold_at_which_work_stands_grows_urgent() -> None:
    order = ordered()
    gate = Gate.objects.open().filter(operation__code="PAT-CASING")[0]
    assert gate.timing == Gate.Timing.AFTER
    Operation.objects.filter(pk=gate.operation_id).update(
        state="finished", started_at=NOW - timedelta(hours=6), finished_at=NOW
    )
    review(at=NOW + timedelta(hours=8))
    assert not open_alerts("orders.hold waits")
    review(at=NOW + timedelta(days=1, hours=1))
    (alert,) = open_alerts("orders.hold waits", order)
    assert alert.level == Alert.Level.NOTICE
    review(at=NOW + timedelta(days=6))
    alert.refresh_from_db()
    assert alert.level == Alert.Level.URGENT
    assert gate.reason in alert.sentence


def test_a_visit_that_nobody_planned_is_told_before_its_notice_is_due() -> None:
    order = ordered()
    point = InspectionPoint.objects.filter(customer="W", operation__code="ASM-HYDRO")[0]
    at = point.operation.earliest_finish_at
    assert at is not None
    early = at - timedelta(days=45)
    review(order_ids=[order.pk], at=early)
    assert not open_alerts("orders.notice near")
    near = at - timedelta(days=16)
    review(order_ids=[order.pk], at=near)
    (alert,) = open_alerts("orders.notice near")
    assert "No visit is planned for" in alert.sentence
    points = InspectionPoint.objects.exclude(customer__in=["", "R"])
    plan_visit(
        point_ids=[point.pk for point in points],
        party="customer",
        on=at.date() + timedelta(days=30),
        by=planner(),
        at=near,
    )
    review(order_ids=[order.pk], at=near)
    assert not open_alerts("orders.notice near")


def test_an_approval_that_is_overdue_is_told() -> None:
    order = ordered()
    for code in ("ENG-REVIEW", "ENG-ARRANGE"):
        done(order, code)
    approval = step(order, "ENG-APPROVAL")
    report(operation_ids=[approval.pk], deed="start", stated_at=NOW, by=None, at=NOW)
    review(at=NOW + timedelta(days=9))
    assert not open_alerts("orders.approval overdue")
    review(at=NOW + timedelta(days=13))
    (alert,) = open_alerts("orders.approval overdue", order)
    assert alert.level == Alert.Level.WARNING
    assert "was to be answered by 2026-03-14" in alert.sentence


def test_a_published_date_before_the_forecast_is_told_until_it_moves() -> None:
    order = ordered(on_site_on=TIGHT)
    review(at=NOW)
    (alert,) = open_alerts("orders.published", order)
    route = only_item(order).route
    assert route is not None and route.forecast_ship_at is not None
    publish_date(
        item_id=only_item(order).pk,
        milestone="shipped",
        on=route.forecast_ship_at.date() + timedelta(days=3),
        reason="casting capacity",
        by=planner(),
        at=NOW,
    )
    review(at=NOW)
    alert.refresh_from_db()
    assert alert.closed_at is not None


def test_an_order_on_hold_is_hurried_by_nobody_until_it_has_lain_a_week() -> None:
    order = ordered(on_site_on=TIGHT)
    review(at=NOW)
    assert open_alerts("orders.late", order)
    hold_order(order_id=order.pk, reason="payment awaited", by=planner(), at=NOW)
    review(at=NOW)
    assert not Alert.objects.open().filter(about_id=order.pk).exists()
    review(at=NOW + timedelta(days=8))
    (alert,) = open_alerts("orders.on hold", order)
    assert "payment awaited" in alert.sentence
    resume_order(order_id=order.pk, by=planner(), at=NOW + timedelta(days=8))
    review(at=NOW + timedelta(days=8))
    assert not open_alerts("orders.on hold", order)
    assert open_alerts("orders.late", order)


def test_a_route_without_a_forecast_is_urgent() -> None:
    order = ordered()
    route = only_item(order).route
    assert route is not None
    trouble = "The calendar One shift never opens."
    type(route).objects.filter(pk=route.pk).update(forecast_trouble=trouble)
    review(at=NOW)
    (alert,) = open_alerts("orders.no forecast", order)
    assert (alert.level, trouble in alert.sentence) == (Alert.Level.URGENT, True)


@pytest.mark.parametrize("rule", [*RULES, *HELD_RULES], ids=lambda rule: rule.key)
def test_every_rule_knows_its_levels_in_order(rule: Rule) -> None:
    levels = [rule.level(days) for days in (-0.1, rule.warning, rule.urgent, rule.urgent + 50)]
    assert levels == sorted(levels)
    assert levels[-1] == Alert.Level.URGENT


def test_orders_are_watched_in_a_constant_number_of_queries(
    django_assert_num_queries: Any, django_assert_max_num_queries: Any
) -> None:
    ordered()
    watched_orders(now=NOW)
    with django_assert_max_num_queries(14) as one:
        watched_orders(now=NOW)
    ordered(quantity=2)
    ordered()
    with django_assert_num_queries(len(one)):
        assert len(watched_orders(now=NOW)) == 3


def test_a_report_from_the_floor_is_answered_by_a_review_of_its_order() -> None:
    order = ordered(on_site_on=TIGHT)
    done(order, "ENG-REVIEW")
    expand()
    assert Errand.objects.filter(task="orders.tasks.review_order").exists()
    event = Event.objects.filter(deed=ScheduleFact.PROGRESS_REPORTED).latest("pk")
    assert orders_of(event) == [order.pk]


def test_the_answer_to_an_event_is_given_once() -> None:
    order = ordered(on_site_on=TIGHT)
    expand()
    errand = Errand.objects.filter(
        task="orders.tasks.review_order", event__about_kind="orders.order"
    )[0]
    review_order(errand.pk)
    review_order(errand.pk)
    errand.refresh_from_db()
    assert errand.done_at is not None
    assert len(open_alerts("orders.late", order)) == 1


def test_events_of_nobodys_order_touch_none() -> None:
    ordered()
    event = Event.objects.create(
        deed="schedule.piece_scrapped",
        about_kind="schedule.piece",
        about_id=1,
        about_label="I-1",
        by_name="x",
        at=NOW,
        after={"route": None},
    )
    assert orders_of(event) == []


def test_a_viewer_acknowledges_nothing() -> None:
    ordered(on_site_on=TIGHT)
    review(at=NOW)
    with pytest.raises(NotAllowed):
        acknowledge(alert_id=Alert.objects.open()[0].pk, by=viewer(), at=NOW)


def test_the_page_lists_alerts_and_takes_an_acknowledgement(client: Client) -> None:
    ordered(on_site_on=TIGHT)
    review(at=NOW)
    alert = open_alerts("orders.late")[0]
    signed_in(client, engineer())
    page = client.get(reverse("orders:alerts")).content.decode()
    assert alert.sentence in page
    assert "Forecast after ship-by" in page
    answer = client.post(reverse("orders:acknowledge", args=[alert.pk]))
    assert answer.status_code == 302
    alert.refresh_from_db()
    assert alert.acknowledged_by is not None
    client.get(reverse("orders:alerts"))  # says what was acknowledged, once
    other = client.get(reverse("orders:alerts"), {"rule": "orders.published"}).content.decode()
    assert alert.sentence not in other


def test_a_stranger_sees_no_alert(client: Client) -> None:
    assert client.get(reverse("orders:alerts")).status_code == 302
