"""Builds the smallest valid things for the acceptance tests."""

from collections.abc import Sequence

from quality.acceptance.evidence import Certainty, Row
from quality.acceptance.grades import (
    Guarantee,
    OwnTolerances,
    SmallPowerRow,
    Tolerances,
    find_grade,
    tolerances_for,
)
from quality.acceptance.rated_speed import SpeedLimits
from quality.acceptance.readings import STANDARD_GRAVITY, Point
from quality.acceptance.standards import (
    grade_rows,
    house_tables,
    small_power_row,
    speed_limits,
)

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
    return Guarantee(**{**values, **changes})  # type: ignore[arg-type]


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
