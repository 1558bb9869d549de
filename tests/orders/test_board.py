"""The board: a row an order, filtered and sorted, in a constant number of queries."""

from datetime import date, timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from orders.actions.alerts import review
from orders.actions.orders import hold_order
from orders.contract import Contract
from orders.models import Order
from orders.queries.board import BoardRow, Wish, board
from orders.queries.five import bottleneck, five_numbers
from schedule.actions.forecast import reforecast
from schedule.actions.gates import clear_gate
from schedule.actions.pieces import NewPiece, pour, scrap_piece
from schedule.actions.progress import report
from schedule.models import Gate, Operation
from schedule.queries.load import Cell, CentreLoad
from tests.factories.orders import (
    NOW,
    TODAY,
    customer,
    enquiry,
    ordered,
    planner,
    pumps,
    signed_in,
    spares,
    step,
    taken,
    viewer,
    works_manager,
)

pytestmark = pytest.mark.django_db

TIGHT = TODAY + timedelta(days=75)


def rows(**wish: Any) -> tuple[BoardRow, ...]:
    return board(Wish(**wish), now=NOW).rows


def test_the_latest_order_comes_first() -> None:
    easy, tight = ordered(), ordered(on_site_on=TIGHT)
    assert [row.number for row in rows()] == [tight.number, easy.number]
    assert [row.look for row in rows()] == ["late", "on-time"]
    assert [row.number for row in rows(sort="-hand")] == [easy.number, tight.number]


def test_a_row_says_what_the_works_manager_asks_first() -> None:
    order = ordered(on_site_on=TIGHT, priority=5)
    row = rows()[0]
    assert row.number == order.number
    assert row.customer == "Lagarosa Irrigation Scheme"
    assert (row.priority, row.stage) == (5, "engineering")
    assert row.is_late
    assert row.forecast_on is not None and row.forecast_on > row.ship_by_on == order.ship_by_on
    assert row.published_on == order.ship_by_on
    assert row.worse_than_published
    assert row.next_hold
    assert row.open_holds > 10
    assert row.first_line.startswith("Work on this order should have begun on")
    assert "Order review and data freeze".lower() in row.first_line
    assert "<svg" in row.bars[0].picture


def test_an_order_of_several_items_is_as_late_as_its_latest() -> None:
    order = enquiry(on_site_on=TIGHT)
    spares(order, "spares shaft")
    pumps(order)
    taken(order)
    row = rows()[0]
    assert row.behind == "item 2"
    assert [bar.label for bar in row.bars] == ["1", "2"]


def test_filters_leave_out_what_is_not_wished_for() -> None:
    mine = ordered()
    late = ordered(on_site_on=TIGHT, of=customer("Fjellvik Kraftlag", "NO"), project="Tunnel 5")
    held = ordered()
    hold_order(order_id=held.pk, reason="payment awaited", by=planner(), at=NOW)

    def numbers(**wish: Any) -> set[str]:
        return {row.number for row in rows(**wish)}

    assert numbers() == {mine.number, late.number, held.number}
    assert numbers(late=True) == {late.number}
    assert numbers(state="on hold") == {held.number}
    assert numbers(held=True) == {held.number}
    assert numbers(customer_id=late.customer_id) == {late.number}
    assert numbers(text="tunnel") == {late.number}
    assert numbers(text=mine.number) == {mine.number}
    assert numbers(stage="engineering") == {mine.number, late.number, held.number}
    assert numbers(stage="foundry") == set()
    assert numbers(this_week=True) == set()
    assert board(Wish(late=True), now=NOW).left_out == 2


@pytest.mark.parametrize("sort", ["number", "customer", "ship_by", "forecast", "published"])
def test_sorting_either_way_turns_the_rows_round(sort: str) -> None:
    ordered(of=customer("Aguas del Quillango", "CL"))
    ordered(
        on_site_on=date(2026, 10, 30),
        of=customer("Fjellvik Kraftlag", "NO"),
        contract=Contract(approval_rounds=4),
    )
    up = [row.number for row in rows(sort=sort)]
    assert [row.number for row in rows(sort=f"-{sort}")] == up[::-1]


def test_the_board_asks_the_same_number_of_queries_for_one_order_and_for_four(
    django_assert_num_queries: Any, django_assert_max_num_queries: Any
) -> None:
    ordered()
    board(Wish(), now=NOW)  # calendars are laid out once a process
    with django_assert_max_num_queries(20) as one:
        shown = board(Wish(), now=NOW)
        five_numbers(shown.everything, now=NOW)
    for _ in range(3):
        ordered(quantity=2)
    review(at=NOW)
    with django_assert_num_queries(len(one)):
        shown = board(Wish(), now=NOW)
        five_numbers(shown.everything, now=NOW)
    assert shown.count == 4


def test_the_five_numbers_of_a_quiet_works() -> None:
    ordered()
    late, holds, scrap, load, risk = five_numbers(board(Wish(), now=NOW).everything, now=NOW)
    assert (late.value, late.tone) == ("0", "")
    assert holds.value == "0"
    assert scrap.value.startswith("0")
    assert " of " in load.value
    assert risk.note == "none is to ship this week"


def test_a_late_order_is_the_first_number() -> None:
    order = ordered(on_site_on=TIGHT)
    late = five_numbers(board(Wish(), now=NOW).everything, now=NOW)[0]
    assert (late.value, late.tone) == ("1", "bad")
    assert order.number in late.note
    assert late.url == f"{reverse('orders:board')}?late=on"


