"""Cells of a table, checked one by one: a bad one is refused with what would be right."""

import math
from collections.abc import Mapping

from works.standards.certainty import Certainty
from works.standards.errors import BadTable
from works.standards.rows import HEAD, Column, Kind, StandardRow, Value


def row_of(
    cells: Mapping[str, str], *, table: str, own: tuple[Column, ...], file: str, number: int | None
) -> StandardRow:
    for column in (*HEAD, "source"):
        if not cells[column]:
            raise BadTable(
                file=file, row=number, column=column, found="empty", wanted="a few words"
            )
        if column in HEAD and "|" in cells[column]:
            raise BadTable(
                file=file,
                row=number,
                column=column,
                found="a '|' in it",
                wanted="words without '|', which separates the parts of a key",
            )
    certainty = certainty_in(cells["certainty"], file=file, row=number, column="certainty")
    return StandardRow(
        table=table,
        name=cells["name"],
        standard=cells["standard"],
        edition=cells["edition"],
        clause=cells["clause"],
        values=tuple((c.name, _cell(cells[c.name], c, file=file, row=number)) for c in own),
        certainty=certainty,
        better=_better(cells["column_certainty"], certainty, own, file=file, row=number),
        source=cells["source"],
        note=cells["note"],
    )


def _cell(cell: str, column: Column, *, file: str, row: int | None) -> Value:
    if not cell:
        if column.required:
            raise BadTable(
                file=file,
                row=row,
                column=column.name,
                found="empty",
                wanted=f"{column.kind} [{column.unit}]: {column.meaning}",
            )
        return None
    if column.kind is Kind.TEXT:
        return cell
    if column.kind is Kind.FLAG:
        return flag_of(cell, file=file, row=row, column=column.name)
    value = number_of(cell, file=file, row=row, column=column.name)
    low = -math.inf if column.lowest is None else column.lowest
    high = math.inf if column.highest is None else column.highest
    if not low <= value <= high:
        raise BadTable(
            file=file,
            row=row,
            column=column.name,
            found=cell,
            wanted=f"a number from {low:g} to {high:g} {column.unit}",
        )
    if column.kind is Kind.NUMBER:
        return value
    if not value.is_integer():
        raise BadTable(file=file, row=row, column=column.name, found=cell, wanted="a whole number")
    return int(value)


def number_of(cell: str, *, file: str, row: int | None, column: str) -> float:
    wanted = "a number with a point as decimal mark and no thousands separator"
    try:
        value = float(cell)
    except ValueError as error:
        raise BadTable(
            file=file, row=row, column=column, found=f"'{cell}'", wanted=wanted
        ) from error
    if not math.isfinite(value):
        raise BadTable(file=file, row=row, column=column, found=f"'{cell}'", wanted=wanted)
    return value


def flag_of(cell: str, *, file: str, row: int | None, column: str) -> bool:
    if cell not in ("yes", "no"):
        raise BadTable(file=file, row=row, column=column, found=f"'{cell}'", wanted="yes or no")
    return cell == "yes"


def certainty_in(cell: str, *, file: str, row: int | None, column: str) -> Certainty:
    try:
        return Certainty(cell)
    except ValueError as error:
        raise BadTable(
            file=file,
            row=row,
            column=column,
            found=f"'{cell}'",
            wanted="one of " + ", ".join(Certainty),
        ) from error


def _better(
    cell: str, certainty: Certainty, own: tuple[Column, ...], *, file: str, row: int | None
) -> tuple[tuple[str, Certainty], ...]:
    """Parse `column=certainty; column=certainty`; only surer ones, so a row never overstates."""
    names = {column.name for column in own}
    found = []
    for part in filter(None, (part.strip() for part in cell.split(";"))):
        column, _, words = part.partition("=")
        if column not in names:
            raise BadTable(
                file=file,
                row=row,
                column="column_certainty",
                found=f"'{part}'",
                wanted="column=certainty with a column of this table, parts separated by ';'",
            )
        surer = certainty_in(words, file=file, row=row, column="column_certainty")
        if surer.rank >= certainty.rank:
            raise BadTable(
                file=file,
                row=row,
                column="column_certainty",
                found=f"'{part}'",
                wanted=f"a certainty above the row's own ({certainty}), which is that of its "
                "least sure value",
            )
        found.append((column, surer))
    return tuple(found)
