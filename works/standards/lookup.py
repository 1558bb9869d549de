"""Questions to rows of a table: the one that matches, the band a value falls in, a value between.

Nothing is extrapolated: a question beyond the table is refused with the table's ends.
"""

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from works.standards.certainty import Certainty, least
from works.standards.errors import NoSuchRow, OutsideTable
from works.standards.rows import StandardRow, Value


@dataclass(frozen=True, kw_only=True)
class Interpolated:
    """A value between two rows, and what it rests on."""

    value: float
    rows: tuple[StandardRow, ...]
    certainty: Certainty


def matching(rows: Iterable[StandardRow], **wanted: Value) -> tuple[StandardRow, ...]:
    """Rows whose cells equal what is wanted; `edition` and `standard` may be asked too."""
    return tuple(
        row for row in rows if all(_cell(row, column) == value for column, value in wanted.items())
    )


def one(rows: Iterable[StandardRow], **wanted: Value) -> StandardRow:
    """The single row that matches.

    raises : NoSuchRow, with the names of what the table holds
    """
    held = tuple(rows)
    found = matching(held, **wanted)
    if len(found) != 1:
        asked = ", ".join(f"{column} {value}" for column, value in wanted.items())
        raise NoSuchRow(asked=asked, found=len(found), choices=tuple(row.name for row in held))
    return found[0]


def band(rows: Iterable[StandardRow], value: float, *, over: str, to: str) -> StandardRow:
    """The row with over < value <= to; the lowest band also takes its own lower bound.

    An empty `to` is open upwards.
    raises : OutsideTable
    """
    held = sorted(rows, key=lambda row: row.number(over))
    for row in held:
        top = row.number(to) if row.has(to) else float("inf")
        bottom = row.number(over)
        if bottom < value <= top or (row is held[0] and value == bottom):
            return row
    lowest = held[0].number(over) if held else float("nan")
    highest = max((row.number(to) for row in held if row.has(to)), default=float("nan"))
    raise OutsideTable(column=over, asked=value, lowest=lowest, highest=highest)


def band_below(rows: Iterable[StandardRow], value: float, *, start: str, below: str) -> StandardRow:
    """The row with start <= value < below; an empty `below` is open upwards.

    Rows without a start (additions, say) are passed over.
    raises : OutsideTable
    """
    held = [row for row in rows if row.has(start)]
    for row in held:
        top = row.number(below) if row.has(below) else float("inf")
        if row.number(start) <= value < top:
            return row
    lowest = min((row.number(start) for row in held), default=float("nan"))
    highest = max((row.number(below) for row in held if row.has(below)), default=float("nan"))
    raise OutsideTable(column=start, asked=value, lowest=lowest, highest=highest)


def between(rows: Sequence[StandardRow], *, x: str, y: str, at: float) -> Interpolated:
    """Interpolate y linearly over x.

    rows : at least one, x different in each
    at : in the unit of x
    returns : value in the unit of y, with the rows it rests on
    raises : OutsideTable beyond the ends; NoSuchRow without rows
    """
    held = sorted(rows, key=lambda row: row.number(x))
    if not held:
        raise NoSuchRow(asked=f"{y} at {x} {at:g}", found=0, choices=())
    xs = [row.number(x) for row in held]
    if not xs[0] <= at <= xs[-1]:
        raise OutsideTable(column=x, asked=at, lowest=xs[0], highest=xs[-1])
    right = min(bisect_right(xs, at), len(xs) - 1)
    left = right - 1 if right else 0
    if at in (xs[left], xs[right]):
        row = held[left] if at == xs[left] else held[right]
        return Interpolated(value=row.number(y), rows=(row,), certainty=row.certainty_of(x, y))
    share = (at - xs[left]) / (xs[right] - xs[left])
    value = held[left].number(y) + share * (held[right].number(y) - held[left].number(y))
    used = (held[left], held[right])
    return Interpolated(
        value=value, rows=used, certainty=least(row.certainty_of(x, y) for row in used)
    )


def _cell(row: StandardRow, column: str) -> Value:
    if column in ("table", "name", "standard", "edition", "clause"):
        return str(getattr(row, column))
    return next((value for name, value in row.values if name == column), None)
