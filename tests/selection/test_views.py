"""The desk's pages: page and part, strangers, bad input with nothing typed lost."""

import pytest
from django.test import Client
from django.urls import reverse

from selection.models import Study
from tests.factories.selection import LEAD_DUTY, ImpellerFactory, StudyFactory
from tests.factories.works import PersonFactory, SiteFactory
from works.people import Group

pytestmark = pytest.mark.django_db


@pytest.fixture
def study(client: Client) -> Study:
    SiteFactory.create()
    ImpellerFactory.create()
    client.force_login(PersonFactory.create(groups=[Group.APPLICATION_ENGINEER]))
    return StudyFactory.create()


def typed(study: Study, **changes: str) -> dict[str, object]:
    return {**LEAD_DUTY, "version": str(study.version), **{k: [v] for k, v in changes.items()}}


def test_the_desk_shows_the_chart_and_the_candidates(client: Client, study: Study) -> None:
    page = client.get(study.get_absolute_url()).content.decode()
    assert "<svg" in page
    assert "Candidates" in page


def test_htmx_gets_the_answer_alone(client: Client, study: Study) -> None:
    answer = client.post(
        study.get_absolute_url(), typed(study), headers={"HX-Request": "true"}
    ).content.decode()
    assert "<html" not in answer
    assert "Candidates" in answer


def test_a_stranger_is_sent_to_sign_in(client: Client, study: Study) -> None:
    client.logout()
    assert client.get(study.get_absolute_url()).status_code == 302


@pytest.mark.parametrize(
    ("field", "figure", "said"),
    [
        ("head", "-5", "more than 0"),
        ("flow", "1.000", "two ways"),
        ("flow", "much", "no figure"),
        ("temperature", "-40", "or more"),
        ("static_low", "500", "cannot exceed"),
        ("second_head", "", "at least this point"),
        ("flow_unit", "psi", "unit"),
    ],
)
def test_a_duty_that_cannot_be_is_refused_and_stays_as_typed(
    client: Client, study: Study, field: str, figure: str, said: str
) -> None:
    response = client.post(study.get_absolute_url(), typed(study, **{field: figure, "keep": "1"}))
    page = response.content.decode()
    assert response.status_code == 422
    assert said in page
    assert 'value="540"' in page or field == "flow"


def test_a_duty_beyond_every_curve_lists_what_came_nearest(client: Client, study: Study) -> None:
    page = client.post(
        study.get_absolute_url(),
        typed(study, head="240", second_head="240"),
        headers={"HX-Request": "true"},
    ).content.decode()
    assert "Rejected" in page
    assert "curve" in page


def test_every_page_of_the_catalogue_opens(client: Client, study: Study) -> None:
    for name in ("studies", "catalogue", "patterns", "metals", "new_size", "new_pattern"):
        assert client.get(reverse(f"selection:{name}")).status_code == 200, name
