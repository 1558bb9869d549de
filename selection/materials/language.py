"""The language of a rule: one row, columns only, nothing that could run.

A rule applies to a part (or to two parts that touch), to metals by code, family or group, and to
liquids; up to two conditions on a property must hold. An empty cell means "any". Every property,
operator and placeholder is one of a short list, so a row is either understood in full or refused
with file, row, column and what would be right.
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date

from selection.materials.metals import GROUPS, Family, Metals, Part, parts_in
from selection.materials.properties import PROPERTIES, Property, Scope, Situation
from selection.materials.service import Liquid
from selection.materials.verdicts import Severity
from works.standards import BadTable, Certainty, least, records
from works.standards.cells import certainty_in, flag_of, number_of

OPERATORS: Mapping[str, Callable[[float, float], bool]] = {
    ">": lambda value, limit: value > limit,
    ">=": lambda value, limit: value >= limit,
    "<": lambda value, limit: value < limit,
    "<=": lambda value, limit: value <= limit,
}
IS = "is"


@dataclass(frozen=True, kw_only=True)
class Condition:
    """A property compared with a threshold."""

    property: Property
    operator: str
    threshold: float | bool

    def threshold_cell(self) -> str:
        """The threshold as a cell has it."""
        if isinstance(self.threshold, bool):
            return "yes" if self.threshold else "no"
        return repr(self.threshold)

    def holds(self, situation: Situation) -> bool | None:
        """Whether it holds; None when the value is not stated."""
        value = self.property.read(situation)
        if value is None:
            return None
        if self.operator == IS:
            return value is self.threshold
        return OPERATORS[self.operator](float(value), float(self.threshold))


@dataclass(frozen=True, kw_only=True)
class Rule:
    """One rule, as its row has it.

    parts : the rule is judged for each; with other_part, for the pair
    metals, other_metals : codes, families or groups; empty for any
    liquids : empty for any
    conditions : all must hold
    text : sentence with placeholders
    date : when the row was last looked at, ISO
    """

    rule: str
    topic: str
    parts: tuple[Part, ...]
    metals: tuple[str, ...]
    other_part: Part | None
    other_metals: tuple[str, ...]
    liquids: tuple[Liquid, ...]
    conditions: tuple[Condition, ...]
    severity: Severity
    needs_reason: bool
    text: str
    source: str
    certainty: Certainty
    date: str

    def as_cells(self) -> dict[str, str]:
        """The rule as its row has it, for a database or a form; `rule_of` reads it back."""
        cells = dict.fromkeys(RULE_HEAD, "") | {
            "rule": self.rule,
            "topic": self.topic,
            "part": " | ".join(self.parts),
            "metals": " | ".join(self.metals),
            "other_part": str(self.other_part or ""),
            "other_metals": " | ".join(self.other_metals),
            "liquids": " | ".join(self.liquids),
            "verdict": str(self.severity),
            "needs_reason": "yes" if self.needs_reason else "no",
            "text": self.text,
            "source": self.source,
            "certainty": str(self.certainty),
            "date": self.date,
        }
        for prefix, condition in zip(("", "and_"), self.conditions, strict=False):
            cells |= {
                prefix + "property": condition.property.name,
                prefix + "operator": condition.operator,
                prefix + "threshold": condition.threshold_cell(),
            }
        return cells

    def certainty_with(self, situation: Situation) -> Certainty:
        """Of the rule and of what it reads from the metals' list."""
        found = [self.certainty]
        for condition in self.conditions:
            columns = condition.property.columns
            if columns:
                found.append(situation.metal.certainty_of(*columns))
                if situation.other is not None:
                    found.append(situation.other.certainty_of(*columns))
        return least(found)


RULE_HEAD = (
    "rule",
    "topic",
    "part",
    "metals",
    "other_part",
    "other_metals",
    "liquids",
    "property",
    "operator",
    "threshold",
    "and_property",
    "and_operator",
    "and_threshold",
    "verdict",
    "needs_reason",
    "text",
    "source",
    "certainty",
    "date",
)
_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
_ALWAYS = frozenset({"part", "metal", "liquid"})


def read_rules(text: str, file: str, metals: Metals) -> tuple[Rule, ...]:
    """Read rules from CSV text.

    text : with RULE_HEAD as its head
    file : its name, for errors
    metals : whose codes rows may name
    raises : BadTable
    """
    return tuple(
        rule_of(cells, file=file, row=row, metals=metals)
        for row, cells in records(text, file, RULE_HEAD)
    )


