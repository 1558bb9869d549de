"""What a change touches: told before anybody accepts it, and kept with the change as data."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from typing import Any


@dataclass(frozen=True)
class Step:
    """An operation that a change touches.

    because : of a repeated one, what it rested on that changed
    """

    code: str
    name: str
    area: str
    unit: int | None
    state: str = ""
    because: str = ""

    def __str__(self) -> str:
        return f"{self.name}, unit {self.unit}" if self.unit is not None else self.name


@dataclass(frozen=True)
class Casting:
    """A casting poured already that the unit no longer uses: it goes to the shelf."""

    mark: str
    part: str
    heat: str
    unit: str


@dataclass(frozen=True)
class Bought:
    """Something ordered already that is no longer wanted as it was ordered."""

    item: str
    supplier: str
    ordered_on: str


@dataclass(frozen=True)
class Inspection:
    """A point of the inspection plan."""

    code: str
    characteristic: str
    operation: str
    unit: int | None


@dataclass(frozen=True)
class Told:
    """The same thing on several units, told once.

    units : their numbers; none when the units share it
    """

    what: str
    where: str
    units: tuple[int, ...]
    because: str = ""

    def __str__(self) -> str:
        if not self.units:
            return self.what
        word = "unit" if len(self.units) == 1 else "units"
        return f"{self.what}, {word} {', '.join(str(unit) for unit in self.units)}"


def told(rows: Sequence[Step | Inspection]) -> tuple[Told, ...]:
    """Rows of units put together, in the order of the first of each.

    That work is done again only because it follows other work needs no telling.
    """
    found: dict[tuple[str, str, str], list[int]] = {}
    for row in rows:
        if isinstance(row, Step):
            because = "" if row.because.startswith("follows ") else row.because
            key = (row.name, row.area, because)
        else:
            key = (row.characteristic, row.operation, "")
        units = found.setdefault(key, [])
        if row.unit is not None:
            units.append(row.unit)
    return tuple(
        Told(what, where, tuple(sorted(units)), because)
        for (what, where, because), units in found.items()
    )


@dataclass(frozen=True)
class Standing:
    """Where an item's route stands.

    ship_by, ship_on : ISO days, due and forecast; ship_on is empty without a forecast
    trouble : why there is no forecast
    """

    ship_by: str
    ship_on: str
    days_in_hand: float | None
    trouble: str = ""


@dataclass(frozen=True, kw_only=True)
class ItemEffect:
    """What the change does to one item.

    superseded : no longer called for, but begun: they stay on the record
    before, after : the forecasts, reckoned at one moment
    """

    item: int
    before: Standing
    after: Standing
    added: tuple[Step, ...] = ()
    dropped: tuple[Step, ...] = ()
    superseded: tuple[Step, ...] = ()
    repeated: tuple[Step, ...] = ()
    castings: tuple[Casting, ...] = ()
    bought: tuple[Bought, ...] = ()
    inspections_added: tuple[Inspection, ...] = ()
    inspections_dropped: tuple[Inspection, ...] = ()
    inspections_changed: tuple[Inspection, ...] = ()

    @property
    def pattern_work(self) -> tuple[Step, ...]:
        """What the pattern shop must do that it would not have had to do."""
        return tuple(step for step in (*self.added, *self.repeated) if step.area == "pattern shop")

    @property
    def operations(self) -> tuple[tuple[str, tuple[Told, ...], int], ...]:
        """What becomes of operations, in words: title, lines, and how many operations."""
        lists = (
            ("Done work to be done again", self.repeated),
            ("Begun or done, and no longer called for", self.superseded),
            ("Operations added", self.added),
            ("Operations dropped", self.dropped),
        )
        return tuple((title, told(rows), len(rows)) for title, rows in lists if rows)

    @property
    def inspections(self) -> tuple[tuple[str, tuple[Told, ...], int], ...]:
        """What becomes of inspections, likewise."""
        lists = (
            ("Inspections added", self.inspections_added),
            ("Inspections dropped", self.inspections_dropped),
            ("Inspections changed", self.inspections_changed),
        )
        return tuple((title, told(rows), len(rows)) for title, rows in lists if rows)

    @property
    def touches(self) -> tuple[Any, ...]:
        """What was shown to whoever decides; the forecast moves by itself and is left out."""
        return tuple(sorted(_identity(row) for row in getattr(self, name)) for name in TOUCHED)

    @property
    def touches_nothing(self) -> bool:
        return not any(getattr(self, name) for name in TOUCHED)


TOUCHED = (
    "added",
    "dropped",
    "superseded",
    "repeated",
    "castings",
    "bought",
    "inspections_added",
    "inspections_dropped",
    "inspections_changed",
)
ROWS: dict[str, type] = {
    "added": Step,
    "dropped": Step,
    "superseded": Step,
    "repeated": Step,
    "castings": Casting,
    "bought": Bought,
    "inspections_added": Inspection,
    "inspections_dropped": Inspection,
    "inspections_changed": Inspection,
}


@dataclass(frozen=True)
class Effect:
    """What a change does to the order."""

    items: tuple[ItemEffect, ...] = ()
    on_site_before: str = ""
    on_site: str = ""

    def as_data(self) -> dict[str, Any]:
        """Plain values, to be kept as JSON."""
        return asdict(self)

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> "Effect":
        """Read back what `as_data` wrote."""
        return cls(
            items=tuple(_item(row) for row in data.get("items", ())),
            on_site_before=data.get("on_site_before", ""),
            on_site=data.get("on_site", ""),
        )

    @property
    def touches(self) -> tuple[Any, ...]:
        return tuple((item.item, *item.touches) for item in self.items)


def _identity(row: Any) -> tuple[str, ...]:
    return tuple(str(getattr(row, each.name)) for each in fields(row))


def _item(row: Mapping[str, Any]) -> ItemEffect:
    values = dict(row)
    values["before"], values["after"] = Standing(**row["before"]), Standing(**row["after"])
    for name, kind in ROWS.items():
        values[name] = tuple(kind(**each) for each in row.get(name, ()))
    return ItemEffect(**values)


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What a change asks for; None leaves a thing as it is.

    choice_id : another frozen choice of the item's study: metal, seal, flange, impeller
    promised_on : on site; the whole order's
    contract : terms as data; the whole order's
    shelf_casings, shelf_impellers : numbers of the units whose castings come from the shelf
    spare_for : of a spares item
    """

    choice_id: int | None = None
    quantity: int | None = None
    promised_on: str | None = None
    contract: dict[str, Any] | None = None
    shelf_casings: tuple[int, ...] | None = None
    shelf_impellers: tuple[int, ...] | None = None
    spare_for: dict[str, str] | None = None

    def as_data(self) -> dict[str, Any]:
        return {
            name: list(value) if isinstance(value, tuple) else value
            for name, value in asdict(self).items()
            if value is not None
        }

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> "Wanted":
        values: dict[str, Any] = {
            name: tuple(value) if isinstance(value, list) else value for name, value in data.items()
        }
        return cls(**values)

    @property
    def whole_order(self) -> bool:
        """Whether it touches every item of the order."""
        return self.promised_on is not None or self.contract is not None
