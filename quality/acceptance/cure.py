"""What would make a failed test pass: a trim or another speed, within the standard's limits.

Measured points are converted to a smaller impeller by the standard's rule, or to another speed by
the affinity laws, and judged again. The smallest change that passes is told, and whether the rule
still holds so far; a new test decides, not this.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from quality.acceptance.errors import NotANumber
from quality.acceptance.evidence import Outcome, Row, distinct
from quality.acceptance.grades import Guarantee, Tolerances
from quality.acceptance.performance import judge
from quality.acceptance.rated_speed import SpeedLimits
from quality.acceptance.readings import STANDARD_GRAVITY, Point
from quality.acceptance.verdicts import PerformanceVerdict, Settings

STEPS = 60
"""Changes tried between none and the limit; the smallest that passes is then narrowed down."""


@dataclass(frozen=True, kw_only=True)
class TrimRules:
    """How far the conversion to a smaller impeller holds.

    reduction : of the diameter, as a share [-]
    type_number : highest K [-]
    unchanged : reduction up to which efficiency is taken as unchanged [-]
    rows : of standards
    """

    reduction: float
    type_number: float
    unchanged: float
    rows: tuple[Row, ...]


@dataclass(frozen=True, kw_only=True)
class Cure:
    """A change that would pass.

    kind : "trim" or "speed"
    change : new diameter or speed over the old [-]
    diameter_mm : after the trim, None for a speed [mm]
    speed_rpm : new rated speed, None for a trim [rev/min]
    verdict : on the converted points
    within_rule : the standard's conversion still holds so far
    sentences : what it would do, and what limits it
    rows : of standards used
    """

    kind: str
    change: float
    diameter_mm: float | None
    speed_rpm: float | None
    verdict: PerformanceVerdict
    within_rule: bool
    sentences: tuple[str, ...]
    rows: tuple[Row, ...]


def type_number(
    flow_m3s: float, head_m: float, speed_rpm: float, *, eyes: int = 2, stages: int = 1
) -> float:
    """Type number K at best efficiency.

    flow_m3s : of the pump, > 0 [m3/s]
    head_m : of the pump, > 0 [m]
    speed_rpm : > 0 [rev/min]
    eyes : 2 for a double-suction impeller
    stages : >= 1
    returns : K [-]
    source : K = 2π·n·√Q'/(gH')^0.75, Q' for one eye, n in rev/s; ISO 9906, Hydraulic Institute
        engineering data equation 1.D.3 (confirmed)
    """
    turns = speed_rpm / 60
    per_stage = math.pow(STANDARD_GRAVITY * head_m / stages, 0.75)
    return 2 * math.pi * turns * math.sqrt(flow_m3s / eyes) / per_stage


def trim_ratio(diameter_mm: float, trimmed_mm: float, inlet_mm: float) -> float:
    """How a trim scales flow; head goes with its square.

    diameter_mm : as tested, > inlet_mm [mm]
    trimmed_mm : inlet_mm < trimmed_mm <= diameter_mm [mm]
    inlet_mm : mean diameter of the inlet edges, > 0 [mm]
    returns : R [-]
    raises : NotANumber
    source : R = √((D_r² − D_1²)/(D_t² − D_1²)); ISO 9906:1999, 6.4 (from memory)
    """
    if not 0 < inlet_mm < trimmed_mm <= diameter_mm:
        raise NotANumber(
            what="The trimmed diameter",
            value=f"{trimmed_mm:g} mm",
            right=f"above the inlet's {inlet_mm:g} mm and at most {diameter_mm:g} mm",
        )
    return math.sqrt((trimmed_mm**2 - inlet_mm**2) / (diameter_mm**2 - inlet_mm**2))


def trimmed(points: Sequence[Point], ratio: float) -> tuple[Point, ...]:
    """Points converted to a trimmed impeller, efficiency unchanged.

    points : as measured
    ratio : of flow, above 0 and at most 1 [-]
    returns : points
    source : Q_r = R·Q, H_r = R²·H, P_r = R³·P
    """
    return tuple(
        replace(
            point,
            flow_m3s=point.flow_m3s * ratio,
            head_m=point.head_m * ratio**2,
            shaft_power_w=None if point.shaft_power_w is None else point.shaft_power_w * ratio**3,
        )
        for point in points
    )


def cure_by_trim(
    points: Sequence[Point],
    guarantee: Guarantee,
    tolerances: Tolerances,
    *,
    limits: SpeedLimits,
    settings: Settings,
    rules: TrimRules,
    diameter_mm: float,
    inlet_mm: float,
    least_mm: float,
    type_number_k: float,
) -> Cure | None:
    """The smallest trim that would pass.

    points : as measured, at test speed
    guarantee, tolerances, limits, settings : as the test was judged
    rules : how far the conversion holds
    diameter_mm, inlet_mm : of the impeller as tested [mm]
    least_mm : that the impeller may be cut to [mm]
    type_number_k : at best efficiency [-]
    returns : the trim, None when no trim down to `least_mm` passes
    raises : NotANumber
    """
    lowest = max(least_mm, inlet_mm * 1.001)
    converted = _without_points_rule(settings)

    def tried(diameter: float) -> PerformanceVerdict:
        ratio = trim_ratio(diameter_mm, diameter, inlet_mm)
        return judge(
            trimmed(points, ratio), guarantee, tolerances, limits=limits, settings=converted
        )

    found = _smallest(tried, diameter_mm, lowest)
    if found is None:
        return None
    diameter, verdict = found
    reduction = 1 - diameter / diameter_mm
    within = reduction <= rules.reduction + 1e-9 and type_number_k <= rules.type_number
    sentences = [
        f"Cut the impeller from {diameter_mm:.1f} to {diameter:.1f} mm ({100 * reduction:.1f} %); "
        "cut to 1 to 2 % above the calculated diameter first, test, then finish."
    ]
    if not within:
        sentences.append(
            f"The conversion holds for trims up to {100 * rules.reduction:g} % and K up to "
            f"{rules.type_number:g} (here {type_number_k:.2f}): a new test must show it."
        )
    if reduction > rules.unchanged + 1e-9:
        sentences.append(
            f"Efficiency is taken as unchanged only up to {100 * rules.unchanged:g} %; expect less."
        )
    return Cure(
        kind="trim",
        change=diameter / diameter_mm,
        diameter_mm=diameter,
        speed_rpm=None,
        verdict=verdict,
        within_rule=within,
        sentences=tuple(sentences),
        rows=distinct([*rules.rows, *verdict.rows]),
    )


def cure_by_speed(
    points: Sequence[Point],
    guarantee: Guarantee,
    tolerances: Tolerances,
    *,
    limits: SpeedLimits,
    settings: Settings,
    lowest_rpm: float,
    highest_rpm: float,
    motor_rating_w: float | None = None,
    working_pressure_pa: float | None = None,
    rated_pressure_pa: float | None = None,
) -> Cure | None:
    """The smallest change of speed that would pass.

    points : as measured, at test speed
    guarantee, tolerances, limits, settings : as the test was judged
    lowest_rpm, highest_rpm : that driver and contract allow [rev/min]
    motor_rating_w : that shaft power may not exceed, None to leave it out [W]
    working_pressure_pa : highest, at the speed guaranteed, gauge [Pa]
    rated_pressure_pa : that the casing is made for, gauge [Pa]
    returns : the speed, None when no speed allowed passes
    source : affinity laws; the guarantee's flow, head and power stay what they are
    """

    converted = _without_points_rule(settings)

    def tried(speed: float) -> PerformanceVerdict:
        # A pump run faster by s gives what its points at rated speed give after scaling by s.
        scale = speed / guarantee.speed_rpm
        faster = tuple(
            replace(
                point,
                flow_m3s=point.flow_m3s * scale,
                head_m=point.head_m * scale**2,
                shaft_power_w=(
                    None if point.shaft_power_w is None else point.shaft_power_w * scale**3
                ),
            )
            for point in points
        )
        return judge(faster, guarantee, tolerances, limits=limits, settings=converted)

    options = [
        found
        for end in (lowest_rpm, highest_rpm)
        if (found := _smallest(tried, guarantee.speed_rpm, end)) is not None
    ]
    if not options:
        return None
    speed, verdict = min(options, key=lambda found: abs(found[0] - guarantee.speed_rpm))
    scale = speed / guarantee.speed_rpm
    sentences = [
        f"Run at {speed:.0f} instead of {guarantee.speed_rpm:.0f} rev/min ({100 * scale - 100:+.1f}"
        " %); the contract's speed changes, so the buyer has to agree."
    ]
    within = bool(limits.head.lowest <= 1 / scale <= limits.head.highest)
    powers = [p for p in verdict.points.power.tolist() if math.isfinite(p)]
    if motor_rating_w is not None and powers and max(powers) > motor_rating_w:
        within = False
        sentences.append(
            f"The motor of {motor_rating_w / 1000:g} kW is too small: {max(powers) / 1000:.1f} kW "
            "were measured on the curve."
        )
    if working_pressure_pa is not None and rated_pressure_pa is not None:
        pressure = working_pressure_pa * scale**2
        if pressure > rated_pressure_pa:
            within = False
            sentences.append(
                f"The highest pressure becomes {pressure / 1e5:.1f} bar; the casing is made for "
                f"{rated_pressure_pa / 1e5:.1f} bar."
            )
    return Cure(
        kind="speed",
        change=scale,
        diameter_mm=None,
        speed_rpm=speed,
        verdict=verdict,
        within_rule=within,
        sentences=tuple(sentences),
        rows=distinct([limits.head.row, *verdict.rows]),
    )


def _without_points_rule(settings: Settings) -> Settings:
    """Converted points are no new test, and need not lie about the guarantee point as in one."""
    return replace(settings, minimum_points=False)


def _smallest(
    tried: Callable[[float], PerformanceVerdict], start: float, end: float
) -> tuple[float, PerformanceVerdict] | None:
    """The value nearest to `start`, towards `end`, whose verdict passes."""
    last = start
    for step in range(STEPS + 1):
        value = start + (end - start) * step / STEPS
        verdict = tried(value)
        if verdict.outcome is not Outcome.PASSED:
            last = value
            continue
        if step == 0:
            return value, verdict
        good, found = value, verdict
        for _ in range(20):
            middle = (last + good) / 2
            verdict = tried(middle)
            if verdict.outcome is Outcome.PASSED:
                good, found = middle, verdict
            else:
                last = middle
        return good, found
    return None
