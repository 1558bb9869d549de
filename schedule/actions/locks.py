"""One order of locking for every deed: routes first, by number, so that no two wait in a ring."""

from collections.abc import Collection

from schedule.errors import NoSuchThing
from schedule.models import Operation, Route


def lock_routes(ids: Collection[int]) -> dict[int, Route]:
    """Lock routes until the transaction ends.

    raises : NoSuchThing
    """
    wanted = set(ids)
    found = {
        route.pk: route
        for route in Route.objects.select_for_update().filter(pk__in=wanted).order_by("pk")
    }
    if missing := wanted - found.keys():
        raise NoSuchThing(what="route", key=min(missing))
    return found


def lock_route(pk: int) -> Route:
    """Lock one route.

    raises : NoSuchThing
    """
    return lock_routes({pk})[pk]


def lock_operations(ids: Collection[int]) -> list[Operation]:
    """Lock operations and, before them, their routes; in the order of the route.

    raises : NoSuchThing
    """
    wanted = set(ids)
    of = dict(Operation.objects.filter(pk__in=wanted).values_list("pk", "route_id"))
    if missing := wanted - of.keys():
        raise NoSuchThing(what="operation", key=min(missing))
    routes = lock_routes(set(of.values()))
    operations = list(
        Operation.objects.select_for_update(of=("self",))
        .select_related("unit", "work_centre")
        .filter(pk__in=wanted)
        .order_by("route_id", "position", "pk")
    )
    for operation in operations:
        operation.route = routes[operation.route_id]
    return operations
