"""The smallest valid site and people."""

from typing import Any

import factory
from django.contrib.auth.models import Group as AuthGroup

from works.models import Person, Site
from works.people import Group


class SiteFactory(factory.django.DjangoModelFactory[Site]):
    class Meta:
        model = Site
        django_get_or_create = ("only",)

    only = True
    name = "Tamebrook Pump Works"
    country = "PT"
    time_zone = "Europe/Lisbon"


class PersonFactory(factory.django.DjangoModelFactory[Person]):
    """`PersonFactory.create(groups=[Group.PLANNER])` is in that group already."""

    class Meta:
        model = Person
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"floor{n}")
    first_name = "Ana"
    last_name = factory.Sequence(lambda n: f"Moreira {n}")

    @factory.post_generation
    def groups(self, create: bool, extracted: Any, **_: Any) -> None:
        names = [Group(group).value for group in extracted or ()]
        self.groups.add(*(AuthGroup.objects.get_or_create(name=name)[0] for name in names))


def person(*groups: Group, areas: tuple[str, ...] = ()) -> Person:
    """Somebody in some groups, answering for some areas."""
    return PersonFactory.create(groups=groups, areas=list(areas))
