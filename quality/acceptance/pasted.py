"""Numbers pasted from a sheet: comma or point as decimal mark, never a guess.

One table keeps one decimal mark. A number that can be read in two ways, such as 1.000 or 1,500 with
nothing in the table to tell, is refused with its place, and nothing of what was pasted is changed.
"""

import math
import re
from dataclasses import dataclass

from quality.acceptance.errors import MixedDecimalMarks, NoReadings

NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)*(?:[eE][+-]?\d+)?")
LOOKS_GROUPED = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}")


@dataclass(frozen=True, kw_only=True)
class PastedTable:
    """A table as read.

    heading : words of the first line, empty when it holds numbers
    rows : of numbers, None for an empty cell
    lines : number of each row's line in the text
    decimal_mark : that the table uses, empty when no number has one
    """

    heading: tuple[str, ...]
    rows: tuple[tuple[float | None, ...], ...]
    lines: tuple[int, ...]
    decimal_mark: str


def read_pasted(text: str) -> PastedTable:
    """A table of numbers from text.

    text : lines of cells separated by tabs, by semicolons, by commas when the heading is or every
        line holds several, or else by spaces
    returns : the table
    raises : MixedDecimalMarks with line and column; NoReadings for a text without numbers
    """
    separator = _separator(text)
    cells = [
        (number, _cells(line, separator))
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip()
    ]
    heading: tuple[str, ...] = ()
    if cells and not any(NUMBER.fullmatch(_bare(cell)) for cell in cells[0][1]):
        heading = tuple(cells[0][1])
        cells = cells[1:]
    if not cells:
        raise NoReadings(needed=1)
    mark = _mark(cells)
    return PastedTable(
        heading=heading,
        rows=tuple(
            tuple(
                _number(cell, mark, line=line, column=column)
                for column, cell in enumerate(row, start=1)
            )
            for line, row in cells
        ),
        lines=tuple(line for line, _ in cells),
        decimal_mark=mark,
    )


def _separator(text: str) -> str | None:
    """What stands between the cells; None for spaces."""
    for mark in "\t;":
        if mark in text:
            return mark
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    words_with_commas = bool(lines) and "," in lines[0] and any(c.isalpha() for c in lines[0])
    several = bool(lines) and all(line.count(",") > 1 and " " not in line for line in lines)
    return "," if words_with_commas or several else None


def _cells(line: str, separator: str | None) -> list[str]:
    if separator is not None:
        return [cell.strip() for cell in line.split(separator)]
    return [cell for cell in re.split(r",\s+|\s{1,}", line.strip()) if cell]


def _bare(cell: str) -> str:
    """A cell without the thin and hard spaces that sheets put between thousands."""
    return re.sub(r"[\u00a0\u202f\u2009]", "", cell).replace("−", "-")


def _mark(cells: list[tuple[int, list[str]]]) -> str:
    """The decimal mark of the table, from the numbers that leave no doubt."""
    sure: dict[str, tuple[int, int, str]] = {}
    doubtful: tuple[int, int, str] | None = None
    for line, row in cells:
        for column, cell in enumerate(row, start=1):
            bare = _bare(cell)
            marks = [mark for mark in bare if mark in ".,"]
            if not marks or not NUMBER.fullmatch(bare):
                continue
            if len(set(marks)) == 2 and marks.count(marks[-1]) == 1:
                sure.setdefault(marks[-1], (line, column, cell))
            elif len(marks) == 1 and not LOOKS_GROUPED.fullmatch(bare):
                sure.setdefault(marks[0], (line, column, cell))
            elif len(marks) == 1:
                doubtful = doubtful or (line, column, cell)
    if len(sure) == 2:
        line, column, text = max(sure.values())
        other = min(sure.values())
        raise MixedDecimalMarks(
            line=line,
            column=column,
            text=text,
            reason=f"uses another decimal mark than {other[2]!r} in line {other[0]}; use one "
            "throughout",
        )
    if sure:
        return next(iter(sure))
    if doubtful:
        line, column, text = doubtful
        raise MixedDecimalMarks(
            line=line,
            column=column,
            text=text,
            reason="can be a thousand or a decimal number, and nothing in the table tells; write "
            "it without grouping, or with all its decimals",
        )
    return ""


def _number(cell: str, mark: str, *, line: int, column: int) -> float | None:
    bare = _bare(cell)
    if bare in ("", "-", "–", "—"):
        return None
    if not NUMBER.fullmatch(bare):
        raise MixedDecimalMarks(line=line, column=column, text=cell, reason="is not a number")
    group = {".": ",", ",": ".", "": ""}[mark]
    whole, _, decimals = bare.partition(mark) if mark else (bare, "", "")
    if (mark and mark in decimals) or (group and group in decimals):
        raise MixedDecimalMarks(
            line=line, column=column, text=cell, reason="has marks that no number has"
        )
    if group and group in whole:
        first, *rest = whole.lstrip("+-").split(group)
        if not (1 <= len(first) <= 3 and all(len(part) == 3 for part in rest)):
            raise MixedDecimalMarks(
                line=line,
                column=column,
                text=cell,
                reason=f"uses another decimal mark than the rest of the table, {mark!r}",
            )
        whole = whole.replace(group, "")
    value = float(f"{whole}.{decimals}" if decimals else whole)
    if not math.isfinite(value):
        raise MixedDecimalMarks(line=line, column=column, text=cell, reason="is too large")
    return value
