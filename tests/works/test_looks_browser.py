"""The pieces in Chromium: reachable, readable, fresh or said not to be."""

from collections.abc import Callable
from typing import Any

import pytest
from django.conf import settings
from playwright.sync_api import Page, Route, expect

from tests.works.looks_sample import WALL, sample

Opener = Callable[..., Page]
POLICY = "; ".join(
    f"{name} {' '.join(sources)}"
    for name, sources in settings.CONTENT_SECURITY_POLICY["DIRECTIVES"].items()
)


@pytest.fixture
def show(open_page: Opener) -> Callable[..., Page]:
    """Opens a sample under the program's own policy, with the program's own sheets and scripts."""

    def open_sample(html: str, *, polls: list[str] | None = None, **options: Any) -> Page:
        page = open_page(**options)

        def answer(route: Route) -> None:
            if route.request.url.endswith("/version"):
                if polls is not None:
                    polls.append(route.request.url)
                date = {"Date": "Wed, 01 Jul 2026 12:05:00 GMT"}
                route.fulfill(status=204, headers=date)
                return
            headers = {"Content-Type": "text/html", "Content-Security-Policy": POLICY}
            route.fulfill(body=html, headers=headers)

        page.route("**/sample/**", answer)
        page.clock.install()
        page.goto("/sample/")
        return page

    return open_sample


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 1280])
def test_axe_finds_nothing_on_any_piece(
    show: Callable[..., Page], axe: Callable[[Page], None], scheme: str, width: int
) -> None:
    page = show(sample(), viewport={"width": width, "height": 800}, color_scheme=scheme)
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_the_way_through_the_house_folds_on_a_phone_and_opens_without_script(
    show: Callable[..., Page],
) -> None:
    phone = {"width": 320, "height": 640}
    page = show(sample(), viewport=phone, java_script_enabled=False)
    ways = page.get_by_role("link", name="Password")
    expect(ways).to_have_count(0)
    page.get_by_text("Menu").click()
    expect(ways).to_be_visible()


def test_the_first_tab_leads_past_the_masthead(show: Callable[..., Page]) -> None:
    page = show(sample().replace('aria-invalid="true"', ""))
    page.keyboard.press("Tab")
    skip = page.get_by_role("link", name="Skip to the page's content")
    expect(skip).to_be_focused()
    expect(skip).to_be_in_viewport()
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_be_focused()


def test_the_first_wrong_field_has_the_focus(show: Callable[..., Page]) -> None:
    page = show(sample())
    expect(page.get_by_label("Flow", exact=True)).to_be_focused()
    assert page.get_by_label("Flow", exact=True).input_value() == "1.000"


def test_on_the_floor_every_target_is_as_high_as_a_glove_needs(show: Callable[..., Page]) -> None:
    page = show(sample(body_class="floor"), viewport={"width": 1024, "height": 768})
    heights = page.evaluate(
        """[...document.querySelectorAll(
             'main .button, main select, main input[type=text], .nav-wide a, .tabs a')]
           .map(e => [e.textContent || e.name, e.getBoundingClientRect().height])"""
    )
    assert len(heights) >= 8
    assert [name for name, height in heights if height < 56] == []


def test_the_theme_is_the_systems_until_someone_chooses_and_stays_chosen(
    show: Callable[..., Page],
) -> None:
    page = show(sample(), color_scheme="light")

    def paper() -> str:
        return str(page.evaluate("getComputedStyle(document.documentElement).backgroundColor"))

    assert paper() == "rgb(245, 243, 234)"
    page.get_by_label("Light or dark").select_option("dark")
    assert paper() == "rgb(20, 26, 26)"
    page.reload()
    assert paper() == "rgb(20, 26, 26)"
    page.get_by_label("Light or dark").select_option("system")
    assert paper() == "rgb(245, 243, 234)"


def test_a_board_that_hears_nothing_says_so_after_a_minute(show: Callable[..., Page]) -> None:
    page = show(sample().replace("data-poll hx-get", "hx-off"))
    words = page.locator("[data-stale]")
    page.clock.run_for(50_000)
    expect(words).to_have_text("")
    page.clock.run_for(20_000)
    expect(words).to_have_text("not fresh: nothing heard for 1 min")
    page.clock.run_for(120_000)
    expect(words).to_have_text("not fresh: nothing heard for 3 min")


def test_polling_keeps_a_board_fresh_shows_the_works_time_and_rests_when_paused(
    show: Callable[..., Page],
) -> None:
    polls: list[str] = []
    page = show(sample(), polls=polls)
    time = page.locator("[data-as-of] time")
    page.clock.run_for(2_500)
    expect(time).to_have_text("13:05")  # 12:05 UTC is 13:05 in Lisbon's summer
    pause = page.get_by_role("button", name="Pause refreshing")
    pause.click()
    resume = page.get_by_role("button", name="Go on refreshing")
    expect(resume).to_have_attribute("aria-pressed", "true")
    before = len(polls)
    assert before >= 1
    page.clock.run_for(70_000)
    assert len(polls) == before
    expect(page.locator("[data-stale]")).to_have_text("not fresh: nothing heard for 1 min")
    resume.click()
    page.clock.run_for(4_500)
    expect(page.locator("[data-stale]")).to_have_text("")
    assert len(polls) > before


def test_a_hidden_page_does_not_poll(show: Callable[..., Page]) -> None:
    polls: list[str] = []
    page = show(sample(), polls=polls)
    page.evaluate("Object.defineProperty(document, 'hidden', {get: () => true})")
    before = len(polls)
    page.clock.run_for(20_000)
    assert len(polls) == before


def test_a_point_of_a_chart_shows_its_figures_to_the_keyboard_and_the_pointer(
    show: Callable[..., Page],
) -> None:
    page = show(sample())
    point = page.get_by_role("img", name="Duty: Head 54.0 m at Flow 200 m³/h")
    slip = point.locator(".callout")
    expect(slip).to_be_hidden()
    point.focus()
    expect(slip).to_be_visible()
    page.locator("h1").click()
    expect(slip).to_be_hidden()
    point.locator("circle").nth(1).hover()
    expect(slip).to_be_visible()


def test_the_wall_can_be_read_from_metres_away(
    show: Callable[..., Page], axe: Callable[[Page], None]
) -> None:
    page = show(sample(WALL), viewport={"width": 1920, "height": 1080}, color_scheme="light")
    axe(page)
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(13, 18, 18)"
    sizes = page.evaluate(
        """[...document.querySelectorAll('td, tbody th')]
           .map(e => parseFloat(getComputedStyle(e).fontSize))"""
    )
    # common practice: letters a two-hundredth of the distance high; on a screen 1.2 m wide a
    # pixel is 0.63 mm, so 28 px are 17 mm, readable from 3.5 m and more
    assert sizes
    assert min(sizes) >= 28