def test_a_hold_counts_once_work_stands_before_it() -> None:
    order = ordered()
    for code in ("ENG-REVIEW", "ENG-PLAN"):
        report(
            operation_ids=[step(order, code).pk],
            deed="finish",
            started_at=NOW - timedelta(hours=20),
            stated_at=NOW - timedelta(hours=2),
            by=None,
            at=NOW,
        )
    before = five_numbers(board(Wish(), now=NOW).everything, now=NOW)[1]
    gate = Gate.objects.open().filter(operation__route__item__order=order)[0]
    Operation.objects.filter(pk=gate.operation_id).update(
        state="finished", started_at=NOW, finished_at=NOW
    )
    Gate.objects.filter(pk=gate.pk).update(timing="after")
    after = five_numbers(board(Wish(), now=NOW).everything, now=NOW)[1]
    assert int(after.value) == int(before.value) + 1


def test_days_lost_to_scrap_are_what_the_forecast_lost_at_that_moment() -> None:
    order = ordered()
    unit = step(order, "FDY-I-POUR").unit
    assert unit is not None
    Operation.objects.filter(route__item__order=order).update(confirmations=[])
    manager = works_manager()
    for n, code in enumerate(("FDY-I-MOULD", "FDY-I-POUR")):
        for gate in Gate.objects.open().filter(operation=step(order, code)):
            clear_gate(gate_id=gate.pk, by=manager, at=NOW)
        report(
            operation_ids=[step(order, code).pk],
            deed="finish",
            started_at=NOW + timedelta(hours=n),
            stated_at=NOW + timedelta(hours=n + 1),
            by=None,
            at=NOW + timedelta(days=1),
        )
    (piece,) = pour(
        pieces=[
            NewPiece(
                mark="I-1",
                part="impeller",
                pattern_number="P-IMPELLER",
                metal="CC491K",
                heat="H-1",
                unit_id=unit.pk,
            )
        ],
        poured_on=TODAY,
        by=None,
        at=NOW,
    )
    later = NOW + timedelta(days=60)  # by then the impeller is what everything waits for
    route = unit.route
    reforecast(route_ids=[route.pk], now=later - timedelta(minutes=1))
    route.refresh_from_db()
    before = route.days_in_hand
    scrap_piece(piece_id=piece.pk, reason="misrun", recast=True, by=None, at=later)
    route.refresh_from_db()
    lost = max(0.0, (before or 0.0) - (route.days_in_hand or 0.0))
    number = five_numbers(board(Wish(), now=later).everything, now=later)[2]
    assert number.note.startswith("a piece in 4 weeks")
    assert number.value == f"{round(lost, 1):g}\N{NO-BREAK SPACE}d"


def test_a_unit_to_ship_this_week_that_will_not_is_at_risk() -> None:
    order = ordered()
    route = order.items.get().route
    assert route is not None
    type(route).objects.filter(pk=route.pk).update(due_on=TODAY + timedelta(days=1))
    risk = five_numbers(board(Wish(), now=NOW).everything, now=NOW)[4]
    assert (risk.value, risk.tone) == ("1", "bad")
    assert risk.note.startswith("of 1 units to ship by 2026-03-08")


def test_the_bottleneck_is_the_centre_with_the_greatest_share() -> None:
    def centre(code: str, load: float, capacity: float) -> CentreLoad:
        return CentreLoad(code, code, "foundry", (Cell(TODAY, load, capacity),), "")

    idle, busy, over = centre("A", 0, 40), centre("B", 30, 40), centre("C", 20, 16)
    assert bottleneck((idle, busy, over)) == over
    assert bottleneck((idle,)) is None


@pytest.fixture
def at_now() -> Any:
    with time_machine.travel(NOW, tick=False):
        yield


def test_the_page_shows_the_rows_and_the_part_alone_when_asked(
    client: Client, at_now: None
) -> None:
    order = ordered()
    signed_in(client, viewer())
    page = client.get(reverse("orders:board"))
    assert page.status_code == 200
    text = page.content.decode()
    assert order.number in text and "<html" in text
    assert "data-poll" in text
    part = client.get(reverse("orders:board"), headers={"HX-Request": "true"})
    assert order.number in part.content.decode()
    assert "<html" not in part.content.decode()
    assert "HX-Request" in part.headers["Vary"]


def test_an_empty_board_says_what_to_do(client: Client, at_now: None) -> None:
    enquiry()
    page = signed_in(client).get(reverse("orders:board")).content.decode()
    assert "No order is in work." in page
    filtered = client.get(reverse("orders:board"), {"late": "on"}).content.decode()
    assert "No order is in work." in filtered


def test_a_filter_that_cannot_be_says_so_and_shows_every_order(
    client: Client, at_now: None
) -> None:
    order = ordered()
    page = signed_in(client).get(reverse("orders:board"), {"customer": "nobody"})
    assert page.status_code == 422
    assert "cannot be filtered so" in page.content.decode()
    assert order.number in page.content.decode()


def test_strangers_see_neither_board_nor_wall(client: Client) -> None:
    for name in ("board", "wall"):
        answer = client.get(reverse(f"orders:{name}"))
        assert answer.status_code == 302
        assert "/login/" in answer["Location"]


def test_the_wall_shows_the_latest_and_offers_nothing_to_press(
    client: Client, at_now: None
) -> None:
    orders: list[Order] = [ordered(), ordered(on_site_on=TIGHT)]
    page = signed_in(client, viewer()).get(reverse("orders:wall")).content.decode()
    assert page.index(orders[1].number) < page.index(orders[0].number)
    assert "<form" not in page
    assert "<button" not in page
