"""What can be wrong with a table of standards or a question put to it.

Each error carries its data as fields, so that a page can put it beside the cell it is about, and
survives pickling, so that a job can hand it back.
"""

from dataclasses import dataclass, fields
from typing import Any


def _rebuild(kind: type["StandardsError"], data: dict[str, Any]) -> "StandardsError":
    return kind(**data)


@dataclass(eq=False, kw_only=True)
class StandardsError(Exception):
    """Base class; `str()` is a sentence fit for a page."""

    def __str__(self) -> str:
        return "The table of standards cannot be used."

    def __reduce__(self) -> Any:
        return _rebuild, (type(self), {f.name: getattr(self, f.name) for f in fields(self)})


@dataclass(eq=False, kw_only=True)
class BadTable(StandardsError):
    """A file or record that is not what its columns call for."""

    file: str
    row: int | None
    column: str
    found: str
    wanted: str

    def __str__(self) -> str:
        place = self.file if self.row is None else f"{self.file}, row {self.row}"
        where = f"{place}, column {self.column}" if self.column else place
        return f"{where}: {self.found}. Right would be: {self.wanted}."


@dataclass(eq=False, kw_only=True)
class NoSuchTable(StandardsError):
    """A table that the folder does not hold."""

    table: str
    known: tuple[str, ...]

    def __str__(self) -> str:
        return f"No table '{self.table}' is held. There are: {', '.join(self.known)}."


@dataclass(eq=False, kw_only=True)
class NoSuchColumn(StandardsError):
    """A column asked of a row that has none, or one left empty, or one of another kind."""

    row: str
    column: str
    found: str

    def __str__(self) -> str:
        return f"Row '{self.row}': column '{self.column}' {self.found}."


@dataclass(eq=False, kw_only=True)
class NoSuchRow(StandardsError):
    """No row, or more than one, answers a question."""

    asked: str
    found: int
    choices: tuple[str, ...]

    def __str__(self) -> str:
        held = ", ".join(self.choices) or "nothing"
        return f"{self.found} rows for {self.asked}, one was wanted. The table holds: {held}."


@dataclass(eq=False, kw_only=True)
class OutsideTable(StandardsError):
    """A value beyond the ends of a table; nothing is extrapolated."""

    column: str
    asked: float
    lowest: float
    highest: float

    def __str__(self) -> str:
        return (
            f"{self.column} {self.asked:g} lies outside the table, which runs from "
            f"{self.lowest:g} to {self.highest:g}; nothing is extrapolated."
        )
