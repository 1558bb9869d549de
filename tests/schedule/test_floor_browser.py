"""The floor's pages in Chromium: gloves, no scripts, small screens, and nothing for axe to find."""

from collections.abc import Callable
from datetime import timedelta
from itertools import pairwise

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page

from schedule.actions.routes import issue_drawing
from schedule.models import BoughtOut, Operation, Piece, Route
from tests.factories.schedule import (
    GateFactory,
    LaneFactory,
    PieceFactory,
    grown,
    person,
    step,
)
from works.models import Person
from works.people import Group

pytestmark = pytest.mark.django_db(transaction=True)

GLOVE = 56  # px
APART = 8  # px


def fresh() -> Route:
    now = timezone.now()
    route = grown(at=now - timedelta(days=2), due_on=(now + timedelta(weeks=12)).date(), quantity=2)
    issue_drawing(route_id=route.pk, drawing="IM-1042", revision="B", by=None, at=now)
    GateFactory.create(operation=step(route, "MCH-I-TURN"), reason="Dimensions checked")
    return route


def sign_in(page: Page, who: Person, base: str) -> None:
    """Give the browser the session of somebody signed in."""
    client = Client()
    client.force_login(who)
    cookie = client.cookies["sessionid"]
    page.context.add_cookies([{"name": "sessionid", "value": cookie.value, "url": base}])


@pytest.fixture
def floor() -> Person:
    """Somebody who may do all of it."""
    return person(Group.PLANNER, Group.BUYER, Group.QUALITY_ENGINEER)


def test_the_floor_reports_with_scripts_off(
    open_page: Callable[..., Page], floor: Person, live_server: object
) -> None:
    route = fresh()
    page = open_page(java_script_enabled=False, viewport={"width": 1024, "height": 768})
    sign_in(page, floor, str(live_server))
    page.goto(reverse("schedule:work_lists"))
    page.get_by_role("link", name="Foundry").first.click()
    page.get_by_label("Moulding: impeller, T-0000/1 unit 1").check()
    page.get_by_role("button", name="Start").click()
    page.get_by_label("Number and revision on the drawing in your hand").fill("IM-1042 A")
    page.get_by_label("Number and revision on the pattern").fill("P-IMPELLER rev B")
    page.get_by_role("button", name="Start").click()
    assert "drawing revision is IM-1042 A, ordered is IM-1042 rev B" in page.content()
    pattern = page.get_by_label("Number and revision on the pattern")
    assert pattern.input_value() == "P-IMPELLER rev B"
    page.get_by_label("Number and revision on the drawing in your hand").fill("im-1042 rev b")
    page.get_by_role("button", name="Start").click()
    assert page.url.endswith(reverse("schedule:work_list", args=["FOUNDRY"]))
    assert "Moulding: impeller: start at" in page.content()
    assert step(route, "FDY-I-MOULD").state == Operation.State.STARTED
    page.get_by_label("Moulding: impeller, T-0000/1 unit 1").check()
    page.get_by_role("button", name="Stop").click()
    page.get_by_label("Why").select_option("waiting for a crane")
    page.get_by_role("button", name="Stop").click()
    assert "Stopped: waiting for a crane" in page.content()


def test_what_gloves_touch_is_large_and_apart(
    open_page: Callable[..., Page], floor: Person, live_server: object
) -> None:
    fresh()
    page = open_page(viewport={"width": 1024, "height": 768}, has_touch=True)
    sign_in(page, floor, str(live_server))
    page.goto(reverse("schedule:work_list", args=["FOUNDRY"]))
    ticks = page.locator(".work-tick").all()
    buttons = page.locator(".report-bar button").all()
    assert len(ticks) == 4 and len(buttons) == 4
    for target in (*ticks, *buttons, page.locator("#stated_at")):
        box = target.bounding_box()
        assert box is not None
        assert box["height"] >= GLOVE, target
    for target in ticks:
        box = target.bounding_box()
        assert box is not None and box["width"] >= GLOVE
    boxes = [box for box in (button.bounding_box() for button in buttons) if box is not None]
    assert len(boxes) == 4
    for left, right in pairwise(sorted(boxes, key=lambda box: box["x"])):
        if left["y"] == right["y"]:
            assert right["x"] - left["x"] - left["width"] >= APART


def test_the_list_counts_what_is_ticked(
    open_page: Callable[..., Page], floor: Person, live_server: object
) -> None:
    fresh()
    page = open_page(viewport={"width": 1024, "height": 768})
    sign_in(page, floor, str(live_server))
    page.goto(reverse("schedule:work_list", args=["FOUNDRY"]))
    assert page.get_by_text("Nothing ticked").is_visible()
    page.get_by_label("Moulding: impeller, T-0000/1 unit 1").check()
    page.get_by_label("Moulding: impeller, T-0000/1 unit 2").check()
    assert page.get_by_text("2 ticked").is_visible()


def addresses(route: Route) -> list[str]:
    """Pages of every kind the app has."""
    unit = route.units.get(number=1)
    piece = PieceFactory.create(state=Piece.State.TAKEN, unit=unit, pattern_revision="A")
    PieceFactory.create(pattern=piece.pattern)
    part = BoughtOut.objects.get(operation__route=route)
    lane = LaneFactory.create()
    operation = step(route, "MCH-I-TURN")
    named: list[tuple[str, list[object]]] = [
        ("desk", []),
        ("work_lists", []),
        ("work_list", ["FOUNDRY"]),
        ("operation", [operation.pk]),
        ("at_risk", [operation.gates.get().pk]),
        ("route", [route.pk]),
        ("bought_outs", []),
        ("order_part", [part.pk]),
        ("pieces", []),
        ("piece", [piece.pk]),
        ("scrap", [piece.pk]),
        ("calendars", []),
        ("new_calendar", []),
        ("calendar", [step(route, "DSP-PACK").work_centre.calendar_id]),
        ("work_centres", []),
        ("work_centre", ["LATHE"]),
        ("lanes", []),
        ("lane", [lane.pk]),
        ("templates", []),
        ("template", [route.template_id]),
        ("template_row", [route.template_id, "MCH-I-TURN"]),
    ]
    found = [reverse(f"schedule:{name}", args=args) for name, args in named]
    mould = step(route, "FDY-I-MOULD")
    return [*found, f"{reverse('schedule:report')}?deed=start&operation={mould.pk}"]


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_axe_finds_nothing_on_any_page(
    scheme: str,
    open_page: Callable[..., Page],
    axe: Callable[[Page], None],
    floor: Person,
    live_server: object,
) -> None:
    page = open_page(viewport={"width": 1280, "height": 900}, color_scheme=scheme)
    sign_in(page, floor, str(live_server))
    for address in addresses(fresh()):
        answer = page.goto(address)
        assert answer is not None and answer.status == 200, address
        axe(page)


def test_no_page_runs_off_a_phone(
    open_page: Callable[..., Page], floor: Person, live_server: object
) -> None:
    page = open_page(viewport={"width": 320, "height": 640})
    sign_in(page, floor, str(live_server))
    wide = {}
    for address in addresses(fresh()):
        page.goto(address)
        width = page.evaluate("document.documentElement.scrollWidth")
        if width > 320:
            wide[address] = width
    assert wide == {}
