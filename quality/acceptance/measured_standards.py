"""Rows of the house's tables for measured records: fits, castings, running parts, balance."""

import math

from quality.acceptance.balance import BalanceGrade
from quality.acceptance.castings import AllowanceRow, CastingWidth
from quality.acceptance.errors import NoSuchRow
from quality.acceptance.evidence import Certainty, Row
from quality.acceptance.fits import FitTables, GradeWidth, ShaftDeviation
from quality.acceptance.heats import GradeLimit
from quality.acceptance.patterns import ContractionRow
from quality.acceptance.running import ClearanceRow, GallingRow, RunningLimit
from quality.acceptance.standards import Tables
from selection.materials.metals import Metal

IT_GRADES = "iso286_it"
DEVIATIONS = "iso286_deviations"
CASTING = "iso8062_3_dctg"
ALLOWANCE = "iso8062_3_rmag"
RINGS = "api610_ring_clearance"
RUNNING = "running_limits"
BALANCE = "iso21940_11_grades"
CONTRACTION = "pattern_contraction"
DWELL = "penetrant_times"


def fit_tables(tables: Tables) -> FitTables:
    """Limits and fits.

    tables : of standards
    returns : both tables
    """
    return FitTables(
        widths=tuple(
            GradeWidth(
                grade=row.integer("grade"),
                over_mm=row.number("over_mm"),
                to_mm=row.number("to_mm"),
                width_um=row.number("tolerance_um"),
                row=tables.evidence(row),
            )
            for row in tables.of(IT_GRADES)
        ),
        deviations=tuple(
            ShaftDeviation(
                letter=row.text("letter"),
                upper=row.text("deviation") == "es",
                over_mm=row.number("over_mm"),
                to_mm=row.number("to_mm"),
                grade_low=row.integer("grade_low"),
                grade_high=row.integer("grade_high"),
                deviation_um=row.number("deviation_um"),
                row=tables.evidence(row),
            )
            for row in tables.of(DEVIATIONS)
        ),
    )


def casting_widths(tables: Tables) -> tuple[CastingWidth, ...]:
    """Casting tolerances.

    tables : of standards
    returns : all rows
    """
    return tuple(
        CastingWidth(
            grade=row.integer("grade"),
            over_mm=row.number("over_mm"),
            to_mm=row.number("to_mm"),
            width_mm=row.number("tolerance_mm"),
            row=tables.evidence(row),
        )
        for row in tables.of(CASTING)
    )


def machining_allowances(tables: Tables) -> tuple[AllowanceRow, ...]:
    """Required machining allowances.

    tables : of standards
    returns : all rows
    """
    return tuple(
        AllowanceRow(
            grade=row.text("grade"),
            over_mm=row.number("over_mm"),
            to_mm=row.number("to_mm"),
            allowance_mm=row.number("allowance_mm"),
            row=tables.evidence(row),
        )
        for row in tables.of(ALLOWANCE)
    )


def ring_clearances(tables: Tables) -> tuple[ClearanceRow, ...]:
    """Least wear-ring clearances by diameter.

    tables : of standards
    returns : all rows with a diameter
    """
    return tuple(
        ClearanceRow(
            from_mm=row.number("diameter_from_mm"),
            below_mm=(
                row.number("diameter_below_mm") if row.has("diameter_below_mm") else math.inf
            ),
            clearance_mm=row.number("clearance_mm"),
            further_mm_per_mm=(
                row.number("further_mm_per_mm") if row.has("further_mm_per_mm") else 0.0
            ),
            row=tables.evidence(row, "clearance_mm"),
        )
        for row in tables.of(RINGS)
        if row.has("diameter_from_mm") and row.has("clearance_mm")
    )


def galling_row(tables: Tables) -> GallingRow:
    """What metals that gall add to the clearance.

    tables : of standards
    returns : the row
    raises : NoSuchRow
    """
    for row in tables.of(RINGS):
        if row.has("addition_mm"):
            return GallingRow(addition_mm=row.number("addition_mm"), row=tables.evidence(row))
    raise NoSuchRow(table=RINGS, what="metals that gall", covers="plain clearances only")


def running_limits(tables: Tables) -> tuple[RunningLimit, ...]:
    """Limits of run-out and alignment.

    tables : of standards
    returns : all rows
    """
    return tuple(
        RunningLimit(
            part=row.text("part"),
            highest=row.number("highest"),
            unit=row.text("unit"),
            row=tables.evidence(row),
        )
        for row in tables.of(RUNNING)
    )


def balance_grade(tables: Tables, grade_mm_s: float, *, standard: str = "") -> BalanceGrade:
    """A balance quality grade.

    tables : of standards
    grade_mm_s : G [mm/s]
    standard : that asks for it, empty for any
    returns : the grade with its row
    raises : NoSuchRow
    """
    for row in tables.of(BALANCE):
        if row.number("grade_mm_s") == grade_mm_s and standard in ("", row.standard):
            return BalanceGrade(grade_mm_s=grade_mm_s, row=tables.evidence(row))
    raise NoSuchRow(
        table=BALANCE,
        what=f"G {grade_mm_s:g}",
        covers=", ".join(row.name for row in tables.of(BALANCE)),
    )


def contractions(tables: Tables) -> tuple[ContractionRow, ...]:
    """Contraction of the families of metals.

    tables : of standards
    returns : all rows
    """
    return tuple(
        ContractionRow(
            family=row.text("family"),
            lowest=row.number("lowest_pct") / 100,
            usual=row.number("usual_pct") / 100,
            highest=row.number("highest_pct") / 100,
            row=tables.evidence(row),
        )
        for row in tables.of(CONTRACTION)
    )


def least_dwell(tables: Tables, name: str) -> tuple[float, Row]:
    """Least penetrant dwell by the row's name.

    tables : of standards
    name : of the row
    returns : time [min] and its row
    raises : NoSuchRow
    """
    for row in tables.of(DWELL):
        if row.name == name and row.text("step") == "dwell":
            return row.number("minutes_low"), tables.evidence(row)
    raise NoSuchRow(table=DWELL, what=name, covers=", ".join(row.name for row in tables.of(DWELL)))


def mechanical_limits(metal: Metal) -> tuple[GradeLimit, ...]:
    """Strength and hardness limits of a metal's specification.

    metal : of the list of metals
    returns : a limit for everything that its specification states
    """

    def row(what: str, *columns: str) -> Row:
        return Row(
            standard=metal.spec,
            name=f"{what} of {metal.name}",
            certainty=Certainty(str(metal.certainty_of(*columns))),
        )

    limits = [
        GradeLimit(what=what, unit=unit, lowest=value, highest=None, row=row(what, column))
        for what, unit, column in (
            ("tensile strength", "MPa", "tensile_mpa"),
            ("proof strength", "MPa", "proof_mpa"),
            ("elongation", "%", "elongation_pct"),
        )
        if (value := getattr(metal, column)) is not None
    ]
    low, high = metal.hardness_low_hb, metal.hardness_high_hb
    # Both the same means that only a typical hardness is known, which is no limit.
    if low is not None and high is not None and low < high:
        hardness = row("hardness", "hardness_low_hb", "hardness_high_hb")
        limits.append(
            GradeLimit(what="hardness", unit="HB", lowest=low, highest=high, row=hardness)
        )
    return tuple(limits)
