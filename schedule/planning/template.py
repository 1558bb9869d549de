"""Route templates: tables of operations that an item may need, kept as CSV beside this file.

Durations are planning defaults, common practice, for the planner to replace by the works' own.
A column's words: durations `8 h` are worked, `10 d` pass; `after` lists codes, each with a lag if
any, as in `FDY-U-PRIME-2+0.7 d`; `holds` names what stays occupied and until which operation is
finished, as in `moulding floor>FDY-U-KNOCKOUT`.
"""

import csv
import io
import re
from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from importlib import resources
from typing import Any

from schedule.planning.calendars import DAY_MINUTES
from schedule.planning.conditions import CONDITIONS, COUNTS, DURATIONS, Terms
from schedule.planning.errors import BadTemplate
from selection.configuration import Configuration

STANDARD = ("pump", "spares_impeller", "spares_shaft")
AREAS = (
    "engineering",
    "buying",
    "pattern shop",
    "foundry",
    "machine shop",
    "assembly",
    "test bed",
    "dispatch",
    "outside",
)
CONFIRMATIONS = (
    "drawing revision",
    "pattern",
    "core boxes",
    "drilling template",
    "half-pair",
    "rotation",
    "heat",
)
FACTS = frozenset(field.name for of in (Configuration, Terms) for field in fields(of))


class Step(StrEnum):
    """What kind of time an operation takes."""

    WORKING = "working"
    ELAPSED = "elapsed"
    BOUGHT_OUT = "bought-out"
    APPROVAL = "approval"


class Per(StrEnum):
    """Whether the item's units share an operation."""

    ITEM = "item"
    UNIT = "unit"


@dataclass(frozen=True)
class After:
    """A predecessor's code and the time that must pass in between [min]."""

    code: str
    lag_minutes: int = 0


@dataclass(frozen=True)
class Hold:
    """Something that stays occupied from this operation until another is finished."""

    resource: str
    until: str


@dataclass(frozen=True, kw_only=True)
class TemplateOperation:
    """One row of a template.

    code : its name in the template, in capitals
    work_centre : code; "" when no place is taken
    minutes : worked or passing; None when `duration` names an entry of DURATIONS [min]
    per : shared by the item or done for each unit
    after : what it waits for; what is left out by its condition is stepped over
    only_when : names in CONDITIONS, all of which must hold
    repeats : name in COUNTS; "" for once
    pattern : units follow one another at this operation because they share it; "" for none
    depends_on : fields of the configuration or terms; when one changes, done work is repeated
    remade_with : when the work of one of these must be done again, so must this
    confirmations : compared at the start
    caution : key of the caution shown
    safety_related : a person confirms that passing time is over
    splits : may be left overnight
    """

    code: str
    name: str
    area: str
    work_centre: str = ""
    kind: Step = Step.WORKING
    minutes: int | None = None
    duration: str = ""
    per: Per = Per.ITEM
    after: tuple[After, ...] = ()
    only_when: tuple[str, ...] = ()
    repeats: str = ""
    pattern: str = ""
    depends_on: tuple[str, ...] = ()
    remade_with: tuple[str, ...] = ()
    confirmations: tuple[str, ...] = ()
    caution: str = ""
    safety_related: bool = False
    splits: bool = True
    holds: tuple[Hold, ...] = ()

    def as_json(self) -> dict[str, object]:
        """Its fields, ready for JSON."""
        return asdict(self)

    @classmethod
    def from_json(cls, row: Mapping[str, Any]) -> "TemplateOperation":
        """Read back what `as_json` wrote."""
        values: dict[str, Any] = {
            name: tuple(value) if isinstance(value, list | tuple) else value
            for name, value in row.items()
        }
        values["kind"] = Step(values.get("kind", Step.WORKING))
        values["per"] = Per(values.get("per", Per.ITEM))
        values["after"] = tuple(After(**a) for a in row.get("after", ()))
        values["holds"] = tuple(Hold(**h) for h in row.get("holds", ()))
        return cls(**values)


@dataclass(frozen=True)
class Template:
    """A checked table of operations."""

    name: str
    operations: tuple[TemplateOperation, ...]
    source: str = "common practice"

    def __post_init__(self) -> None:
        codes = [operation.code for operation in self.operations]
        for operation in self.operations:
            self._check(operation, set(codes))
            if codes.count(operation.code) > 1:
                raise BadTemplate(self.name, operation.code, "the code stands twice.")
        _check_rings(self)

    def operation(self, code: str) -> TemplateOperation:
        """The row of a code."""
        return next(row for row in self.operations if row.code == code)

    def _check(self, row: TemplateOperation, codes: set[str]) -> None:
        def refuse(why: str) -> BadTemplate:
            return BadTemplate(self.name, row.code or "a row without a code", why)

        if not row.code:
            raise refuse("give it a code.")
        if not re.fullmatch(r"[A-Z0-9][A-Z0-9-]*", row.code):
            raise refuse("a code is capitals, digits and hyphens.")
        if re.search(r"-R\d+$", row.code):
            raise refuse("a code does not end in -R and a number: rounds are numbered that way.")
        named: tuple[tuple[str, tuple[str, ...], Collection[str]], ...] = (
            ("area", (row.area,), AREAS),
            ("condition", row.only_when, CONDITIONS),
            ("count", (row.repeats,) if row.repeats else (), COUNTS),
            ("duration", (row.duration,) if row.duration else (), DURATIONS),
            ("confirmation", row.confirmations, CONFIRMATIONS),
            ("fact", row.depends_on, sorted(FACTS)),
            ("operation", tuple(a.code for a in row.after), codes),
            ("operation", row.remade_with, codes),
            ("operation", tuple(hold.until for hold in row.holds), codes),
        )
        for what, names, known in named:
            for name in names:
                if name not in known:
                    there = ", ".join(sorted(known))
                    raise refuse(f"there is no {what} {name!r}; there are: {there}.")
        if (row.minutes is None) == (not row.duration):
            raise refuse("give either minutes or the name of a duration.")
        if row.minutes is not None and row.minutes < 0:
            raise refuse(f"it lasts {row.minutes} minutes; 0 or more is right.")
        if row.kind is Step.WORKING and not row.work_centre:
            raise refuse("worked operations name their work centre.")
        if any(a.lag_minutes < 0 for a in row.after):
            raise refuse("a lag is 0 or more.")


