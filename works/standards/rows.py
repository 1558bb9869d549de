"""A row of a table of standards and the columns it may have."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from works.standards.certainty import Certainty
from works.standards.errors import NoSuchColumn

Value = float | int | str | bool | None

HEAD = ("name", "standard", "edition", "clause")
TAIL = ("certainty", "column_certainty", "source", "note")
FIXED = (*HEAD, *TAIL)


class Kind(StrEnum):
    """What a column holds."""

    NUMBER = "number"
    INTEGER = "integer"
    TEXT = "text"
    FLAG = "flag"


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column of a table, as `columns.csv` has it."""

    name: str
    kind: Kind
    unit: str
    lowest: float | None
    highest: float | None
    required: bool
    meaning: str


@dataclass(frozen=True, kw_only=True)
class StandardRow:
    """One row of a table of a standard.

    table : name of the file without its ending
    values : the table's own columns in order, each with its unit in its name
    certainty : of the least sure value in the row
    better : columns that are surer than the row
    """

    table: str
    name: str
    standard: str
    edition: str
    clause: str
    values: tuple[tuple[str, Value], ...]
    certainty: Certainty
    better: tuple[tuple[str, Certainty], ...]
    source: str
    note: str

    @property
    def key(self) -> str:
        """Stable key: standard|edition|clause|name."""
        return "|".join((self.standard, self.edition, self.clause, self.name))

    @property
    def cited(self) -> str:
        """How a sentence names the row's origin."""
        return f"{self.standard}:{self.edition}, {self.clause}"

    def certainty_of(self, *columns: str) -> Certainty:
        """The least certainty among the columns a verdict rests on."""
        surer = dict(self.better)
        for column in columns:
            self._value(column)
        return max((surer.get(column, self.certainty) for column in columns), key=lambda c: c.rank)

    def has(self, column: str) -> bool:
        """Whether the cell is filled."""
        return self._value(column) is not None

    def number(self, column: str) -> float:
        """The cell as a number, in the unit its name ends with."""
        value = self._value(column)
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise NoSuchColumn(row=self.key, column=column, found=self._holds(value))
        return float(value)

    def integer(self, column: str) -> int:
        """The cell as a whole number."""
        value = self._value(column)
        if isinstance(value, bool) or not isinstance(value, int):
            raise NoSuchColumn(row=self.key, column=column, found=self._holds(value))
        return value

    def text(self, column: str) -> str:
        """The cell as words."""
        value = self._value(column)
        if not isinstance(value, str):
            raise NoSuchColumn(row=self.key, column=column, found=self._holds(value))
        return value

    def flag(self, column: str) -> bool:
        """The cell as yes or no."""
        value = self._value(column)
        if not isinstance(value, bool):
            raise NoSuchColumn(row=self.key, column=column, found=self._holds(value))
        return value

    def as_record(self) -> dict[str, Any]:
        """Plain values for a database row; `value` fits a JSON column."""
        return {
            "table": self.table,
            "name": self.name,
            "standard": self.standard,
            "edition": self.edition,
            "clause": self.clause,
            "value": dict(self.values),
            "certainty": str(self.certainty),
            "column_certainty": {column: str(c) for column, c in self.better},
            "source": self.source,
            "note": self.note,
        }

    def _value(self, column: str) -> Value:
        for name, value in self.values:
            if name == column:
                return value
        raise NoSuchColumn(row=self.key, column=column, found="is not in this table")

    @staticmethod
    def _holds(value: Value) -> str:
        return "is empty" if value is None else f"holds {value!r}"
