"""The house's tables of standards, as the rows that this package judges by.

The values live once, in the CSV tables of `works.standards`; this module is the only place that
knows their column names. An app that keeps the rows in its database, where somebody checks them
against the bought standard, hands its own rows in; the shipped ones are the default.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property

from quality.acceptance.errors import NoSuchRow
from quality.acceptance.evidence import Certainty, Row
from quality.acceptance.grades import GradeRow, PointsRow, SmallPowerRow
from quality.acceptance.pressures import GaugeRange, PressureRule
from quality.acceptance.rated_speed import SpeedLimits, SpeedRange
from quality.acceptance.uncertainty import UncertaintyLimit
from works.standards import StandardRow, load_all

GRADES = "iso9906_grades"
POINTS = "iso9906_test_points"
DEFAULT_GRADE = "iso9906_default_grade"
SMALL_POWER = "iso9906_small_power"
CONDITIONS = "iso9906_conditions"
UNCERTAINTY = "iso9906_uncertainty"
PRESSURE_RULES = "hydrostatic_rules"
PRESSURE_CONDITIONS = "hydrostatic_conditions"

ISO_9906 = "ISO 9906"


@dataclass(frozen=True, kw_only=True)
class Tables:
    """Rows of all tables, and who checked which of them against our copy.

    rows : of any tables, as `works.standards` reads or restores them
    checked : "by … on …" by the row's key
    """

    rows: tuple[StandardRow, ...]
    checked: Mapping[str, str]

    def of(self, table: str) -> tuple[StandardRow, ...]:
        """The rows of one table.

        table : its name
        returns : in the table's order
        raises : NoSuchRow when there are none
        """
        if table not in self._by_table:
            raise NoSuchRow(table=table, what="any question", covers="nothing: it was not given")
        return self._by_table[table]

    @cached_property
    def _by_table(self) -> Mapping[str, tuple[StandardRow, ...]]:
        found: dict[str, list[StandardRow]] = {}
        for row in self.rows:
            found.setdefault(row.table, []).append(row)
        return {table: tuple(rows) for table, rows in found.items()}

    def evidence(self, row: StandardRow, *columns: str) -> Row:
        """A table's row as evidence, with the certainty of the columns that are used.

        row : of a table
        columns : used in the verdict; all of them when none is named
        returns : for the verdict
        """
        sure = row.certainty_of(*columns) if columns else row.certainty
        return Row(
            standard=row.standard,
            edition="" if row.edition == "undated" else row.edition,
            clause=row.clause,
            name=row.name,
            certainty=Certainty(str(sure)),
            checked=self.checked.get(row.key, ""),
        )


@cache
def house_tables() -> Tables:
    """The tables as shipped, none of them checked against our copy yet.

    returns : all rows
    """
    return Tables(rows=load_all(), checked={})


def measuring_class(grade: str) -> str:
    """Which column of the instrument tables a grade belongs to.

    grade : e.g. 1B, 2U, 3B, 1, A
    returns : "1" or "2"
    """
    return "1" if grade.startswith("1") else "2"


def grade_rows(tables: Tables) -> tuple[GradeRow, ...]:
    """Every acceptance grade of every edition.

    tables : of standards
    returns : grades with the points they need
    """
    return tuple(
        GradeRow(
            standard=row.standard,
            edition=row.edition,
            grade=row.text("grade"),
            flow_minus=-row.number("flow_low_pct") / 100,
            flow_plus=row.number("flow_high_pct") / 100,
            head_minus=-row.number("head_low_pct") / 100,
            head_plus=row.number("head_high_pct") / 100,
            power_plus=(row.number("power_high_pct") / 100 if row.has("power_high_pct") else None),
            efficiency_minus=-row.number("efficiency_low_pct") / 100,
            points=points_row(tables, row.edition, measuring_class(row.text("grade"))),
            measuring_class=measuring_class(row.text("grade")),
            row=tables.evidence(row),
        )
        for row in tables.of(GRADES)
    )


def default_grade(tables: Tables, application: str, shaft_power_w: float) -> tuple[str, Row]:
    """The grade that holds when the contract names none.

    tables : of standards
    application : as the table names it
    shaft_power_w : > 10 kW [W]
    returns : grade of the 2012 edition, and the row that gave it
    raises : NoSuchRow for an application or a power that the table does not have
    source : ISO 9906:2012, 4.5 (default grades of ANSI/HI 14.6-2011, secondary text)
    """
    for row in tables.of(DEFAULT_GRADE):
        if row.text("application") != application:
            continue
        column = "grade_over_100_kw" if shaft_power_w > 100e3 else "grade_10_to_100_kw"
        if shaft_power_w > 10e3 and row.has(column):
            return row.text(column), tables.evidence(row, column)
        break
    raise NoSuchRow(
        table=DEFAULT_GRADE,
        what=f"{application} at {shaft_power_w / 1000:g} kW",
        covers="above 10 kW: " + "; ".join(r.text("application") for r in tables.of(DEFAULT_GRADE)),
    )


def points_row(tables: Tables, edition: str, instruments: str) -> PointsRow:
    """How many readings a guarantee point needs.

    tables : of standards
    edition : of ISO 9906
    instruments : measuring class, "1" or "2"
    returns : the row
    raises : NoSuchRow
    """
    for row in tables.of(POINTS):
        if row.edition == edition and row.text("grades").startswith(instruments):
            return PointsRow(
                needed=row.integer("points"),
                lowest=row.number("flow_low_ratio"),
                highest=row.number("flow_high_ratio"),
                row=tables.evidence(row),
            )
    raise NoSuchRow(
        table=POINTS,
        what=f"measuring class {instruments} of edition {edition}",
        covers=", ".join(row.name for row in tables.of(POINTS)),
    )


def small_power_row(tables: Tables) -> SmallPowerRow:
    """The rule for pumps of little power.

    tables : of standards
    returns : the row
    """
    row = tables.of(SMALL_POWER)[0]
    base = row.number("efficiency_base_pct") / 100
    return SmallPowerRow(
        limit_w=1000 * row.number("power_to_kw"),
        flow=row.number("flow_pct") / 100,
        head=row.number("head_pct") / 100,
        efficiency_base=base,
        efficiency_slope=row.number("efficiency_slope_pct") / 100,
        # The table's note: power is the root of the sum of squares of this base and of the
        # tolerance on efficiency.
        power_base=base,
        row=tables.evidence(row, "flow_pct", "head_pct"),
        efficiency_row=tables.evidence(row, "efficiency_slope_pct", "efficiency_base_pct"),
    )


def speed_limits(tables: Tables) -> SpeedLimits:
    """How far the test speed may lie from rated speed.

    tables : of standards
    returns : the ranges for head, efficiency and NPSH
    """
    by_quantity = {row.text("quantity"): row for row in tables.of(CONDITIONS)}

    def allowed(quantity: str) -> SpeedRange:
        row = by_quantity[quantity]
        return SpeedRange(
            lowest=row.number("lowest") / 100,
            highest=row.number("highest") / 100,
            row=tables.evidence(row),
        )

    return SpeedLimits(
        head=allowed("test speed for flow, head and power"),
        efficiency=allowed("test speed for efficiency unchanged"),
        npsh=allowed("test speed for NPSH"),
    )


def pressure_rules(tables: Tables) -> tuple[PressureRule, ...]:
    """Every rule a hydrostatic test may be done by.

    tables : of standards
    returns : rules in the table's order; those with a band of power stand once a band
    """
    return tuple(
        PressureRule(
            name=row.name,
            factor=row.number("factor"),
            duty_factor=row.number("duty_factor") if row.has("duty_factor") else None,
            least_pa=1e5 * row.number("least_pressure_bar") if row.has("least_pressure_bar") else 0,
            duration_s=60 * row.number("minutes"),
            over_w=1000 * row.number("power_over_kw") if row.has("power_over_kw") else 0,
            up_to_w=(1000 * row.number("power_to_kw") if row.has("power_to_kw") else math.inf),
            row=tables.evidence(row),
            factor_row=tables.evidence(row, "factor"),
        )
        for row in tables.of(PRESSURE_RULES)
    )


def gauge_range(tables: Tables) -> GaugeRange:
    """How large the gauges of a hydrostatic test have to be.

    tables : of standards
    returns : the range over the test pressure
    """
    row = named_row(tables, PRESSURE_CONDITIONS, "gauge range over test pressure")
    return GaugeRange(
        lowest=row.number("lowest"), highest=row.number("highest"), row=tables.evidence(row)
    )


def chloride_limit(tables: Tables) -> tuple[float, Row]:
    """Highest chloride of the test water for austenitic steel.

    tables : of standards
    returns : limit [mg/kg] and its row
    """
    row = named_row(
        tables, PRESSURE_CONDITIONS, "chloride in test water on austenitic stainless steel"
    )
    return row.number("highest"), tables.evidence(row)


def named_row(tables: Tables, table: str, name: str) -> StandardRow:
    """The row of a table by its name.

    tables : of standards
    table : its name
    name : of the row
    returns : the row
    raises : NoSuchRow
    """
    for row in tables.of(table):
        if row.name == name:
            return row
    raise NoSuchRow(table=table, what=name, covers=", ".join(row.name for row in tables.of(table)))


def uncertainty_limits(tables: Tables, instruments: str) -> tuple[UncertaintyLimit, ...]:
    """How unsure a measuring class lets each quantity be.

    tables : of standards
    instruments : measuring class, "1" or "2"
    returns : overall and systematic limits
    """
    return tuple(
        UncertaintyLimit(
            overall=row.text("kind") == "overall",
            quantity=row.text("quantity"),
            share=row.number("uncertainty_pct") / 100,
            row=tables.evidence(row),
        )
        for row in tables.of(UNCERTAINTY)
        if row.text("grades").startswith(instruments)
    )
