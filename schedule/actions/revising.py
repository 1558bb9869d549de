"""What a revision does to a route's rows: the difference the pure package found, written down."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import connection
from django.db.models import Q

from schedule.actions.forecast import reforecast
from schedule.errors import BadFigure, RouteCannotGrow
from schedule.facts import Fact
from schedule.models import (
    BoughtOut,
    Gate,
    Link,
    Operation,
    Piece,
    Route,
    RouteRevision,
    Unit,
    WorkCentre,
)
from schedule.planning import network
from schedule.planning.growing import GrownOperation, key_of
from schedule.planning.regrowing import Difference
from schedule.queries.growths import grown_fields, key
from works.events import record
from works.models import Person
from works.people import Area

COLUMNS = (
    "name",
    "area",
    "kind",
    "work_centre",
    "minutes",
    "safety_related",
    "splits",
    "confirmations",
    "caution",
    "grown",
)


@dataclass(frozen=True)
class Touched:
    """An operation that a revision touches."""

    pk: int
    code: str
    name: str
    area: str
    unit: int | None
    state: str
    because: str = ""


@dataclass(frozen=True)
class Regrown:
    """What a revision of a route does, or would do.

    added, dropped : operations not there before, and no longer called for
    superseded : no longer called for, but begun: they stay on the record
    repeated : (done work, what does it again)
    gates : (gate on the done work, gate on what does it again), by primary key
    castings : pieces in the units whose foundry work is repeated
    bought_outs : ordered things that are dropped, superseded or bought again
    """

    route_id: int
    revision: int
    added: tuple[Touched, ...]
    dropped: tuple[Touched, ...]
    superseded: tuple[Touched, ...]
    repeated: tuple[tuple[Touched, Touched], ...]
    gates: tuple[tuple[int, int], ...]
    castings: tuple[str, ...]
    bought_outs: tuple[str, ...]
    ship_at_before: datetime | None
    ship_at: datetime | None
    days_in_hand_before: float | None
    days_in_hand: float | None
    trouble: str = ""

    @property
    def changes_nothing(self) -> bool:
        return not (self.added or self.dropped or self.superseded or self.repeated)


def revise(
    route: Route,
    rows: Sequence[Operation],
    found: Difference,
    *,
    reason: str,
    by: Person | None,
    at: datetime,
) -> Regrown:
    """Write a difference down as the route's next revision.

    rows : all the route's operations, locked
    raises : RouteCannotGrow for a work centre that is missing, BadFigure
    """
    before = (route.forecast_ship_at, route.days_in_hand)
    route.revision += 1
    final = _final(found)
    centres = work_centres(final.values(), route.label)
    units = _units(route)
    there = {key(row): row for row in rows}
    fresh, revived = [], []
    changed: list[Operation] = []
    places: dict[int, int] = {}
    for position, operation in enumerate(final.values()):
        row = there.get(operation.key)
        if row is None:
            fresh.append(new_row(route, operation, units, centres, position))
            continue
        if row.dropped_in is not None:
            row.dropped_in = None
            revived.append(row)
        places[row.pk] = position
        if row.started_at is None:
            changed += _overwrite(row, columns(operation, centres))
    gone = [row for row in rows if row.dropped_in is None and key(row) not in final]
    for row in gone:
        row.dropped_in = route.revision
    Operation.objects.bulk_update([*gone, *revived], ["dropped_in"])
    Operation.objects.bulk_update(changed, COLUMNS, batch_size=100)
    _put(places)
    Link.objects.filter(Q(before__route=route) | Q(after__route=route)).delete()
    made = insert(fresh, found.growth.links, there)
    by_key = {**there, **{key(row): row for row in made}}
    pairs = [(by_key[one.key], by_key[one.again], one.because) for one in found.repeated]
    gates = _gates(gone, pairs, at)
    repeated = tuple((_touched(old), _touched(new, because)) for old, new, because in pairs)
    again = {old.pk for old, _ in repeated}
    dropped = [row for row in gone if row.started_at is None]
    superseded = [row for row in gone if row.started_at is not None and row.pk not in again]
    added = [row for row in [*made, *revived] if row.pk not in {new.pk for _, new in repeated}]
    castings, bought = _lost(gone)
    difference = {
        "added": [row.pk for row in added],
        "dropped": [row.pk for row in dropped],
        "superseded": [row.pk for row in superseded],
        "repeated": [[old.pk, new.pk, new.because] for old, new in repeated],
        "gates": [list(pair) for pair in gates],
        "castings": list(castings),
        "bought_outs": list(bought),
    }
    route.save(update_fields=["revision"])
    RouteRevision.objects.create(
        route=route, number=route.revision, reason=reason[:300], difference=difference, by=by, at=at
    )
    record(
        Fact.ROUTE_REGROWN,
        about=route,
        by=by,
        at=at,
        before={"revision": route.revision - 1},
        after={"route": route.pk, "revision": route.revision, "reason": reason, **difference},
    )
    reforecast(route_ids=[route.pk], now=at)
    route.refresh_from_db()
    return Regrown(
        route_id=route.pk,
        revision=route.revision,
        added=tuple(map(_touched, added)),
        dropped=tuple(map(_touched, dropped)),
        superseded=tuple(map(_touched, superseded)),
        repeated=repeated,
        gates=gates,
        castings=castings,
        bought_outs=bought,
        ship_at_before=before[0],
        ship_at=route.forecast_ship_at,
        days_in_hand_before=before[1],
        days_in_hand=route.days_in_hand,
        trouble=route.forecast_trouble,
    )


def _overwrite(row: Operation, values: Mapping[str, Any]) -> list[Operation]:
    """Take over what growing again says; the row, if anything is different now."""
    before = {name: getattr(row, name) for name in values}
    if before == dict(values):
        return []
    for name, value in values.items():
        setattr(row, name, value)
    return [row]


def _put(places: Mapping[int, int]) -> None:
    """Renumber operations along the route in one statement."""
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE schedule_operation AS o SET position = n.position"
            " FROM unnest(%s::bigint[], %s::int[]) AS n(id, position)"
            " WHERE o.id = n.id AND o.position <> n.position",
            [list(places), list(places.values())],
        )


def _final(found: Difference) -> dict[str, GrownOperation]:
    """The operations of the route from now on, without what is only on the record."""
    latest: dict[str, GrownOperation] = {}
    for operation in found.growth.operations:
        name = key_of(operation.code, operation.unit, 0)
        if name not in latest or latest[name].repeat < operation.repeat:
            latest[name] = operation
    gone = set(found.superseded)
    return {operation.key: operation for operation in latest.values() if operation.key not in gone}


def _units(route: Route) -> dict[int, Unit]:
    """The route's units, brought to its quantity; the highest numbers go first.

    raises : BadFigure when one that has shipped would go
    """
    units = {unit.number: unit for unit in route.units.all()}
    for number, unit in units.items():
        dropped = number > route.quantity
        if dropped and unit.shipped_on is not None:
            right = f"at least {number}, since unit {number} has shipped"
            raise BadFigure(field="The quantity", value=route.quantity, right=right)
        if dropped != (unit.dropped_in is not None):
            unit.dropped_in = route.revision if dropped else None
            unit.save(update_fields=["dropped_in"])
    missing = [n for n in range(1, route.quantity + 1) if n not in units]
    for unit in Unit.objects.bulk_create(Unit(route=route, number=n) for n in missing):
        units[unit.number] = unit
    return units


def _gates(
    gone: Sequence[Operation], pairs: Sequence[tuple[Operation, Operation, str]], at: datetime
) -> tuple[tuple[int, int], ...]:
    """Repeated work is held again as the first time; holds on what is gone hold nothing more."""
    again = {old.pk: new for old, new, _ in pairs}
    olds = list(Gate.objects.filter(operation_id__in=again, withdrawn_at=None).order_by("pk"))
    made = Gate.objects.bulk_create(
        Gate(
            operation=again[old.operation_id],
            timing=old.timing,
            reason=old.reason,
            notice_days=old.notice_days,
            calendar_id=old.calendar_id,
            never_at_risk=old.never_at_risk,
            repeats=old,
        )
        for old in olds
    )
    Gate.objects.open().filter(operation__in=gone).update(withdrawn_at=at)
    return tuple((old.pk, new.pk) for old, new in zip(olds, made, strict=True))


def _lost(gone: Sequence[Operation]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Castings of units whose foundry work is gone or repeated, and ordered things likewise."""
    units = {
        row.unit_id
        for row in gone
        if row.area == Area.FOUNDRY and row.started_at is not None and row.unit_id is not None
    }
    castings = Piece.objects.filter(unit_id__in=units, state=Piece.State.TAKEN)
    bought = BoughtOut.objects.filter(operation__in=gone, ordered_on__isnull=False)
    return (
        tuple(castings.order_by("mark").values_list("mark", flat=True)),
        tuple(bought.order_by("pk").values_list("item", flat=True)),
    )


