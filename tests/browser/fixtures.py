"""Chromium by Playwright: one browser a session, one context a test, strict about what it sees.

A test fails on an uncaught script error, on anything the content policy refused, and on an answer
of 500 or more, even when what it looked for was there.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, ConsoleMessage, Page, Response, WebError, sync_playwright
from pytest_django.live_server_helper import LiveServer

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PATIENCE = 30_000  # ms; the first page of a cold server on a busy machine
AXE = Path(__file__).with_name("axe.min.js")
AXE_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


def chromium() -> str:
    """The browser that `.ci/chromium` finds or installs."""
    names = [os.environ["CHROMIUM"]] if os.environ.get("CHROMIUM") else NAMES
    for name in names:
        if path := shutil.which(name):
            return path
    return pytest.fail("No Chromium is installed; `make browser` installs it or says how.")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests of this process."""
    with sync_playwright() as playwright:
        running = playwright.chromium.launch(executable_path=chromium(), args=FLAGS)
        yield running
        running.close()


@pytest.fixture
def troubles() -> Iterator[list[str]]:
    """What went wrong on the pages so far; fails the test at its end unless that is none."""
    found: list[str] = []
    yield found
    if found:
        pytest.fail("The pages gave trouble:\n" + "\n".join(found))


@pytest.fixture
def open_page(
    browser: Browser, live_server: LiveServer, troubles: list[str]
) -> Iterator[Callable[..., Page]]:
    """Opens pages on the live server, each in a context of its own.

    Takes Playwright's context options: `viewport`, `color_scheme`, `java_script_enabled`…
    """
    contexts = []

    def on_console(message: ConsoleMessage) -> None:
        if "Content Security Policy" in message.text:
            troubles.append(f"policy: {message.text}")

    def on_error(error: WebError) -> None:
        troubles.append(f"script: {error.error}")

    def on_response(response: Response) -> None:
        if response.status >= 500:
            troubles.append(f"server: {response.status} for {response.url}")

    def open_one(**options: Any) -> Page:
        context = browser.new_context(
            base_url=live_server.url, **{"locale": "en-GB", "reduced_motion": "reduce"} | options
        )
        contexts.append(context)
        context.set_default_timeout(PATIENCE)
        context.on("console", on_console)
        context.on("weberror", on_error)
        context.on("response", on_response)
        return context.new_page()

    yield open_one
    for context in contexts:
        context.close()


@pytest.fixture
def page(open_page: Callable[..., Page]) -> Page:
    """A page on the live server, the size of a desk's screen."""
    return open_page(viewport={"width": 1280, "height": 900})


@pytest.fixture
def axe() -> Callable[[Page], None]:
    """Checks a page against WCAG 2.2 A and AA as far as axe-core can."""

    def check(page: Page) -> None:
        page.evaluate(AXE.read_text())  # by the debugger, since the policy refuses a script tag
        found = page.evaluate(
            "rules => axe.run(document, {runOnly: {type: 'tag', values: rules}})", AXE_RULES
        )
        assert found["passes"], "axe-core checked nothing on this page"
        if found["violations"]:
            pytest.fail(f"axe-core on {page.url}:\n" + "\n".join(map(_told, found["violations"])))

    return check


def _told(violation: dict[str, Any]) -> str:
    places = [f"    {n['html']}\n      {n['failureSummary']}" for n in violation["nodes"]]
    return "\n".join([f"  {violation['id']} ({violation['impact']}): {violation['help']}", *places])
