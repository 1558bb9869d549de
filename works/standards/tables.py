"""Tables of standards as controlled data: one CSV file a table, every row with its certainty.

`columns.csv` says what each table's own columns hold: kind, unit, bounds, meaning. This module
reads a table into frozen rows, checks every cell against that, and refuses a bad one with file,
row, column and what would be right. Pure code takes rows as arguments; an app stores them with
`as_record` and restores them with `from_record`, so that a value checked against a bought
standard replaces the shipped one without a change of code.
"""

import csv
import io
from collections.abc import Iterable, Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from works.standards.cells import flag_of, number_of, row_of
from works.standards.errors import BadTable, NoSuchTable
from works.standards.rows import FIXED, HEAD, TAIL, Column, Kind, StandardRow

FOLDER = Path(__file__).parent

_COLUMNS_FILE = "columns.csv"
_COLUMNS_HEAD = ("table", "column", "kind", "unit", "lowest", "highest", "required", "meaning")


def table_names(folder: Path = FOLDER) -> tuple[str, ...]:
    """Names of all tables, sorted."""
    return tuple(sorted(columns(folder)))


@cache
def columns(folder: Path = FOLDER) -> Mapping[str, tuple[Column, ...]]:
    """Every table's own columns, from `columns.csv`."""
    found: dict[str, list[Column]] = {}
    for number, cells in records(_text(folder / _COLUMNS_FILE), _COLUMNS_FILE, _COLUMNS_HEAD):
        found.setdefault(cells["table"], []).append(_column(cells, number))
    return MappingProxyType({table: tuple(its) for table, its in found.items()})


@cache
def load(table: str, folder: Path = FOLDER) -> tuple[StandardRow, ...]:
    """Read one table.

    table : name of the file without its ending
    returns : its rows in file order
    raises : NoSuchTable; BadTable, with file, row, column and what would be right
    """
    known = columns(folder)
    if table not in known:
        raise NoSuchTable(table=table, known=tuple(sorted(known)))
    return read(_text(folder / f"{table}.csv"), table=table, own=known[table])


def load_all(folder: Path = FOLDER) -> tuple[StandardRow, ...]:
    """Every row of every table; keys are unique over all of them."""
    rows = tuple(row for table in table_names(folder) for row in load(table, folder))
    _refuse_double_keys(rows, _COLUMNS_FILE)
    return rows


def read(text: str, *, table: str, own: tuple[Column, ...]) -> tuple[StandardRow, ...]:
    """Read a table from text, for a file just uploaded as for the shipped ones.

    text : CSV with commas and a point as decimal mark
    table : its name, for the rows and for errors
    own : the table's own columns
    raises : BadTable
    """
    file = f"{table}.csv"
    head = (*HEAD, *(column.name for column in own), *TAIL)
    rows = tuple(
        row_of(cells, table=table, own=own, file=file, number=number)
        for number, cells in records(text, file, head)
    )
    if not rows:
        raise BadTable(file=file, row=None, column="", found="no row", wanted="at least one row")
    _refuse_double_keys(rows, file)
    return rows


def from_record(record: Mapping[str, Any], folder: Path = FOLDER) -> StandardRow:
    """Restore a row that `as_record` made, checked like a file's.

    record : as stored; unknown keys are ignored so that a model may carry its own
    raises : NoSuchTable, BadTable
    """
    table = str(record["table"])
    known = columns(folder)
    if table not in known:
        raise NoSuchTable(table=table, known=tuple(sorted(known)))
    value: Mapping[str, Any] = record["value"]
    own = known[table]
    where = f"record of {table}"
    if strange := sorted(set(value) - {column.name for column in own}):
        raise BadTable(
            file=where,
            row=None,
            column=strange[0],
            found="not a column of this table",
            wanted="one of " + ", ".join(column.name for column in own),
        )
    cells = {key: str(record.get(key, "")) for key in FIXED if key != "column_certainty"}
    cells["column_certainty"] = "; ".join(
        f"{column}={certainty}" for column, certainty in record.get("column_certainty", {}).items()
    )
    cells |= {column.name: _as_cell(value.get(column.name)) for column in own}
    return row_of(cells, table=table, own=own, file=where, number=None)