def _touched(row: Operation, because: str = "") -> Touched:
    number = row.unit.number if row.unit else None
    return Touched(row.pk, row.code, row.name, row.area, number, row.state, because)


def work_centres(operations: Iterable[GrownOperation], label: str) -> dict[str, WorkCentre]:
    wanted = {operation.work_centre for operation in operations if operation.work_centre}
    found = {centre.code: centre for centre in WorkCentre.objects.filter(code__in=wanted)}
    if missing := sorted(wanted - found.keys()):
        raise RouteCannotGrow(
            label=label, why=f"Add the work centres {', '.join(missing)}, which its template names."
        )
    return found


def all_rows(route: Route) -> list[Operation]:
    """Every operation the route ever had, locked, in its order."""
    return list(
        route.operations.select_for_update(of=("self",))
        .select_related("unit", "work_centre")
        .order_by("position", "repeat", "pk")
    )


def kept(rows: Iterable[Operation]) -> list[Operation]:
    """Live operations, and those no longer called for that were begun."""
    return [row for row in rows if row.dropped_in is None or row.started_at is not None]


def done(operations: Iterable[Operation]) -> list[str]:
    return [key(operation) for operation in operations if operation.started_at is not None]


def new_row(
    route: Route,
    operation: GrownOperation,
    units: Mapping[int, Unit],
    centres: Mapping[str, WorkCentre],
    position: int,
) -> Operation:
    return Operation(
        route=route,
        unit=None if operation.unit is None else units[operation.unit],
        code=operation.code,
        repeat=operation.repeat,
        added_in=route.revision,
        position=position,
        **columns(operation, centres),
    )


