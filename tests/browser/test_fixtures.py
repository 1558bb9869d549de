"""The browser fixtures see what a person would not notice."""

from collections.abc import Callable

import pytest
from playwright.sync_api import Page


def test_the_sign_in_page_opens_and_axe_finds_nothing(
    page: Page, axe: Callable[[Page], None]
) -> None:
    answer = page.goto("/accounts/login/")
    assert answer is not None
    assert answer.status == 200
    axe(page)


def test_a_script_error_is_seen(page: Page, troubles: list[str]) -> None:
    page.goto("/accounts/login/")
    page.evaluate("setTimeout(() => { throw new Error('no water in the sump') })")
    page.wait_for_timeout(200)
    assert ["no water in the sump" in trouble for trouble in troubles] == [True]
    troubles.clear()


def test_what_the_policy_refuses_is_seen(page: Page, troubles: list[str]) -> None:
    page.goto("/accounts/login/")
    page.evaluate("document.body.insertAdjacentHTML('beforeend', '<p style=\"color: red\">')")
    page.wait_for_timeout(200)
    assert {trouble.split(":")[0] for trouble in troubles} == {"policy"}
    troubles.clear()


def test_axe_finds_a_picture_without_words(page: Page, axe: Callable[[Page], None]) -> None:
    page.goto("/accounts/login/")
    page.evaluate("document.body.insertAdjacentHTML('beforeend', '<img src=\"data:,\">')")
    with pytest.raises(pytest.fail.Exception, match="image-alt"):
        axe(page)


def test_a_page_without_scripts_can_be_opened(open_page: Callable[..., Page]) -> None:
    page = open_page(java_script_enabled=False)
    page.goto("/accounts/login/")
    assert page.get_by_role("button").count() >= 1
