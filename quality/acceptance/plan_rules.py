"""Rules of inspection plans, kept as tables beside this file or by a works of its own.

A row says what is inspected, at which operation and when, how much of it, to what criterion, which
record is kept, and each party's part. A row that cannot be read is refused with what would be
right.
"""

import csv
import io
import string
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from importlib import resources
from typing import Any

from quality.acceptance.errors import BadPlanRule, UnknownCondition
from quality.acceptance.plan_conditions import CONDITIONS, FIGURES
from quality.acceptance.terms import Witnessable, word_of

STANDARD = ("pump", "spares_impeller", "spares_shaft")
"""Plans kept with the program, each for the route template of the same name."""


class Timing(StrEnum):
    """Where a point stands towards its operation."""

    BEFORE = "before"
    DURING = "during"
    AFTER = "after"


class Letter(StrEnum):
    """A party's part in a point."""

    HOLD = "H"
    WITNESS = "W"
    REVIEW = "R"
    NONE = ""


@dataclass(frozen=True, kw_only=True)
class PlanRule:
    """One row of a plan's table.

    code : the point's name in the plan, in capitals
    operation : code of the route template's operation
    timing : where the point stands towards it
    characteristic, method, extent, criterion, reference, record : as the plan shows them; the
        criterion may name figures in braces
    maker : the maker's part
    test : what has to be witnessed for the next letter to count, None when nothing can be
    witnessed : an outside party's part when it witnesses that test
    inspected : an outside party's part otherwise
    only_when : names of conditions, all of which must hold
    never_at_risk : nobody may let work go on past it
    """

    code: str
    operation: str
    timing: Timing
    characteristic: str
    method: str
    extent: str
    criterion: str
    reference: str
    record: str
    maker: Letter
    test: Witnessable | None = None
    witnessed: Letter = Letter.NONE
    inspected: Letter = Letter.NONE
    only_when: tuple[str, ...] = ()
    never_at_risk: bool = False

    def as_json(self) -> dict[str, Any]:
        """Its fields as the table's cells, ready for JSON."""
        return {
            **{name: str(getattr(self, name)) for name in COLUMNS if name not in SPECIAL},
            "test": str(self.test or ""),
            "only_when": "; ".join(self.only_when),
            "marks": "never at risk" if self.never_at_risk else "",
        }


SPECIAL = {"test", "only_when", "marks"}
COLUMNS = (
    "code",
    "operation",
    "timing",
    "characteristic",
    "method",
    "extent",
    "criterion",
    "reference",
    "record",
    "maker",
    "test",
    "witnessed",
    "inspected",
    "only_when",
    "marks",
)


def standard_rules(name: str) -> tuple[PlanRule, ...]:
    """The rules kept with the program for one kind of item.

    name : of `STANDARD`
    returns : checked rules
    raises : BadPlanRule, UnknownCondition
    """
    if name not in STANDARD:
        raise BadPlanRule(
            row="none",
            plan=name,
            what="the plan's name",
            value=name,
            right=f"one of {', '.join(STANDARD)}",
        )
    file = resources.files("quality.acceptance") / "plans" / f"{name}.csv"
    return read_rules(name, file.read_text(encoding="utf-8"))


def read_rules(name: str, text: str) -> tuple[PlanRule, ...]:
    """Rules from a table.

    name : of the plan, for messages
    text : CSV with a heading line
    returns : checked rules
    raises : BadPlanRule, UnknownCondition
    """
    table = csv.DictReader(io.StringIO(text))
    if tuple(table.fieldnames or ()) != COLUMNS:
        raise BadPlanRule(
            row="1",
            plan=name,
            what="the heading",
            value=",".join(table.fieldnames or ()),
            right=",".join(COLUMNS),
        )
    return rules_from_json(name, list(table))


def rules_from_json(name: str, rows: Sequence[Mapping[str, Any]]) -> tuple[PlanRule, ...]:
    """Rules from rows as kept by a works of its own.

    name : of the plan, for messages
    rows : cells by column
    returns : checked rules
    raises : BadPlanRule, UnknownCondition
    """
    rules = tuple(_rule(name, number, row) for number, row in enumerate(rows, start=1))
    seen: set[str] = set()
    for rule in rules:
        if rule.code in seen:
            raise BadPlanRule(
                row=rule.code, plan=name, what="the code", value=rule.code, right="used once"
            )
        seen.add(rule.code)
    return rules


def _rule(plan: str, number: int, row: Mapping[str, Any]) -> PlanRule:
    where = str(row.get("code") or f"row {number}")
    if set(row) != set(COLUMNS) or any(value is None for value in row.values()):
        raise BadPlanRule(
            row=where, plan=plan, what="the number of cells", value=len(row), right=len(COLUMNS)
        )
    for column in ("code", "operation", "characteristic", "record"):
        if not row[column].strip():
            raise BadPlanRule(row=where, plan=plan, what=column, value="", right="filled in")
    conditions = tuple(word.strip() for word in row["only_when"].split(";") if word.strip())
    for condition in conditions:
        if condition not in CONDITIONS:
            raise UnknownCondition(
                row=where, plan=plan, condition=condition, known=", ".join(sorted(CONDITIONS))
            )
    for column in ("criterion", "reference"):
        _check_figures(row[column], where, plan, column)
    if row["marks"].strip() not in ("", "never at risk"):
        raise BadPlanRule(
            row=where, plan=plan, what="marks", value=row["marks"], right="empty or never at risk"
        )

    def letter(column: str) -> Letter:
        return word_of(Letter, row[column], row=where, plan=plan, what=column)

    return PlanRule(
        code=row["code"],
        operation=row["operation"],
        timing=word_of(Timing, row["timing"], row=where, plan=plan, what="timing"),
        characteristic=row["characteristic"],
        method=row["method"],
        extent=row["extent"],
        criterion=row["criterion"],
        reference=row["reference"],
        record=row["record"],
        maker=letter("maker"),
        test=(
            word_of(Witnessable, row["test"], row=where, plan=plan, what="test")
            if row["test"]
            else None
        ),
        witnessed=letter("witnessed"),
        inspected=letter("inspected"),
        only_when=conditions,
        never_at_risk=bool(row["marks"].strip()),
    )


def _check_figures(text: str, where: str, plan: str, column: str) -> None:
    try:
        named = {name for _, name, _, _ in string.Formatter().parse(text) if name is not None}
    except ValueError as error:
        raise BadPlanRule(
            row=where, plan=plan, what=column, value=text, right="text with closed braces"
        ) from error
    if unknown := named - set(FIGURES):
        raise BadPlanRule(
            row=where,
            plan=plan,
            what=f"a figure in {column}",
            value=", ".join(sorted(unknown)),
            right=f"one of {', '.join(sorted(FIGURES))}",
        )
