"""Pages of selection and works: axe-core finds nothing, at a desk's size and a phone's."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.utils import timezone
from playwright.sync_api import Page
from pytest_django.live_server_helper import LiveServer

from selection.desk import cleaned_inputs, look
from selection.models import Choice
from tests.factories.selection import frozen
from tests.factories.works import PersonFactory, SiteFactory
from works.actions import load_standards
from works.people import Group

PAGES = (
    "/selection/",
    "/selection/{study}/",
    "/selection/{study}/candidates/{key}/",
    "/selection/choices/{choice}/",
    "/selection/catalogue/",
    "/selection/catalogue/casings/new/",
    "/selection/catalogue/casings/{size}/",
    "/selection/catalogue/impellers/{impeller}/",
    "/selection/catalogue/metals/",
    "/selection/patterns/",
    "/selection/patterns/new/",
    "/works/setup/",
    "/works/setup/site/",
    "/works/people/",
    "/works/people/new/",
    "/works/standards/",
    "/works/standards/iso9906_grades/",
    "/works/history/",
)


@pytest.fixture
def choice(transactional_db: None) -> Choice:
    SiteFactory.create()
    return frozen()


@pytest.mark.slow
@pytest.mark.parametrize("width", [1280, 360])
def test_axe_finds_nothing_on_the_pages_of_selection_and_works(
    choice: Choice,
    open_page: Callable[..., Page],
    live_server: LiveServer,
    axe: Callable[[Page], None],
    client: Client,
    width: int,
) -> None:
    person = PersonFactory.create(groups=[Group.WORKS_MANAGER])
    load_standards(by=person, at=timezone.now())
    client.force_login(person)
    page = open_page(viewport={"width": width, "height": 900})
    page.context.add_cookies(
        [{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}]
    )
    names = {
        "study": choice.study_id,
        "key": look(cleaned_inputs(choice.study)).found.ranked(1)[0].key,
        "choice": choice.pk,
        "size": choice.size_id,
        "impeller": choice.impeller_id,
    }
    for address in PAGES:
        response = page.goto(address.format(**names))
        assert response is not None and response.status == 200, address
        axe(page)