def _as_cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return repr(value) if isinstance(value, float) else str(value)


def _text(path: Path) -> str:
    """A file's text; a byte-order mark, which spreadsheets write, is dropped."""
    try:
        return path.read_text(encoding="utf-8-sig")
    except FileNotFoundError as error:
        raise BadTable(
            file=path.name,
            row=None,
            column="",
            found="there is no such file",
            wanted=f"a file {path.name} beside {_COLUMNS_FILE}",
        ) from error
    except UnicodeDecodeError as error:
        raise BadTable(
            file=path.name,
            row=None,
            column="",
            found="it is not UTF-8 text",
            wanted="a CSV file saved as UTF-8",
        ) from error


def records(text: str, file: str, head: tuple[str, ...]) -> Iterable[tuple[int, dict[str, str]]]:
    """Rows of a CSV text under exactly the given head, each with its line number.

    text : CSV with commas
    file : its name, for errors
    head : the columns, in order
    raises : BadTable
    """
    reader = csv.reader(io.StringIO(text), strict=True)
    try:
        found = next(reader, [])
        if tuple(found) != head:
            raise BadTable(
                file=file,
                row=1,
                column="",
                found=_head_fault(found, head),
                wanted="the head " + ",".join(head),
            )
        for cells in reader:
            if not cells:
                continue
            if len(cells) != len(head):
                raise BadTable(
                    file=file,
                    row=reader.line_num,
                    column="",
                    found=f"{len(cells)} cells",
                    wanted=f"{len(head)} cells, an empty one where nothing is known",
                )
            yield reader.line_num, {k: c.strip() for k, c in zip(head, cells, strict=True)}
    except csv.Error as error:
        raise BadTable(
            file=file,
            row=reader.line_num,
            column="",
            found=str(error),
            wanted="comma-separated cells, quoted with double quotes",
        ) from error


def _head_fault(found: list[str], head: tuple[str, ...]) -> str:
    if len(found) == 1 and ";" in found[0]:
        return "the cells are separated by semicolons"
    if missing := [name for name in head if name not in found]:
        return "missing columns " + ", ".join(missing)
    if strange := [name for name in found if name not in head]:
        return "unknown columns " + ", ".join(strange)
    return "the columns stand in another order"


def _column(cells: Mapping[str, str], number: int) -> Column:
    kinds = ", ".join(Kind)
    try:
        kind = Kind(cells["kind"])
    except ValueError as error:
        raise BadTable(
            file=_COLUMNS_FILE,
            row=number,
            column="kind",
            found=f"'{cells['kind']}'",
            wanted=f"one of {kinds}",
        ) from error
    bounds = [
        None
        if not cells[end]
        else number_of(cells[end], file=_COLUMNS_FILE, row=number, column=end)
        for end in ("lowest", "highest")
    ]
    if cells["column"] in FIXED or not cells["column"].isidentifier():
        raise BadTable(
            file=_COLUMNS_FILE,
            row=number,
            column="column",
            found=f"'{cells['column']}'",
            wanted="a plain name with its unit at the end, other than " + ", ".join(FIXED),
        )
    required = flag_of(cells["required"], file=_COLUMNS_FILE, row=number, column="required")
    return Column(
        name=cells["column"],
        kind=kind,
        unit=cells["unit"],
        lowest=bounds[0],
        highest=bounds[1],
        required=required,
        meaning=cells["meaning"],
    )


def _refuse_double_keys(rows: Iterable[StandardRow], file: str) -> None:
    seen: dict[str, str] = {}
    for row in rows:
        if row.key in seen:
            raise BadTable(
                file=file,
                row=None,
                column="name",
                found=f"the key '{row.key}' twice (tables {seen[row.key]} and {row.table})",
                wanted="a name of its own for each row of a clause",
            )
        seen[row.key] = row.table
