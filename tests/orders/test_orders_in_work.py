"""Holding, resuming, cancelling, other dates and priorities, part deliveries, published dates."""

from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction

from orders.actions.customers import add_customer, change_customer
from orders.actions.deliveries import drop_delivery, set_delivery, ship
from orders.actions.links import make_link, open_link, revoke_link
from orders.actions.orders import (
    cancel_order,
    hold_order,
    resume_order,
    set_dates,
    set_priority,
)
from orders.actions.published import publish_date
from orders.errors import DateInPast, DeadLink, NoUnits, UnitElsewhere, WrongState
from orders.facts import Fact
from orders.models import Milestone, Order, PublishedDate
from schedule.actions.pieces import NewPiece, pour
from schedule.errors import NotReadyToShip
from schedule.models import Gate, Operation, Unit
from tests.factories.orders import (
    NOW,
    TODAY,
    customer,
    enquiry,
    link,
    only_item,
    ordered,
    planner,
    viewer,
    works_manager,
)
from works.errors import ChangedMeanwhile, NotAllowed, ReasonMissing
from works.models import Event

pytestmark = pytest.mark.django_db


def units(order: Order) -> list[Unit]:
    return list(Unit.objects.filter(route__item__order=order).order_by("number"))


def all_done(unit: Unit) -> None:
    """Everything on a unit is finished and released."""
    Gate.objects.filter(operation__route=unit.route).update(cleared_at=NOW, cleared_by=planner())
    mine = Operation.objects.filter(route=unit.route, unit=unit)
    mine.update(state="finished", started_at=NOW, finished_at=NOW)


def test_an_order_on_hold_stops_its_routes_until_it_is_resumed() -> None:
    order = ordered()
    hold_order(order_id=order.pk, reason="payment awaited", by=planner(), at=NOW)
    route = only_item(order).route
    assert route is not None
    assert route.state == "on hold"
    resume_order(order_id=order.pk, by=planner(), at=NOW)
    route.refresh_from_db()
    order.refresh_from_db()
    assert (route.state, order.state, order.hold_reason) == ("released", "ordered", "")
    assert Event.objects.filter(deed=Fact.ORDER_RESUMED).get().before == {
        "reason": "payment awaited"
    }


def test_a_hold_needs_a_reason() -> None:
    with pytest.raises(ReasonMissing):
        hold_order(order_id=ordered().pk, reason="", by=planner(), at=NOW)


def test_a_held_order_is_not_held_again_and_one_in_work_not_resumed() -> None:
    order = ordered()
    with pytest.raises(WrongState):
        resume_order(order_id=order.pk, by=planner(), at=NOW)
    hold_order(order_id=order.pk, reason="payment awaited", by=planner(), at=NOW)
    with pytest.raises(WrongState):
        hold_order(order_id=order.pk, reason="again", by=planner(), at=NOW)


def test_a_viewer_holds_nothing() -> None:
    with pytest.raises(NotAllowed):
        hold_order(order_id=ordered().pk, reason="why not", by=viewer(), at=NOW)


def test_a_cancelled_order_puts_its_castings_on_the_shelf() -> None:
    order = ordered()
    (piece,) = pour(
        pieces=[
            NewPiece(
                mark="I-1",
                part="impeller",
                pattern_number="P-IMPELLER",
                metal="CC491K",
                heat="H-9",
                unit_id=units(order)[0].pk,
            )
        ],
        poured_on=TODAY,
        by=None,
        at=NOW,
    )
    cancel_order(order_id=order.pk, reason="customer withdrew", by=works_manager(), at=NOW)
    order.refresh_from_db()
    piece.refresh_from_db()
    route = only_item(order).route
    assert route is not None
    assert (order.state, route.state) == ("cancelled", "cancelled")
    assert (piece.state, piece.unit, piece.heat) == ("on the shelf", None, "H-9")
    with pytest.raises(WrongState):
        cancel_order(order_id=order.pk, reason="again", by=works_manager(), at=NOW)


def test_only_the_works_manager_cancels_and_says_why() -> None:
    order = ordered()
    with pytest.raises(NotAllowed):
        cancel_order(order_id=order.pk, reason="customer withdrew", by=planner(), at=NOW)
    with pytest.raises(ReasonMissing):
        cancel_order(order_id=order.pk, reason=" ", by=works_manager(), at=NOW)


