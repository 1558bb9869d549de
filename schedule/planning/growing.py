"""A route grown from a template, the pump as chosen and the contract's terms.

Each operation appears or not by its conditions, once for the item or once a unit. What is left
out is stepped over: what waited for it waits for what it waited for. Growing again after a change
tells what is added and dropped, and what must be done again because what it rested on changed;
work that is done is never dropped in silence.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from schedule.planning.calendars import WorkingTime
from schedule.planning.conditions import CONDITIONS, COUNTS, DURATIONS, Facts, Terms
from schedule.planning.errors import BadTerms, UnknownOperation
from schedule.planning.network import (
    Held,
    Kind,
    Link,
    Operation,
    Problem,
    Resource,
    Route,
    WorkCentre,
)
from schedule.planning.template import Per, Step, Template, TemplateOperation
from selection.configuration import Configuration


@dataclass(frozen=True, kw_only=True)
class GrownOperation:
    """One operation of a grown route.

    key : code, unit and repetition, as in FDY-U-MOULD/2#1
    code : the template's, with the round when there are several, as in ENG-APPROVAL-R2
    row : code of the template's row it came from
    minutes : of work, or that pass [min]
    unit : from 1; None when the item shares it
    repeat : 0 at first, 1 when done again
    facts : what it rests on, as (field, value in words)
    holds : resource and the key of the operation that ends its being occupied
    """

    key: str
    code: str
    row: str
    name: str
    area: str
    work_centre: str
    kind: Step
    minutes: int
    unit: int | None
    repeat: int = 0
    pattern: str = ""
    confirmations: tuple[str, ...] = ()
    caution: str = ""
    safety_related: bool = False
    splits: bool = True
    facts: tuple[tuple[str, str], ...] = ()
    remade_with: tuple[str, ...] = ()
    holds: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class Growth:
    """A grown route: operations in the template's order, and links between them."""

    operations: tuple[GrownOperation, ...]
    links: tuple[Link, ...]

    def operation(self, key: str) -> GrownOperation:
        """The operation of a key.

        raises : UnknownOperation
        """
        for operation in self.operations:
            if operation.key == key:
                return operation
        raise UnknownOperation(key, "route")

    def problem(
        self,
        *,
        due: int,
        work_centres: Sequence[WorkCentre],
        calendars: Sequence[WorkingTime],
        unit_due: Mapping[int, int] | None = None,
        key: str = "",
    ) -> Problem:
        """The network as planning's question, for a route that is not in the database.

        due : ship-by [min]
        work_centres : by which codes are looked up, each with its calendar
        calendars : the work centres' own
        unit_due : units with their own ship-by [min]
        key : the route's name
        returns : the problem
        raises : UnknownOperation naming a work centre that is missing, and as `Problem`
        """
        places = {centre.key: i for i, centre in enumerate(work_centres)}
        resources = sorted({name for op in self.operations for name, _ in op.holds})
        operations = []
        for op in self.operations:
            worked = op.kind is Step.WORKING
            if worked and op.work_centre not in places:
                raise UnknownOperation(op.work_centre, f"work centre of {op.key}")
            place = places[op.work_centre] if worked else None
            operations.append(
                Operation(
                    key=op.key,
                    minutes=op.minutes,
                    kind=Kind.WORKING if worked else Kind.ELAPSED,
                    calendar=None if place is None else work_centres[place].calendar,
                    work_centre=place,
                    due=(unit_due or {}).get(op.unit) if op.unit is not None else None,
                    splits=op.splits,
                )
            )
        return Problem(
            operations=tuple(operations),
            links=self.links,
            calendars=tuple(calendars),
            routes=(Route(key=key, due=due),),
            work_centres=tuple(work_centres),
            resources=tuple(Resource(key=name, amount=len(self.operations)) for name in resources),
            held=tuple(
                Held(resource=resources.index(name), first=op.key, last=until)
                for op in self.operations
                for name, until in op.holds
            ),
        )


def grow(
    template: Template, configuration: Configuration | None, terms: Terms, *, units: int
) -> Growth:
    """Grow a route for an item of so many units.

    template : the table
    configuration : the pump as chosen; None for a spare without a hydraulic choice
    terms : of the contract
    units : >= 1
    returns : operations and links
    raises : BadTerms
    """
    if units < 1:
        raise BadTerms("units", units, "1 or more")
    for name in ("shelf_casings", "shelf_impellers"):
        for unit in getattr(terms, name):
            if unit > units:
                raise BadTerms(name, unit, f"a unit of the item, 1 to {units}")
    return _Growing(template, configuration, terms, units).growth()


