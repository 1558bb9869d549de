"""Limits and fits: a code such as H7 or g6 resolved to the limits of a size.

The tolerance grade gives the width, the letter the place of the zone: its deviation nearest to the
nominal size. A hole mirrors the shaft of the same letter; the close holes K to P (and R, S) of fine
grades are shifted so that fits come out alike on the basis of hole or shaft.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from quality.acceptance.decision import Limits
from quality.acceptance.errors import BadTestRecord, NoSuchRow
from quality.acceptance.evidence import Certainty, Row

CODE = re.compile(r"(JS|js|[A-Za-z])\s*(\d{1,2})")
SHIFTED_TO_IT8 = {"K", "M", "N"}
SHIFTED_TO_IT7 = {"P", "R", "S"}
NO_SHIFT_TO_MM = 3.0
NO_SHIFT_FROM_MM = 500.0
M6_OVER_MM, M6_TO_MM, M6_MORE_UM = 250.0, 315.0, 2.0

SHIFT_ROW = Row(
    standard="ISO 286-1",
    edition="2010",
    name="holes K, M, N to IT8 and P to S to IT7 are shifted by Δ = ITn − IT(n−1); published "
    "limits of K7, M7 and N7 agree",
    certainty=Certainty.CONFIRMED_2ND,
)
M6_ROW = Row(
    standard="ISO 286-1",
    edition="2010",
    name="upper deviation of M6 over 250 to 315 mm is −9 µm instead of −11 µm",
    certainty=Certainty.MEMORY,
)
COARSE_N_ROW = Row(
    standard="ISO 286-1",
    edition="2010",
    name="holes N above IT8 end at the nominal size",
    certainty=Certainty.MEMORY,
)


@dataclass(frozen=True, kw_only=True)
class GradeWidth:
    """Width of a standard tolerance grade in one range of sizes.

    grade : number after IT
    over_mm, to_mm : nominal size over and up to [mm]
    width_um : [µm]
    row : the standard's row
    """

    grade: int
    over_mm: float
    to_mm: float
    width_um: float
    row: Row


@dataclass(frozen=True, kw_only=True)
class ShaftDeviation:
    """Fundamental deviation of a shaft's letter in one range of sizes.

    letter : small
    upper : True when it is the upper deviation, else the lower one
    over_mm, to_mm : nominal size over and up to [mm]
    grade_low, grade_high : tolerance grades it holds for
    deviation_um : [µm]
    row : the standard's row
    """

    letter: str
    upper: bool
    over_mm: float
    to_mm: float
    grade_low: int
    grade_high: int
    deviation_um: float
    row: Row


@dataclass(frozen=True, kw_only=True)
class FitTables:
    """Both tables of the standard.

    widths : of all grades and ranges
    deviations : of all letters and ranges
    """

    widths: tuple[GradeWidth, ...]
    deviations: tuple[ShaftDeviation, ...]


@dataclass(frozen=True, kw_only=True)
class FitLimits:
    """A code resolved.

    code : e.g. H7
    nominal_mm : [mm]
    lower_um, upper_um : deviations from the nominal size [µm]
    rows : of the standard
    """

    code: str
    nominal_mm: float
    lower_um: float
    upper_um: float
    rows: tuple[Row, ...]

    @property
    def lowest_mm(self) -> float:
        """Smallest size [mm]."""
        return self.nominal_mm + self.lower_um / 1000

    @property
    def highest_mm(self) -> float:
        """Largest size [mm]."""
        return self.nominal_mm + self.upper_um / 1000

    def limits(self, what: str) -> Limits:
        """As limits of a measured record.

        what : the characteristic
        returns : limits in millimetres
        """
        return Limits(
            what=f"{what} {self.nominal_mm:g} {self.code}",
            unit="mm",
            lowest=self.lowest_mm,
            highest=self.highest_mm,
            rows=self.rows,
        )


def resolve(code: str, nominal_mm: float, tables: FitTables) -> FitLimits:
    """Limits of a size from its code.

    code : letter and grade, capital for a hole, small for a shaft
    nominal_mm : > 0 [mm]
    tables : of the standard
    returns : deviations and limits
    raises : BadTestRecord for a code that cannot be read, NoSuchRow beyond the tables
    source : ISO 286-1:2010 (tables confirmed in published catalogues and a textbook)
    """
    found = CODE.fullmatch(code.strip())
    if not found:
        raise BadTestRecord(
            what=f"The tolerance {code!r}", reason="write a letter and a grade, as H7 or g6"
        )
    letter, grade = found[1], int(found[2])
    width = _width(grade, nominal_mm, tables)
    rows: tuple[Row, ...] = (width.row,)
    if letter.lower() == "js":
        half = width.width_um / 2
        return FitLimits(code=code, nominal_mm=nominal_mm, lower_um=-half, upper_um=half, rows=rows)
    if letter == "J":
        raise BadTestRecord(
            what=f"The tolerance {code!r}",
            reason="holes of the letter J have a table of their own, which is not held; use JS",
        )
    shaft = _deviation(letter.lower(), grade, nominal_mm, tables)
    rows = (*rows, shaft.row)
    if letter.islower():
        lower, upper = _zone(shaft.deviation_um, width.width_um, upper=shaft.upper)
    else:
        # A hole is the mirror of the shaft: its lower deviation is the shaft's upper one, turned.
        shift, more = _shift(letter, grade, nominal_mm, width, shaft.deviation_um, tables)
        rows = (*rows, *more)
        lower, upper = _zone(-shaft.deviation_um + shift, width.width_um, upper=not shaft.upper)
    return FitLimits(code=code, nominal_mm=nominal_mm, lower_um=lower, upper_um=upper, rows=rows)


def _zone(deviation_um: float, width_um: float, *, upper: bool) -> tuple[float, float]:
    if upper:
        return deviation_um - width_um, deviation_um
    return deviation_um, deviation_um + width_um


def _shift(
    letter: str,
    grade: int,
    nominal_mm: float,
    width: GradeWidth,
    deviation_um: float,
    tables: FitTables,
) -> tuple[float, tuple[Row, ...]]:
    """By how much a hole leaves the mirror of its shaft, and the rows for it [µm].

    Close holes of fine grades are shifted by Δ = ITn − IT(n−1); M6 of one range by 2 µm more; N of
    coarse grades ends at the nominal size.
    """
    if letter == "N" and grade > 8 and NO_SHIFT_TO_MM < nominal_mm <= NO_SHIFT_FROM_MM:
        return deviation_um, (COARSE_N_ROW,)
    fine = (letter in SHIFTED_TO_IT8 and grade <= 8) or (letter in SHIFTED_TO_IT7 and grade <= 7)
    if not fine or not NO_SHIFT_TO_MM < nominal_mm <= NO_SHIFT_FROM_MM:
        return 0.0, ()
    finer = _width(grade - 1, nominal_mm, tables)
    shift = width.width_um - finer.width_um
    if (letter, grade) == ("M", 6) and M6_OVER_MM < nominal_mm <= M6_TO_MM:
        return shift + M6_MORE_UM, (finer.row, M6_ROW)
    return shift, (finer.row, SHIFT_ROW)


def _width(grade: int, nominal_mm: float, tables: FitTables) -> GradeWidth:
    for width in tables.widths:
        if width.grade == grade and width.over_mm < nominal_mm <= width.to_mm:
            return width
    known = sorted({width.grade for width in tables.widths})
    highest = max((w.to_mm for w in tables.widths if w.grade == grade), default=0.0)
    raise NoSuchRow(
        table="The table of tolerance grades",
        what=f"IT{grade} at {nominal_mm:g} mm",
        covers=(
            f"IT{grade} over 0 to {highest:g} mm"
            if highest
            else f"IT{known[0]} to IT{known[-1]}"
            if known
            else "nothing"
        ),
    )


def _deviation(letter: str, grade: int, nominal_mm: float, tables: FitTables) -> ShaftDeviation:
    for row in tables.deviations:
        if (
            row.letter == letter
            and row.grade_low <= grade <= row.grade_high
            and row.over_mm < nominal_mm <= row.to_mm
        ):
            return row
    raise NoSuchRow(
        table="The table of fundamental deviations",
        what=f"{letter}{grade} at {nominal_mm:g} mm",
        covers=", ".join(sorted({row.letter for row in tables.deviations})) or "nothing",
    )


@dataclass(frozen=True, kw_only=True)
class Fit:
    """A hole and a shaft together.

    hole, shaft : resolved
    least_um, most_um : clearance, negative for interference [µm]
    kind : clearance, transition or interference
    """

    hole: FitLimits
    shaft: FitLimits
    least_um: float
    most_um: float
    kind: str


def resolve_fit(code: str, nominal_mm: float, tables: FitTables) -> Fit:
    """A fit such as H7/k6.

    code : of hole and shaft
    nominal_mm : > 0 [mm]
    tables : of the standard
    returns : both resolved, with the clearance
    raises : BadTestRecord, NoSuchRow
    """
    hole_code, slash, shaft_code = (part.strip() for part in code.partition("/"))
    if not slash or not hole_code[:1].isupper() or not shaft_code[:1].islower():
        raise BadTestRecord(what=f"The fit {code!r}", reason="write hole over shaft, as H7/k6")
    hole, shaft = resolve(hole_code, nominal_mm, tables), resolve(shaft_code, nominal_mm, tables)
    least, most = hole.lower_um - shaft.upper_um, hole.upper_um - shaft.lower_um
    kind = "clearance" if least >= 0 else "interference" if most <= 0 else "transition"
    return Fit(hole=hole, shaft=shaft, least_um=least, most_um=most, kind=kind)


def written_out(
    what: str, nominal_mm: float, lower_um: float, upper_um: float, rows: Sequence[Row] = ()
) -> Limits:
    """Limits of a size with deviations written out on the drawing.

    what : the characteristic
    nominal_mm : [mm]
    lower_um, upper_um : deviations, lower <= upper [µm]
    rows : they come from
    returns : limits in millimetres
    """
    return Limits(
        what=f"{what} {nominal_mm:g}",
        unit="mm",
        lowest=nominal_mm + lower_um / 1000,
        highest=nominal_mm + upper_um / 1000,
        rows=tuple(rows),
    )
