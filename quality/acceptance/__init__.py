"""Whether a pump is accepted: from the numbers on a test sheet to a verdict with its reasons.

`write_plan` says what is inspected when, by rules from the pump and the contract's terms.
On the bed `look_over` reads the readings over: what is odd is said, nothing is dropped. `judge`
brings the pump's points to rated speed and density within the standard's limits, lays a curve
through them and judges flow and head by the tolerance cross, efficiency or power along the line
through the origin. `judge_pressure_test` and `judge_seal_test` do the same for water tests.
Values of standards come in as rows, by default from the house's tables (`house_tables`); every
verdict names the rows it used and how sure they are. A failed test is a result with its reasons;
an `AcceptanceError` means that the question was wrong.
"""

from quality.acceptance.curves import Curve, DrawnCurve, Pieces, curve_through, drawn_through
from quality.acceptance.errors import AcceptanceError
from quality.acceptance.evidence import Certainty, Outcome, Row, least_certain
from quality.acceptance.grades import (
    GradeRow,
    Guarantee,
    OwnTolerances,
    PointsRow,
    SmallPowerRow,
    Tolerance,
    Tolerances,
    find_grade,
    tolerances_for,
)
from quality.acceptance.hydrostatic import (
    GaugeReading,
    Leak,
    LeakKind,
    Place,
    PressureRecord,
    PressureVerdict,
    judge_pressure_test,
)
from quality.acceptance.instruments import (
    Calibration,
    Instrument,
    RecordTaken,
    Validity,
    records_in_doubt,
    require_in_range,
    require_valid,
    validity,
)
from quality.acceptance.performance import judge, judge_readings
from quality.acceptance.plan import PlannedPoint, write_plan
from quality.acceptance.plan_rules import (
    Letter,
    PlanRule,
    Timing,
    read_rules,
    rules_from_json,
    standard_rules,
)
from quality.acceptance.pressures import (
    CAUTIONS,
    GaugeRange,
    PressureRule,
    Step,
    TestPressure,
    find_rule,
    pressure_to_test,
    step_plan,
)
from quality.acceptance.rated_speed import RatedPoints, SpeedLimits, SpeedRange, bring_to_rated
from quality.acceptance.readings import (
    Liquid,
    MotorCurve,
    Point,
    Reading,
    SetUp,
    Tapping,
    points_of,
    total_head,
)
from quality.acceptance.remarks import Kind, Remark, Weight, look_over, stopping
from quality.acceptance.seal_test import (
    SealPressure,
    SealRecord,
    SealVerdict,
    judge_seal_test,
    seal_pressure,
)
from quality.acceptance.standards import (
    Tables,
    chloride_limit,
    gauge_range,
    grade_rows,
    house_tables,
    pressure_rules,
    small_power_row,
    speed_limits,
)
from quality.acceptance.terms import Terms, Witnessable
from quality.acceptance.units import SI_UNITS, Unit
from quality.acceptance.verdicts import (
    CrossRule,
    MissingReadings,
    PerformanceVerdict,
    QuantityVerdict,
    Settings,
)

__all__ = [
    "CAUTIONS",
    "SI_UNITS",
    "AcceptanceError",
    "Calibration",
    "Certainty",
    "CrossRule",
    "Curve",
    "DrawnCurve",
    "GaugeRange",
    "GaugeReading",
    "GradeRow",
    "Guarantee",
    "Instrument",
    "Kind",
    "Leak",
    "LeakKind",
    "Letter",
    "Liquid",
    "MissingReadings",
    "MotorCurve",
    "Outcome",
    "OwnTolerances",
    "PerformanceVerdict",
    "Pieces",
    "Place",
    "PlanRule",
    "PlannedPoint",
    "Point",
    "PointsRow",
    "PressureRecord",
    "PressureRule",
    "PressureVerdict",
    "QuantityVerdict",
    "RatedPoints",
    "Reading",
    "RecordTaken",
    "Remark",
    "Row",
    "SealPressure",
    "SealRecord",
    "SealVerdict",
    "SetUp",
    "Settings",
    "SmallPowerRow",
    "SpeedLimits",
    "SpeedRange",
    "Step",
    "Tables",
    "Tapping",
    "Terms",
    "TestPressure",
    "Timing",
    "Tolerance",
    "Tolerances",
    "Unit",
    "Validity",
    "Weight",
    "Witnessable",
    "bring_to_rated",
    "chloride_limit",
    "curve_through",
    "drawn_through",
    "find_grade",
    "find_rule",
    "gauge_range",
    "grade_rows",
    "house_tables",
    "judge",
    "judge_pressure_test",
    "judge_readings",
    "judge_seal_test",
    "least_certain",
    "look_over",
    "points_of",
    "pressure_rules",
    "pressure_to_test",
    "read_rules",
    "records_in_doubt",
    "require_in_range",
    "require_valid",
    "rules_from_json",
    "seal_pressure",
    "small_power_row",
    "speed_limits",
    "standard_rules",
    "step_plan",
    "stopping",
    "tolerances_for",
    "total_head",
    "validity",
    "write_plan",
]