class _Growing:
    """One growing: which operations there are, then who waits for whom."""

    def __init__(
        self, template: Template, configuration: Configuration | None, terms: Terms, units: int
    ) -> None:
        self.template = template
        self.configuration = configuration
        self.terms = terms
        self.units = tuple(range(1, units + 1))
        self.rows = {row.code: row for row in template.operations}
        self.rounds: dict[tuple[str, int | None], int] = {}
        for row in template.operations:
            for unit in self._units(row):
                self.rounds[row.code, unit] = self._count(row, unit)

    def growth(self) -> Growth:
        operations = []
        lags: dict[tuple[str, str], int] = {}
        for row in self.template.operations:
            previous: str | None = None
            for unit in self._units(row):
                count = self.rounds[row.code, unit]
                keys = [key_of(_code(row.code, n), unit, 0) for n in range(1, count + 1)]
                for n, key in enumerate(keys, 1):
                    operations.append(self._operation(row, unit, key, n))
                    if n > 1:
                        lags[keys[n - 2], key] = 0
                if not keys:
                    continue
                for before, lag in self._waits_for(row, unit):
                    lags[before, keys[0]] = max(lag, lags.get((before, keys[0]), 0))
                if row.pattern and previous is not None:
                    lags.setdefault((previous, keys[0]), 0)
                previous = keys[-1]
        links = [Link(before=b, after=a, lag_minutes=lag) for (b, a), lag in lags.items()]
        return Growth(tuple(operations), tuple(links))

    def _units(self, row: TemplateOperation) -> tuple[int | None, ...]:
        return self.units if row.per is Per.UNIT else (None,)

    def _count(self, row: TemplateOperation, unit: int | None) -> int:
        facts = Facts(self.configuration, self.terms, unit)
        if not all(CONDITIONS[name](facts) for name in row.only_when):
            return 0
        return COUNTS[row.repeats](facts) if row.repeats else 1

    def _operation(
        self, row: TemplateOperation, unit: int | None, key: str, number: int
    ) -> GrownOperation:
        facts = Facts(self.configuration, self.terms, unit)
        minutes = row.minutes if row.minutes is not None else DURATIONS[row.duration](facts)
        return GrownOperation(
            key=key,
            code=_code(row.code, number),
            row=row.code,
            name=row.name if number == 1 else f"{row.name}, round {number}",
            area=row.area,
            work_centre=row.work_centre,
            kind=row.kind,
            minutes=minutes,
            unit=unit,
            pattern=row.pattern,
            confirmations=row.confirmations,
            caution=row.caution,
            safety_related=row.safety_related,
            splits=row.splits,
            facts=tuple((name, self._fact(name)) for name in row.depends_on),
            remade_with=row.remade_with,
            holds=tuple(
                (hold.resource, until)
                for hold in row.holds
                for until in self._last(self.rows[hold.until], unit)
            ),
        )

    def _fact(self, name: str) -> str:
        if self.configuration is not None and hasattr(self.configuration, name):
            return str(getattr(self.configuration, name))
        return str(getattr(self.terms, name, ""))

    def _last(self, row: TemplateOperation, unit: int | None) -> Iterator[str]:
        """Keys of a row's last round, for one unit or, when it is shared, for the item."""
        of = unit if row.per is Per.UNIT else None
        if count := self.rounds.get((row.code, of), 0):
            yield key_of(_code(row.code, count), of, 0)

    def _waits_for(self, row: TemplateOperation, unit: int | None) -> Iterator[tuple[str, int]]:
        """What an operation waits for, stepping over what is left out.

        A lag belongs to the operation before it (paint that cures), so the lag behind a left-out
        operation goes with it and the lag in front of it stays.
        """
        for after in row.after:
            before = self.rows[after.code]
            if before.per is Per.ITEM:
                of: tuple[int | None, ...] = (None,)
            else:
                of = self.units if unit is None else (unit,)
            for its in of:
                found = tuple(self._last(before, its))
                if found:
                    yield found[0], after.lag_minutes
                else:
                    yield from self._waits_for(before, its)


def _code(code: str, number: int) -> str:
    return code if number == 1 else f"{code}-R{number}"


def key_of(code: str, unit: int | None, repeat: int) -> str:
    """An operation's key, as in FDY-U-MOULD/2#1."""
    key = code if unit is None else f"{code}/{unit}"
    return key if repeat == 0 else f"{key}#{repeat}"
