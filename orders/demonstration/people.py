"""Who signs in: one person a group, with a password shown on the sign-in page."""

from dataclasses import dataclass
from datetime import datetime

from works.actions import add_person, set_up_site
from works.models import Person, Site
from works.people import Area, Group

PASSWORD = "castings-and-cores"  # shown to everybody on the sign-in page


@dataclass(frozen=True)
class Login:
    """A demonstration login."""

    username: str
    first_name: str
    last_name: str
    group: Group
    areas: tuple[Area, ...] = ()


LOGINS = (
    Login("manager", "Inês", "Tavares", Group.WORKS_MANAGER),
    Login("planner", "Duarte", "Falcão", Group.PLANNER),
    Login("engineer", "Marta", "Quiroga", Group.APPLICATION_ENGINEER),
    Login("buyer", "Rui", "Sampaio", Group.BUYER),
    Login("foundry", "Abel", "Teixeira", Group.SUPERVISOR, (Area.PATTERN_SHOP, Area.FOUNDRY)),
    Login(
        "machining",
        "Lídia",
        "Moreira",
        Group.SUPERVISOR,
        (Area.MACHINE_SHOP, Area.ASSEMBLY, Area.DISPATCH),
    ),
    Login("testbed", "Nuno", "Brandão", Group.SUPERVISOR, (Area.TEST_BED,)),
    Login("quality", "Teresa", "Vilar", Group.QUALITY_ENGINEER),
    Login("viewer", "Hugo", "Lemos", Group.VIEWER),
)


def load_site(*, at: datetime) -> Site:
    """The works itself, marked as a demonstration."""
    return set_up_site(
        name="Tamebrook Pump Works",
        place="northern Portugal",
        country="PT",
        region="",
        time_zone="Europe/Lisbon",
        tolerance_cross="either",
        is_demonstration=True,
        by=None,
        at=at,
    )


def load_people(*, at: datetime) -> dict[str, Person]:
    """Everybody, by sign-in name."""
    return {
        login.username: add_person(
            username=login.username,
            first_name=login.first_name,
            last_name=login.last_name,
            email=f"{login.username}@tamebrook.example",
            password=PASSWORD,
            groups=[login.group],
            areas=[str(area) for area in login.areas],
            by=None,
            at=at,
        )
        for login in LOGINS
    }
