"""Castings measured: tolerance by grade and size, machining allowance, walls, shift of the halves.

The tolerance of a grade is its whole width, half each way unless agreed otherwise. The machining
allowance is one value for the whole casting, by its largest dimension. Walls are one grade coarser
than other dimensions (from memory).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from quality.acceptance.decision import Limits
from quality.acceptance.errors import BadTestRecord, NoSuchRow, NotANumber
from quality.acceptance.evidence import Certainty, Row, contract_row

WALL_ROW = Row(
    standard="ISO 8062-3",
    edition="2007",
    clause="Annex A",
    name="wall thickness is one grade coarser than other dimensions",
    certainty=Certainty.MEMORY,
)
RAW_ROW = Row(
    standard="ISO 8062-3",
    edition="2007",
    name="raw size of an external machined dimension R = F + 2·RMA + DCT/2",
    certainty=Certainty.MEMORY,
)


@dataclass(frozen=True, kw_only=True)
class CastingWidth:
    """Width of a casting tolerance grade in one range of sizes.

    grade : number after DCTG
    over_mm, to_mm : nominal size over and up to [mm]
    width_mm : whole width [mm]
    row : the standard's row
    """

    grade: int
    over_mm: float
    to_mm: float
    width_mm: float
    row: Row


@dataclass(frozen=True, kw_only=True)
class AllowanceRow:
    """Machining allowance of a grade in one range of largest dimensions.

    grade : letter, A to K
    over_mm, to_mm : largest overall dimension over and up to [mm]
    allowance_mm : on each machined side [mm]
    row : the standard's row
    """

    grade: str
    over_mm: float
    to_mm: float
    allowance_mm: float
    row: Row


def casting_width(grade: int, nominal_mm: float, table: Sequence[CastingWidth]) -> CastingWidth:
    """Whole width of a casting tolerance.

    grade : number after DCTG
    nominal_mm : > 0 [mm]
    table : of the standard
    returns : the row; the upper end of a range belongs to it, the lower end to the one below
    raises : NoSuchRow
    source : ISO 8062-3:2007, Table 2
    """
    for row in table:
        if row.grade == grade and row.over_mm < nominal_mm <= row.to_mm:
            return row
    highest = max((row.to_mm for row in table if row.grade == grade), default=0.0)
    lowest = min((row.over_mm for row in table if row.grade == grade), default=0.0)
    raise NoSuchRow(
        table="The table of casting tolerances",
        what=f"DCTG {grade} at {nominal_mm:g} mm",
        covers=f"DCTG {grade} over {lowest:g} to {highest:g} mm" if highest else "other grades",
    )


def casting_limits(
    what: str, nominal_mm: float, grade: int, table: Sequence[CastingWidth], *, wall: bool = False
) -> Limits:
    """Limits of a raw casting's dimension.

    what : the characteristic
    nominal_mm : of the drawing, > 0 [mm]
    grade : DCTG of the casting
    table : of the standard
    wall : it is a wall thickness, which is one grade coarser
    returns : half the width each way
    raises : NoSuchRow
    """
    row = casting_width(grade + 1 if wall else grade, nominal_mm, table)
    half = row.width_mm / 2
    return Limits(
        what=f"{what} {nominal_mm:g} DCTG {row.grade}",
        unit="mm",
        lowest=nominal_mm - half,
        highest=nominal_mm + half,
        rows=(row.row, WALL_ROW) if wall else (row.row,),
    )


def machining_allowance(
    grade: str, largest_mm: float, table: Sequence[AllowanceRow]
) -> AllowanceRow:
    """Required machining allowance of a casting.

    grade : letter, A to K
    largest_mm : largest overall dimension of the finished casting, > 0 [mm]
    table : of the standard
    returns : the row
    raises : NoSuchRow
    source : ISO 8062-3:2007, required machining allowances (from memory)
    """
    for row in table:
        if row.grade == grade and row.over_mm < largest_mm <= row.to_mm:
            return row
    raise NoSuchRow(
        table="The table of machining allowances",
        what=f"grade {grade} at {largest_mm:g} mm",
        covers=", ".join(sorted({row.grade for row in table})),
    )


@dataclass(frozen=True, kw_only=True)
class RawSize:
    """What a raw casting must measure so that the finished size can be machined from it.

    nominal_mm : of the raw casting, tolerance half each way about it [mm]
    lowest_mm, highest_mm : limits of the raw size [mm]
    rows : of standards
    """

    nominal_mm: float
    lowest_mm: float
    highest_mm: float
    rows: tuple[Row, ...]


def raw_size(
    finished_mm: float,
    *,
    sides: int,
    internal: bool,
    allowance: AllowanceRow,
    grade: int,
    table: Sequence[CastingWidth],
) -> RawSize:
    """Raw size of a dimension that is machined.

    finished_mm : after machining, > 0 [mm]
    sides : machined, 1 or 2
    internal : a bore or gap, which the allowance makes smaller
    allowance : of the casting
    grade : DCTG of the casting
    table : of casting tolerances
    returns : nominal raw size with its limits
    raises : NotANumber, NoSuchRow
    source : R = F ± (sides·RMA + DCT/2); ISO 8062 (from memory)
    """
    if sides not in (1, 2):
        raise NotANumber(what="The number of machined sides", value=sides, right="1 or 2")
    more = -1 if internal else 1
    least = finished_mm + more * sides * allowance.allowance_mm
    half = casting_width(grade, least, table).width_mm / 2
    nominal = least + more * half
    row = casting_width(grade, nominal, table)
    half = row.width_mm / 2
    nominal = least + more * half
    return RawSize(
        nominal_mm=nominal,
        lowest_mm=nominal - half,
        highest_mm=nominal + half,
        rows=(allowance.row, row.row, RAW_ROW),
    )


def allowance_left(
    what: str, finished_mm: float, *, sides: int, internal: bool, least_mm: float = 0.5
) -> Limits:
    """Limits of a raw dimension that still cleans up everywhere.

    what : the characteristic
    finished_mm : after machining, > 0 [mm]
    sides : machined, 1 or 2
    internal : a bore or gap
    least_mm : stock that a cut needs on each side, >= 0 [mm]
    returns : one limit, below for an outer dimension, above for an inner one
    """
    row = Row(
        standard="works practice",
        name=f"at least {least_mm:g} mm stays on each machined side",
        certainty=Certainty.COMMON_PRACTICE,
    )
    if internal:
        highest = finished_mm - sides * least_mm
        return Limits(what=f"{what}, raw", unit="mm", highest=highest, rows=(row,))
    return Limits(
        what=f"{what}, raw", unit="mm", lowest=finished_mm + sides * least_mm, rows=(row,)
    )


def wall_map(
    required_mm: Mapping[str, float], measured_mm: Mapping[str, float]
) -> tuple[tuple[Limits, float | None], ...]:
    """Wall thicknesses of a map against the least wall at each place.

    required_mm : least wall by the name of the place, > 0 [mm]
    measured_mm : by the name of the place [mm]
    returns : limits and value for every place of the map, None where it was not measured
    raises : BadTestRecord for a place that the map does not have
    """
    if unknown := sorted(set(measured_mm) - set(required_mm)):
        raise BadTestRecord(
            what="The wall-thickness map",
            reason=f"it has no place {', '.join(unknown)}; its places are "
            f"{', '.join(sorted(required_mm))}",
        )
    row = contract_row("least wall thickness of the drawing")
    return tuple(
        (
            Limits(what=f"wall at {place}", unit="mm", lowest=least, rows=(row,)),
            measured_mm.get(place),
        )
        for place, least in required_mm.items()
    )


def split_face_shift(highest_mm: float) -> Limits:
    """Limit of the shift between the halves at the split face.

    highest_mm : of the drawing, > 0 [mm]
    returns : one limit above
    """
    row = contract_row(f"shift at the split face at most {highest_mm:g} mm by the drawing")
    return Limits(what="shift at the split face", unit="mm", highest=highest_mm, rows=(row,))
