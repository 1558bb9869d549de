"""Builds the smallest valid things for the acceptance tests."""

from collections.abc import Sequence
from datetime import date
from typing import Any

from quality.acceptance.evidence import Certainty, Row
from quality.acceptance.grades import (
    Guarantee,
    OwnTolerances,
    SmallPowerRow,
    Tolerances,
    find_grade,
    tolerances_for,
)
from quality.acceptance.instruments import Instrument
from quality.acceptance.rated_speed import SpeedLimits
from quality.acceptance.readings import STANDARD_GRAVITY, Point
from quality.acceptance.standards import (
    grade_rows,
    house_tables,
    small_power_row,
    speed_limits,
)
from selection.configuration import Configuration, Flange, PatternWork, Rotation, Sealing

DENSITY = 998.2

EXAMPLE_25: Sequence[tuple[float, float, float, float]] = (
    (0, 55.10, 0, 1488),
    (600, 53.00, 66, 1487),
    (960, 49.60, 80.5, 1485),
    (1090, 47.70, 84.2, 1484),
    (1200, 45.80, 85.6, 1484),
    (1310, 43.50, 85.4, 1483),
    (1440, 40.30, 83.0, 1483),
)
"""Flow [m³/h], head [m], efficiency [%], speed [rev/min]: constructed, exact arithmetic."""


def row(name: str = "a rule", certainty: Certainty = Certainty.MEMORY) -> Row:
    return Row(standard="a standard", edition="2000", clause="1", name=name, certainty=certainty)


def limits() -> SpeedLimits:
    return speed_limits(house_tables())


def guarantee(**changes: float | None) -> Guarantee:
    """1200 m³/h at 45 m and 86 %, 1480 rev/min, cold water."""
    values: dict[str, float | None] = {
        "flow_m3s": 1200 / 3600,
        "head_m": 45.0,
        "speed_rpm": 1480.0,
        "density_kg_m3": DENSITY,
        "efficiency": 0.86,
    }
    return Guarantee(**{**values, **changes})


def grade(
    name: str,
    *,
    edition: str = "2012",
    of: Guarantee | None = None,
    own: OwnTolerances | None = None,
    small_power: SmallPowerRow | None = None,
    shaft_power_w: float | None = None,
) -> Tolerances:
    found = find_grade(grade_rows(house_tables()), standard="ISO 9906", edition=edition, grade=name)
    return tolerances_for(
        found,
        of or guarantee(),
        own=own,
        small_power=small_power or small_power_row(house_tables()),
        shaft_power_w=shaft_power_w,
    )


def points(
    lines: Sequence[tuple[float, float, float, float]] = EXAMPLE_25, *, head_factor: float = 1.0
) -> tuple[Point, ...]:
    """Points at test speed; power follows from the efficiency, a shut valve takes 90 kW."""
    made = []
    for number, (flow_m3h, head, percent, speed) in enumerate(lines, start=1):
        flow = flow_m3h / 3600
        hydraulic = DENSITY * STANDARD_GRAVITY * flow * head
        made.append(
            Point(
                number=number,
                flow_m3s=flow,
                head_m=head * head_factor,
                speed_rpm=speed,
                shaft_power_w=hydraulic / (percent / 100) if percent else 90_000.0,
                density_kg_m3=DENSITY,
            )
        )
    return tuple(made)


def configuration(**changes: Any) -> Configuration:
    """A single-stage split-case pump for 540 m³/h at 62 m with mechanical seals."""
    flange = Flange(standard="EN 1092-2", rating="PN 16", nominal="DN 250")
    values: dict[str, Any] = {
        "size": "TB 250-400",
        "casing_pattern": "C-1001",
        "impeller_pattern": "I-2001",
        "casing_pattern_work": PatternWork.NONE,
        "impeller_pattern_work": PatternWork.NONE,
        "casing_metal": "GJL-250",
        "impeller_metal": "CC480K",
        "ring_metal": "CC480K",
        "shaft_metal": "1.4021",
        "sleeve_metal": "1.4021",
        "casing_heat_treated": False,
        "crack_test": False,
        "impeller_diameter_mm": 402.0,
        "speed_rpm": 1480.0,
        "rotation": Rotation.CLOCKWISE,
        "duty_flow_m3s": 0.15,
        "duty_head_m": 62.0,
        "efficiency": 0.84,
        "npshr_m": 4.2,
        "shutoff_head_m": 76.0,
        "motor_rating_w": 132_000.0,
        "motor_poles": 4,
        "motor_special": False,
        "suction_flange": flange,
        "discharge_flange": flange,
        "sealing": Sealing.MECHANICAL_SEAL,
        "flush_plan": "11",
        "suction_pressure_max_pa": 1.0e5,
        "working_pressure_max_pa": 9.0e5,
        "test_pressure_pa": 13.5e5,
        "box_pressure_max_pa": 2.5e5,
        "seal_static_limit_pa": 16.0e5,
        "casing_mass_kg": 640.0,
        "impeller_mass_kg": 42.0,
        "pump_mass_kg": 1150.0,
    }
    return Configuration(**{**values, **changes})


def pressure_gauge(tag: str = "PG-01", **changes: Any) -> Instrument:
    """0 to 40 bar, 0.6 % of full scale, in calibration through 2026."""
    values: dict[str, Any] = {
        "tag": tag,
        "measures": "pressure",
        "unit": "bar",
        "lowest": 0.0,
        "highest": 40.0,
        "resolution": 0.05,
        "uncertainty_fixed": 0.24,
        "calibrated_on": date(2026, 1, 10),
        "due_on": date(2026, 12, 31),
        "certificate": "K-117",
    }
    return Instrument(**{**values, **changes})
