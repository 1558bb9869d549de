"""Who may do what: the groups of the house and one check used by every action."""

from typing import TYPE_CHECKING

from django.db.models import TextChoices

from works.errors import NotAllowed

if TYPE_CHECKING:
    from works.models import Person


class Group(TextChoices):
    """The house's groups; a person may be in several."""

    WORKS_MANAGER = "works manager"
    PLANNER = "planner"
    APPLICATION_ENGINEER = "application engineer"
    BUYER = "buyer"
    SUPERVISOR = "supervisor"
    QUALITY_ENGINEER = "quality engineer"
    VIEWER = "viewer"


class Area(TextChoices):
    """The areas of the works that a route passes through."""

    ENGINEERING = "engineering"
    BUYING = "buying"
    PATTERN_SHOP = "pattern shop"
    FOUNDRY = "foundry"
    MACHINE_SHOP = "machine shop"
    ASSEMBLY = "assembly"
    TEST_BED = "test bed"
    DISPATCH = "dispatch"
    OUTSIDE = "outside"


def may(person: "Person | None", *groups: Group) -> bool:
    """True when the person is in one of the groups; a works manager is in all but viewer."""
    if person is None or not person.is_active:
        return False
    return bool(person.group_names & {*groups, Group.WORKS_MANAGER})


def require(person: "Person | None", *groups: Group, deed: str) -> None:
    """Refuse the deed unless the person is in one of the groups.

    raises : NotAllowed, naming the person, the deed and the groups that may
    """
    if not may(person, *groups):
        raise NotAllowed(
            person=str(person or ""),
            deed=deed,
            groups=tuple(dict.fromkeys([*(str(group) for group in groups), Group.WORKS_MANAGER])),
        )


def require_area(person: "Person | None", area: str, *, deed: str) -> None:
    """Refuse unless the person is a planner, or a supervisor of that area."""
    if may(person, Group.PLANNER):
        return
    if person and may(person, Group.SUPERVISOR) and (not person.areas or area in person.areas):
        return
    raise NotAllowed(
        person=str(person or ""),
        deed=deed,
        groups=(f"supervisor of the {area}", Group.PLANNER, Group.WORKS_MANAGER),
    )
