"""Running parts measured: wear-ring clearance by diameter and metal, run-out, concentricity.

The least clearance of a ring follows its diameter; metals that gall want more. A new ring lies
between that and the drawing's upper limit, a worn one is replaced near twice the new clearance.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from quality.acceptance.decision import Limits
from quality.acceptance.errors import NoSuchRow, NotANumber
from quality.acceptance.evidence import Row, contract_row


@dataclass(frozen=True, kw_only=True)
class ClearanceRow:
    """Least diametral clearance in one range of diameters.

    from_mm, below_mm : diameter of the rotating part; `below_mm` is infinite in the last range [mm]
    clearance_mm : at `from_mm` [mm]
    further_mm_per_mm : more for each millimetre over `from_mm` [mm/mm]
    row : the standard's row
    """

    from_mm: float
    below_mm: float
    clearance_mm: float
    further_mm_per_mm: float
    row: Row


@dataclass(frozen=True, kw_only=True)
class GallingRow:
    """What metals that gall, or hot service, add to the clearance.

    addition_mm : [mm]
    row : the standard's row
    """

    addition_mm: float
    row: Row


@dataclass(frozen=True, kw_only=True)
class RunningLimit:
    """A limit of run-out or alignment.

    part : what is measured
    highest : in `unit`
    unit : of the limit
    row : the standard's row
    """

    part: str
    highest: float
    unit: str
    row: Row


def least_clearance(
    diameter_mm: float,
    table: Sequence[ClearanceRow],
    *,
    galling: GallingRow | None = None,
) -> tuple[float, tuple[Row, ...]]:
    """Least diametral clearance of a wear ring.

    diameter_mm : of the rotating part, > 0 [mm]
    table : of the standard
    galling : what is added for metals that gall, None for others
    returns : clearance [mm] and the rows it rests on
    raises : NotANumber, NoSuchRow
    source : API 610, 11th edition, running clearances (published maintenance manual)
    """
    if not diameter_mm > 0:
        raise NotANumber(what="The ring's diameter", value=diameter_mm, right="above zero")
    for row in table:
        if row.from_mm <= diameter_mm < row.below_mm:
            value = row.clearance_mm + row.further_mm_per_mm * (diameter_mm - row.from_mm)
            if galling is None:
                return value, (row.row,)
            return value + galling.addition_mm, (row.row, galling.row)
    raise NoSuchRow(
        table="The table of ring clearances",
        what=f"{diameter_mm:g} mm",
        covers=f"{min(r.from_mm for r in table):g} to {max(r.below_mm for r in table):g} mm",
    )


def ring_clearance(
    what: str,
    diameter_mm: float,
    table: Sequence[ClearanceRow],
    *,
    widest_mm: float | None = None,
    galling: GallingRow | None = None,
) -> Limits:
    """Limits of a new ring's diametral clearance.

    what : the ring
    diameter_mm : of the rotating part, > 0 [mm]
    table : of the standard
    widest_mm : of the drawing, None when it gives none [mm]
    galling : what is added for metals that gall, None for others
    returns : limits
    raises : NotANumber, NoSuchRow, BadTestRecord
    """
    least, rows = least_clearance(diameter_mm, table, galling=galling)
    if widest_mm is not None:
        rows = (*rows, contract_row(f"widest clearance {widest_mm:g} mm by the drawing"))
    return Limits(
        what=f"clearance of {what} at {diameter_mm:g} mm",
        unit="mm",
        lowest=least,
        highest=widest_mm,
        rows=rows,
    )


def worn_clearance(what: str, new_mm: float, factor: RunningLimit) -> Limits:
    """Limit of a worn ring's diametral clearance.

    what : the ring
    new_mm : clearance when new, > 0 [mm]
    factor : worn over new
    returns : one limit above
    """
    return Limits(
        what=f"worn clearance of {what}",
        unit="mm",
        highest=factor.highest * new_mm,
        rows=(factor.row,),
    )


def run_out(what: str, part: str, table: Sequence[RunningLimit]) -> Limits:
    """Limit of a run-out or an alignment.

    what : the place measured
    part : as the table names it
    table : of the works
    returns : one limit above
    raises : NoSuchRow
    """
    for row in table:
        if row.part == part:
            return Limits(what=what, unit=row.unit, highest=row.highest, rows=(row.row,))
    raise NoSuchRow(
        table="The table of running limits",
        what=part,
        covers=", ".join(row.part for row in table),
    )


def concentricity(what: str, highest_mm: float) -> Limits:
    """Limit of a bore's concentricity by the drawing.

    what : the bore
    highest_mm : > 0 [mm]
    returns : one limit above
    """
    row = contract_row(f"concentricity at most {highest_mm:g} mm by the drawing")
    return Limits(what=f"concentricity of {what}", unit="mm", highest=highest_mm, rows=(row,))