def test_another_date_on_site_moves_ship_by_and_leaves_what_was_published() -> None:
    order = ordered()
    fields: dict[str, Any] = {
        "order_id": order.pk,
        "version": order.version,
        "today": TODAY,
        "at": NOW,
    }
    set_dates(**fields, promised_on=date(2026, 10, 2), reason="site not ready", by=planner())
    order.refresh_from_db()
    route = only_item(order).route
    assert route is not None
    assert order.ship_by_on == route.due_on == date(2026, 8, 25)
    assert route.published_on == date(2026, 8, 11)
    with pytest.raises(ChangedMeanwhile):
        set_dates(**fields, promised_on=date(2026, 11, 6), reason="again", by=planner())


@pytest.mark.parametrize(
    ("promised_on", "reason", "refusal"),
    [
        (TODAY - timedelta(days=1), "why", DateInPast),
        (date(2026, 10, 2), "  ", ReasonMissing),
    ],
)
def test_another_date_in_the_past_or_without_a_reason_is_refused(
    promised_on: date, reason: str, refusal: type[Exception]
) -> None:
    order = ordered()
    with pytest.raises(refusal):
        set_dates(
            order_id=order.pk,
            version=order.version,
            promised_on=promised_on,
            reason=reason,
            today=TODAY,
            by=planner(),
            at=NOW,
        )


def test_an_enquiry_agrees_no_other_date_here() -> None:
    order = enquiry()
    with pytest.raises(WrongState):
        set_dates(
            order_id=order.pk,
            version=order.version,
            promised_on=date(2026, 10, 2),
            reason="why",
            today=TODAY,
            by=planner(),
            at=NOW,
        )


def test_a_priority_is_the_routes_weight_too() -> None:
    order = ordered()
    fields: dict[str, Any] = {
        "order_id": order.pk,
        "version": order.version,
        "at": NOW,
        "by": planner(),
    }
    set_priority(**fields, priority=7, reason="penalty runs")
    route = only_item(order).route
    assert route is not None
    assert route.weight == 7
    with pytest.raises(ChangedMeanwhile):
        set_priority(**fields, priority=3, reason="second thoughts")
    order.refresh_from_db()
    with pytest.raises(ValidationError):
        set_priority(**{**fields, "version": order.version}, priority=12, reason="urgent")
    with pytest.raises(ReasonMissing):
        set_priority(**{**fields, "version": order.version}, priority=2, reason="")


def test_a_part_delivery_gives_its_units_a_day_of_their_own() -> None:
    order = ordered(quantity=3)
    one, two, three = units(order)
    first = set_delivery(
        order_id=order.pk,
        unit_ids=[one.pk, two.pk],
        ship_by_on=date(2026, 7, 14),
        by=planner(),
        at=NOW,
    )
    one.refresh_from_db()
    three.refresh_from_db()
    assert (one.due_on, three.due_on) == (date(2026, 7, 14), None)
    assert one.days_in_hand is not None and three.days_in_hand is not None
    assert one.days_in_hand < three.days_in_hand
    with pytest.raises(UnitElsewhere, match="in another delivery already"):
        set_delivery(
            order_id=order.pk,
            unit_ids=[two.pk],
            ship_by_on=date(2026, 7, 20),
            by=planner(),
            at=NOW,
        )
    drop_delivery(delivery_id=first.pk, by=planner(), at=NOW)
    one.refresh_from_db()
    assert one.due_on is None


def test_a_delivery_of_nothing_or_of_another_orders_unit_is_refused() -> None:
    order, other = ordered(), ordered()
    fields: dict[str, Any] = {
        "order_id": order.pk,
        "ship_by_on": date(2026, 7, 14),
        "by": planner(),
        "at": NOW,
    }
    with pytest.raises(NoUnits, match="Tick at least one unit"):
        set_delivery(**fields, unit_ids=[])
    with pytest.raises(UnitElsewhere, match="of another order"):
        set_delivery(**fields, unit_ids=[units(other)[0].pk])