def rule_of(cells: Mapping[str, str], *, file: str, row: int | None, metals: Metals) -> Rule:
    """Check one row; the same door for a file and for a form.

    cells : one for each of RULE_HEAD
    file : or another word for where the row stands, for errors
    row : its line, if it has one
    metals : whose codes the row may name
    raises : BadTable, with file, row, column and what would be right
    """
    at = _Door(file=file, row=row)
    for column in ("rule", "topic", "part", "text", "source", "date"):
        if not cells[column]:
            raise at.refuse(column, "empty", "a few words")
    parts = parts_in(cells["part"], file=file, row=row, column="part")
    pair = bool(cells["other_part"])
    other = parts_in(cells["other_part"], file=file, row=row, column="other_part")
    if len(other) > 1:
        raise at.refuse("other_part", f"'{cells['other_part']}'", "one part, or nothing")
    if cells["other_metals"] and not pair:
        raise at.refuse("other_metals", f"'{cells['other_metals']}'", "a part in other_part too")
    severity = at.severity(cells["verdict"])
    needs_reason = flag_of(cells["needs_reason"], file=file, row=row, column="needs_reason")
    if needs_reason and severity is Severity.FITS:
        raise at.refuse("needs_reason", "yes on a metal that fits", "no")
    if not needs_reason and severity.rank >= Severity.AVOID.rank:
        raise at.refuse(
            "needs_reason", f"no on '{severity}'", "yes: such a warning is not dismissed in silence"
        )
    conditions = at.conditions(cells, pair=pair)
    at.check_placeholders(cells["text"], conditions=len(conditions), pair=pair)
    at.check_date(cells["date"])
    return Rule(
        rule=cells["rule"],
        topic=cells["topic"],
        parts=parts,
        metals=at.metal_names(cells["metals"], "metals", metals),
        other_part=other[0] if other else None,
        other_metals=at.metal_names(cells["other_metals"], "other_metals", metals),
        liquids=at.liquids(cells["liquids"]),
        conditions=conditions,
        severity=severity,
        needs_reason=needs_reason,
        text=cells["text"],
        source=cells["source"],
        certainty=certainty_in(cells["certainty"], file=file, row=row, column="certainty"),
        date=cells["date"],
    )


def fill(text: str, values: Mapping[str, str]) -> str:
    """Put values into a rule's sentence; the placeholders were checked when it was read.

    text : the rule's
    values : by placeholder
    """
    return _PLACEHOLDER.sub(lambda found: values[found[1]], text)


def allowed_placeholders(*, conditions: int, pair: bool) -> frozenset[str]:
    """Placeholders that a rule's sentence may use.

    conditions : how many the rule has [-]
    pair : the rule is about two parts
    """
    names = set(_ALWAYS)
    if pair:
        names |= {"other_part", "other_metal"}
    if conditions:
        names |= {"value", "limit"}
    if conditions > 1:
        names |= {"and_value", "and_limit"}
    return frozenset(names)


@dataclass(frozen=True, kw_only=True)
class _Door:
    """Checks of one row's cells."""

    file: str
    row: int | None

    def refuse(self, column: str, found: str, wanted: str) -> BadTable:
        return BadTable(file=self.file, row=self.row, column=column, found=found, wanted=wanted)

    def severity(self, cell: str) -> Severity:
        try:
            return Severity(cell)
        except ValueError as error:
            raise self.refuse("verdict", f"'{cell}'", "one of " + ", ".join(Severity)) from error

    def liquids(self, cell: str) -> tuple[Liquid, ...]:
        try:
            return tuple(Liquid(name.strip()) for name in cell.split("|") if name.strip())
        except ValueError as error:
            raise self.refuse(
                "liquids", f"'{cell}'", "liquids separated by '|', of " + ", ".join(Liquid)
            ) from error

    def metal_names(self, cell: str, column: str, metals: Metals) -> tuple[str, ...]:
        names = tuple(name.strip() for name in cell.split("|") if name.strip())
        for name in names:
            if name not in metals and name not in GROUPS and name not in list(Family):
                raise self.refuse(
                    column,
                    f"'{name}'",
                    "a code of the metals' list, a family ("
                    + ", ".join(Family)
                    + ") or a group ("
                    + ", ".join(GROUPS)
                    + "), separated by '|'",
                )
        return names

    def conditions(self, cells: Mapping[str, str], *, pair: bool) -> tuple[Condition, ...]:
        found: list[Condition] = []
        for prefix in ("", "and_"):
            columns = [prefix + name for name in ("property", "operator", "threshold")]
            given = [cells[column] for column in columns]
            if not any(given):
                continue
            if not all(given):
                empty = columns[given.index("")]
                raise self.refuse(empty, "empty", "property, operator and threshold, or none")
            if prefix and not found:
                raise self.refuse(columns[0], "a second condition alone", "the first one first")
            found.append(self._condition(columns, given, pair=pair))
        return tuple(found)

    def _condition(self, columns: list[str], given: list[str], *, pair: bool) -> Condition:
        name, operator, threshold = given
        if name not in PROPERTIES:
            raise self.refuse(columns[0], f"'{name}'", "one of " + ", ".join(PROPERTIES))
        prop = PROPERTIES[name]
        if prop.scope is Scope.PAIR and not pair:
            raise self.refuse(columns[0], f"'{name}' without a second part", "an other_part")
        if prop.flag:
            if operator != IS:
                raise self.refuse(columns[1], f"'{operator}'", f"'{IS}', for {name} is yes or no")
            flag = flag_of(threshold, file=self.file, row=self.row, column=columns[2])
            return Condition(property=prop, operator=IS, threshold=flag)
        if operator not in OPERATORS:
            raise self.refuse(columns[1], f"'{operator}'", "one of " + ", ".join(OPERATORS))
        number = number_of(threshold, file=self.file, row=self.row, column=columns[2])
        return Condition(property=prop, operator=operator, threshold=number)

    def check_placeholders(self, text: str, *, conditions: int, pair: bool) -> None:
        allowed = allowed_placeholders(conditions=conditions, pair=pair)
        for name in _PLACEHOLDER.findall(text):
            if name not in allowed:
                raise self.refuse(
                    "text", f"'{{{name}}}'", "placeholders of " + ", ".join(sorted(allowed))
                )
        if re.search(r"[{}]", _PLACEHOLDER.sub("", text)):
            raise self.refuse("text", "a single brace", "placeholders as {metal}")

    def check_date(self, cell: str) -> None:
        try:
            date.fromisoformat(cell)
        except ValueError as error:
            raise self.refuse("date", f"'{cell}'", "a date as 2026-11-25") from error