def standard_template(name: str) -> Template:
    """One of the templates kept with the program.

    name : of `STANDARD`
    returns : the checked template
    raises : BadTemplate
    """
    if name not in STANDARD:
        raise BadTemplate(name, "its name", f"there are {', '.join(STANDARD)}.")
    file = resources.files("schedule.planning") / "templates" / f"{name}.csv"
    return read_template(name, file.read_text(encoding="utf-8"))


def read_template(name: str, text: str) -> Template:
    """Read a template's table.

    name : for messages
    text : CSV with a heading line
    returns : the checked template
    raises : BadTemplate, with the line
    """
    rows = csv.DictReader(io.StringIO(text))
    wanted = {
        "code", "name", "area", "work_centre", "kind", "duration", "per", "after", "only_when",
        "repeats", "pattern", "depends_on", "remade_with", "confirmations", "caution", "marks",
        "holds",
    }  # fmt: skip
    if set(rows.fieldnames or ()) != wanted:
        odd = ", ".join(sorted(wanted ^ set(rows.fieldnames or ())))
        raise BadTemplate(name, "line 1", f"missing or unknown columns: {odd}.")
    return Template(name, tuple(_row(name, rows.line_num, row) for row in rows))


def _row(template: str, line: int, row: dict[str, str]) -> TemplateOperation:
    where = f"line {line}"
    if any(value is None for value in row.values()) or None in row:
        raise BadTemplate(template, where, "it has too few or too many cells.")
    try:
        kind, per = Step(row["kind"]), Per(row["per"])
    except ValueError as odd:
        raise BadTemplate(template, where, f"{odd}.") from None
    minutes: int | None = None
    duration = row["duration"]
    if duration[:1].isdigit() or duration[:1] == "-":
        unit = "h" if kind is Step.WORKING else "d"
        minutes, duration = _minutes(template, where, duration, (unit,)), ""
    marks = set(_words(row["marks"]))
    if marks - {"safety", "whole"}:
        raise BadTemplate(template, where, f"marks are safety and whole, not {row['marks']}.")
    after = []
    for word in _words(row["after"]):
        code, _, lag = word.partition("+")
        after.append(After(code, _minutes(template, where, lag, ("h", "d")) if lag else 0))
    holds = []
    for word in _words(row["holds"]):
        resource, _, until = word.partition(">")
        holds.append(Hold(resource, until))
    return TemplateOperation(
        code=row["code"],
        name=row["name"],
        area=row["area"],
        work_centre=row["work_centre"],
        kind=kind,
        minutes=minutes,
        duration=duration,
        per=per,
        after=tuple(after),
        only_when=_words(row["only_when"]),
        repeats=row["repeats"],
        pattern=row["pattern"],
        depends_on=_words(row["depends_on"]),
        remade_with=_words(row["remade_with"]),
        confirmations=_words(row["confirmations"]),
        caution=row["caution"],
        safety_related="safety" in marks,
        splits="whole" not in marks,
        holds=tuple(holds),
    )


def _words(cell: str) -> tuple[str, ...]:
    return tuple(word.strip() for word in cell.split(";") if word.strip())


def _minutes(template: str, where: str, text: str, units: tuple[str, ...]) -> int:
    found = re.fullmatch(r"(-?\d+(?:\.\d+)?) ([hd])", text.strip())
    if found is None or found[2] not in units:
        right = " or ".join(f"'8 {unit}'" for unit in units)
        raise BadTemplate(template, where, f"{text!r} is no duration here; write {right}.")
    return round(float(found[1]) * (60 if found[2] == "h" else DAY_MINUTES))


def _check_rings(template: Template) -> None:
    """Rows must not wait for one another in a ring, present or not."""
    waits = {row.code: {a.code for a in row.after} for row in template.operations}
    while waits:
        ready = {code for code, codes in waits.items() if not codes & waits.keys()}
        if not ready:
            ring = ", ".join(sorted(waits))
            raise BadTemplate(template.name, ring, "these wait for one another in a ring.")
        for code in ready:
            del waits[code]