def test_an_order_is_shipped_with_its_last_unit() -> None:
    order = ordered(quantity=2)
    one, two = units(order)
    delivery = set_delivery(
        order_id=order.pk, unit_ids=[one.pk], ship_by_on=date(2026, 7, 14), by=planner(), at=NOW
    )
    all_done(one)
    all_done(two)
    ship(order_id=order.pk, unit_ids=[one.pk], on=TODAY, by=planner(), at=NOW)
    order.refresh_from_db()
    delivery.refresh_from_db()
    assert (order.state, delivery.shipped_on) == ("ordered", TODAY)
    with pytest.raises(UnitElsewhere, match="has left the works"):
        ship(order_id=order.pk, unit_ids=[one.pk], on=TODAY, by=planner(), at=NOW)
    ship(order_id=order.pk, unit_ids=[two.pk], on=TODAY, by=planner(), at=NOW)
    order.refresh_from_db()
    assert order.state == "shipped"
    with pytest.raises(WrongState):
        ship(order_id=order.pk, unit_ids=[two.pk], on=TODAY, by=planner(), at=NOW)


def test_a_unit_that_is_not_done_does_not_ship() -> None:
    order = ordered()
    with pytest.raises(NotReadyToShip):
        ship(
            order_id=order.pk,
            unit_ids=[units(order)[0].pk],
            on=TODAY,
            by=planner(),
            at=NOW,
        )


def test_a_published_date_moves_with_a_reason_and_the_old_one_stays() -> None:
    order = ordered()
    item = only_item(order)
    seen = item.published_dates.order_by("-pk")[0].pk
    row = publish_date(
        item_id=item.pk,
        milestone=Milestone.SHIPPED,
        on=date(2026, 8, 18),
        reason="casting scrapped",
        seen=seen,
        by=planner(),
        at=NOW,
    )
    item.refresh_from_db()
    assert item.route is not None
    assert item.route.published_on == row.on
    days = item.published_dates.filter(milestone="shipped").order_by("pk")
    assert [each.on for each in days] == [date(2026, 8, 11), date(2026, 8, 18)]
    with pytest.raises(ChangedMeanwhile):
        publish_date(
            item_id=item.pk,
            milestone="shipped",
            on=date(2026, 8, 25),
            reason="I had the old one before me",
            seen=seen,
            by=planner(),
            at=NOW,
        )
    with pytest.raises(ReasonMissing):
        publish_date(
            item_id=item.pk,
            milestone="shipped",
            on=date(2026, 8, 25),
            reason="",
            by=planner(),
            at=NOW,
        )
    with pytest.raises(NotAllowed):
        publish_date(
            item_id=item.pk,
            milestone="shipped",
            on=date(2026, 8, 25),
            reason="why not",
            by=viewer(),
            at=NOW,
        )


def test_the_database_keeps_a_published_date_as_it_was() -> None:
    row = only_item(ordered()).published_dates.all()[0]
    with pytest.raises(DatabaseError), transaction.atomic():
        PublishedDate.objects.filter(pk=row.pk).update(reason="never said")


def test_a_customer_stands_once_in_the_book() -> None:
    one = customer()
    with pytest.raises(ValidationError):
        add_customer(name=one.name, country="NA", by=planner(), at=NOW)
    with pytest.raises(NotAllowed):
        change_customer(customer_id=one.pk, name="X", country="NA", note="", by=viewer(), at=NOW)


def test_a_link_is_kept_as_a_hash_and_can_be_withdrawn() -> None:
    order = ordered()
    made, secret = link(order)
    assert secret not in made.secret_sha256
    assert len(secret) >= 43  # 256 bits in base64
    assert open_link(secret=secret, at=NOW) == made
    with pytest.raises(DeadLink):
        open_link(secret=secret[:-1] + "x", at=NOW)
    with pytest.raises(DeadLink):
        open_link(secret=secret, at=datetime(2100, 1, 1, tzinfo=UTC))
    revoke_link(link_id=made.pk, by=planner(), at=NOW)
    with pytest.raises(DeadLink):
        open_link(secret=secret, at=NOW)
    with pytest.raises(NotAllowed):
        make_link(
            order_id=order.pk,
            contact_id=None,
            may_answer=False,
            expires_at=NOW + timedelta(days=9),
            by=viewer(),
            at=NOW,
        )