def columns(operation: GrownOperation, centres: Mapping[str, WorkCentre]) -> dict[str, Any]:
    again = "" if operation.repeat == 0 else f", again ({operation.repeat})"
    name = operation.name.partition(", again (")[0]
    return {
        "name": f"{name}{again}"[:100],
        "area": operation.area,
        "kind": Operation.Kind(operation.kind.value),
        "work_centre": centres[operation.work_centre] if operation.work_centre else None,
        "minutes": operation.minutes,
        "safety_related": operation.safety_related,
        "splits": operation.splits,
        "confirmations": list(operation.confirmations),
        "caution": operation.caution,
        "grown": grown_fields(operation),
    }


def insert(
    rows: Collection[Operation],
    links: Iterable[network.Link],
    there: Mapping[str, Operation],
) -> list[Operation]:
    """Put new operations, all links, and the things to buy into the database."""
    made = Operation.objects.bulk_create(rows)
    by_key = {**there, **{key(operation): operation for operation in made}}
    Link.objects.bulk_create(
        Link(before=by_key[link.before], after=by_key[link.after], lag_minutes=link.lag_minutes)
        for link in links
    )
    BoughtOut.objects.bulk_create(
        BoughtOut(operation=operation, item=operation.name)
        for operation in made
        if operation.kind == Operation.Kind.BOUGHT_OUT
    )
    return made
