"""Who may do what."""

import pytest

from tests.factories.works import PersonFactory, person
from works.errors import NotAllowed
from works.people import Area, Group, may, require, require_area

pytestmark = pytest.mark.django_db


def test_a_works_manager_may_do_what_any_group_may() -> None:
    manager = person(Group.WORKS_MANAGER)
    for group in Group:
        require(manager, group, deed="do it")


def test_a_viewer_may_look_only() -> None:
    viewer = person(Group.VIEWER)
    for group in set(Group) - {Group.VIEWER}:
        assert not may(viewer, group)


def test_nobody_and_somebody_who_left_may_do_nothing() -> None:
    left = PersonFactory.create(groups=[Group.PLANNER], is_active=False)
    assert not may(None, Group.PLANNER)
    assert not may(left, Group.PLANNER)


def test_the_account_that_sets_the_works_up_is_a_works_manager() -> None:
    assert may(PersonFactory.create(is_superuser=True), Group.PLANNER)


def test_a_refusal_names_the_person_the_deed_and_who_may() -> None:
    buyer = person(Group.BUYER)
    with pytest.raises(NotAllowed) as refused:
        require(buyer, Group.APPLICATION_ENGINEER, deed="freeze a choice")
    assert str(refused.value) == (
        f"{buyer} may not freeze a choice: that needs application engineer or works manager."
    )
    assert refused.value.status == 403


def test_a_supervisor_answers_for_the_areas_named_or_for_all_when_none_is() -> None:
    founder = person(Group.SUPERVISOR, areas=("foundry",))
    require_area(founder, Area.FOUNDRY, deed="report")
    with pytest.raises(NotAllowed, match="supervisor of the test bed or planner"):
        require_area(founder, Area.TEST_BED, deed="report")
    require_area(person(Group.SUPERVISOR), Area.TEST_BED, deed="report")
    require_area(person(Group.PLANNER), Area.TEST_BED, deed="report")


@pytest.mark.parametrize("group", [Group.VIEWER, Group.BUYER, Group.QUALITY_ENGINEER])
def test_others_answer_for_no_area(group: Group) -> None:
    with pytest.raises(NotAllowed):
        require_area(person(group), Area.FOUNDRY, deed="report")
    with pytest.raises(NotAllowed, match="Nobody signed in may not report"):
        require_area(None, Area.FOUNDRY, deed="report")
