"""The pages as people meet them: axe finds nothing, boards refresh themselves, phones fit."""

from collections.abc import Callable, Iterator
from typing import Any

import pytest
import time_machine
from django.test import Client
from playwright.sync_api import Page, expect
from pytest_django.live_server_helper import LiveServer

from orders.actions.alerts import review
from orders.actions.changes import propose_change
from orders.actions.orders import hold_order, set_priority
from orders.actions.published import publish_date
from orders.models import Order
from quality.models import Concession
from tests.factories.orders import (
    NOW,
    TODAY,
    contact,
    customer,
    enquiry,
    link,
    only_item,
    ordered,
    planner,
    pumps,
    spares,
    taken,
    works_manager,
)
from tests.orders.test_board import TIGHT
from tests.orders.test_customer_page import asked

pytestmark = pytest.mark.django_db(transaction=True)

PHONE = {"width": 360, "height": 780}
DESK = {"width": 1366, "height": 900}
WALL = {"width": 1920, "height": 1080}


@pytest.fixture(autouse=True)
def at_now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=True):
        yield


@pytest.fixture
def works() -> dict[str, Any]:
    """Orders late, in time, of spares and on hold; an enquiry; a change; alerts."""
    late = ordered(on_site_on=TIGHT, quantity=2, project="Estación Norte")
    fine = ordered(of=customer("Kaldvere Veevärk", "EE"))
    held = ordered(of=customer("Fjellvik Kraftlag", "NO"))
    hold_order(order_id=held.pk, reason="payment awaited", by=planner(), at=NOW)
    parts = enquiry()
    spares(parts, "spares impeller")
    spares(parts, "spares shaft")
    taken(parts)
    contact(customer())
    wanted = enquiry()
    pumps(wanted, 3)
    change = propose_change(
        item_id=only_item(fine).pk,
        what="two more",
        quantity=3,
        today=TODAY,
        by=planner(),
        at=NOW,
    )
    publish_date(
        item_id=only_item(late).pk,
        milestone="shipped",
        on=TIGHT,
        reason="one casting is poured anew",
        by=planner(),
        at=NOW,
    )
    review(at=NOW)
    return {"late": late, "fine": fine, "parts": parts, "enquiry": wanted, "change": change}


@pytest.fixture
def opened(open_page: Callable[..., Page], live_server: LiveServer) -> Callable[..., Page]:
    """Opens pages as the works manager."""

    def open_one(**options: Any) -> Page:
        page = open_page(**options)
        client = Client()
        client.force_login(works_manager())
        page.context.add_cookies(
            [
                {
                    "name": "sessionid",
                    "value": client.cookies["sessionid"].value,
                    "url": live_server.url,
                }
            ]
        )
        return page

    return open_one


def addresses(works: dict[str, Any]) -> list[str]:
    late: Order = works["late"]
    return [
        "/",
        "/?late=on&sort=-ship_by",
        "/orders/",
        f"/orders/{late.number}/",
        f"/orders/{works['parts'].number}/",
        "/enquiries/",
        "/enquiries/new/",
        f"/enquiries/{works['enquiry'].number}/",
        f"/items/{only_item(works['enquiry']).pk}/",
        f"/items/{only_item(late).pk}/changes/new/",
        f"/changes/{works['change'].pk}/",
        "/customers/",
        "/customers/new/",
        f"/customers/{late.customer_id}/",
        "/alerts/",
    ]


@pytest.mark.parametrize(("size", "scheme"), [(DESK, "light"), (DESK, "dark"), (PHONE, "light")])
def test_axe_finds_nothing_and_no_page_is_wider_than_its_screen(
    works: dict[str, Any],
    opened: Callable[..., Page],
    axe: Callable[[Page], None],
    size: dict[str, int],
    scheme: str,
) -> None:
    page = opened(viewport=size, color_scheme=scheme)
    for address in addresses(works):
        answer = page.goto(address)
        assert answer is not None and answer.status == 200, address
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= size["width"], address
        axe(page)


def test_the_wall_is_read_without_a_pointer(
    works: dict[str, Any], opened: Callable[..., Page], axe: Callable[[Page], None]
) -> None:
    page = opened(viewport=WALL)
    page.goto("/wall/")
    expect(page.get_by_text(works["late"].number, exact=True)).to_be_visible()
    axe(page)


def test_the_board_fetches_its_rows_when_something_happened_and_keeps_the_focus(
    works: dict[str, Any], opened: Callable[..., Page]
) -> None:
    order: Order = works["fine"]
    page = opened(viewport=DESK)
    page.goto("/")
    row = page.get_by_role("row").filter(has_text=order.number)
    expect(row).not_to_contain_text("priority 7")
    page.locator(f"#row-{order.number}").focus()
    order.refresh_from_db()
    set_priority(
        order_id=order.pk,
        priority=7,
        reason="penalty runs",
        version=order.version,
        by=planner(),
        at=NOW,
    )
    expect(row).to_contain_text("priority 7")
    assert page.evaluate("document.activeElement.id") == f"row-{order.number}"


def test_a_paused_board_rests(works: dict[str, Any], opened: Callable[..., Page]) -> None:
    order: Order = works["fine"]
    page = opened(viewport=DESK)
    page.goto("/")
    pause = page.get_by_role("button", name="Pause refreshing")
    pause.click()
    order.refresh_from_db()
    set_priority(
        order_id=order.pk,
        priority=7,
        reason="penalty runs",
        version=order.version,
        by=planner(),
        at=NOW,
    )
    page.wait_for_timeout(4500)
    row = page.get_by_role("row").filter(has_text=order.number)
    expect(row).not_to_contain_text("priority 7")
    page.get_by_role("button", name="Go on refreshing").click()
    expect(row).to_contain_text("priority 7")


def test_without_scripts_the_board_filters_and_an_order_is_held(
    works: dict[str, Any], opened: Callable[..., Page]
) -> None:
    page = opened(viewport=DESK, java_script_enabled=False)
    page.goto("/")
    expect(page.get_by_role("button", name="Pause refreshing")).to_be_hidden()
    page.get_by_label("late only").check()
    page.get_by_role("button", name="Show", exact=True).click()
    expect(page.get_by_role("link", name=works["late"].number, exact=True)).to_be_visible()
    expect(page.get_by_role("link", name=works["fine"].number, exact=True)).to_have_count(0)
    page.get_by_role("link", name=works["late"].number, exact=True).click()
    page.get_by_text("Put the order on hold").click()
    page.locator("#id_hold-reason").fill("drawings awaited")
    page.get_by_role("button", name="Put it on hold").click()
    expect(page.get_by_text("drawings awaited").first).to_be_visible()


def test_a_customer_follows_its_link_and_answers_a_question(
    open_page: Callable[..., Page], axe: Callable[[Page], None], troubles: list[str]
) -> None:
    order = ordered(quantity=2)
    concession = asked(order)
    _, secret = link(order)
    page = open_page(viewport=PHONE)
    page.goto(f"/c/{secret}/")
    assert secret not in page.url
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]
    page.get_by_text("Answer").first.click()
    page.get_by_label("accepted").check()
    page.get_by_label("In your words").fill("Yes, as proposed.")
    page.get_by_label("Your name and position").fill("H. Amupolo, engineer")
    page.get_by_role("button", name="Send this answer").click()
    expect(page.get_by_text("your answer is recorded")).to_be_visible()
    assert Concession.objects.get(pk=concession.pk).answer == "accepted"
