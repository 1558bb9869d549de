"""Checks of the rotor: radial thrust, shaft, bearings, critical speed, start."""

from functools import cache

import numpy as np

from selection.hydraulics.checks.table import (
    AGAINST,
    CAUTION,
    GOOD,
    Judged,
    check,
    first_true,
)
from selection.hydraulics.door import Certainty, Floats
from selection.hydraulics.driver import RUN_UP_SHARE, TYPICAL_TORQUE
from selection.hydraulics.lineup import Lineup
from selection.hydraulics.mechanics import (
    bearing_life_h,
    shaft_deflection_mm,
    shaft_shear_pa,
    shaft_torque_nm,
)

NOT_KNOWN = (CAUTION, "Not reckoned: the shaft and bearings are not entered in the catalogue.")


@check(
    "radial thrust", unit="kN",
    source="Stepanoff's factor with 0.36, a quarter of it for a double volute",
    certainty=Certainty.MEMORY,
)  # fmt: skip
def thrust(c: Lineup) -> Judged:
    """Radial thrust of the casing, told without a limit."""
    worst = c.thrust_n / 1000.0
    double = c.of_impeller("volutes") >= 2
    return Judged(
        figure=worst,
        limit=np.nan,
        pick=first_true(np.isnan(worst), double),
        outcomes=(
            NOT_KNOWN,
            (GOOD, "Radial thrust up to {figure:.2f} kN, double volute."),
            (GOOD, "Radial thrust up to {figure:.2f} kN, single volute."),
        ),
    )


@check(
    "shaft stress", unit="MPa",
    source="maximum shear by 16/(pi d³)·√(M² + T²), limit 0.225 of proof stress (transmission "
    "shafting with keyway)",
    certainty=Certainty.MEMORY,
)  # fmt: skip
def shaft_stress(c: Lineup) -> Judged:
    """Shear in the shaft against the limit."""
    power = np.fmax(c.solved.power_w, c.solved.alone_power_w)
    stress = shaft_shear_pa(
        c.shaft_load_n,
        c.of_impeller("mechanics.bearing_span_mm"),
        shaft_torque_nm(power, c.solved.speed_rpm),
        c.of_impeller("mechanics.shaft_diameter_mm"),
    )
    limit = c.rules.shaft_stress_share * c.of_impeller("mechanics.shaft_yield_pa")
    return Judged(
        figure=stress / 1e6,
        limit=limit / 1e6,
        pick=first_true(np.isnan(stress), stress <= limit),
        outcomes=(
            NOT_KNOWN,
            (GOOD, "Shear in the shaft {figure:.0f} MPa of {limit:.0f} allowed."),
            (AGAINST, "Shear in the shaft {figure:.0f} MPa, above the {limit:.0f} allowed."),
        ),
    )


@check(
    "shaft deflection", unit="mm",
    source="plain shaft on two bearings loaded midway; 0.05 mm at the box face (API 610)",
    certainty=Certainty.MEMORY,
)  # fmt: skip
def deflection(c: Lineup) -> Judged:
    """How far the shaft bends at the box."""
    bend = shaft_deflection_mm(
        c.shaft_load_n,
        c.of_impeller("mechanics.bearing_span_mm"),
        c.of_impeller("mechanics.shaft_diameter_mm"),
        c.of_impeller("mechanics.sleeve_to_bearing_mm"),
    )
    return Judged(
        figure=bend,
        limit=c.rules.shaft_deflection_mm,
        pick=first_true(np.isnan(bend), bend <= c.rules.shaft_deflection_mm),
        outcomes=(
            NOT_KNOWN,
            (GOOD, "The shaft bends {figure:.3f} mm at the box face, {limit:.2f} allowed."),
            (AGAINST, "The shaft bends {figure:.3f} mm at the box face, above {limit:.2f}: seal "
             "or packing will suffer."),
        ),
    )  # fmt: skip


@check(
    "bearing life", unit="h",
    source="ISO 281 basic rating life, radial load shared by two bearings; 25 000 h wanted",
    certainty=Certainty.MEMORY,
)  # fmt: skip
def bearings(c: Lineup) -> Judged:
    """Rating life of the bearings."""
    life = bearing_life_h(
        c.of_impeller("mechanics.bearing_rating_n"),
        c.shaft_load_n / 2.0,
        c.solved.speed_rpm,
        c.of_impeller("mechanics.bearing_exponent"),
    )
    return Judged(
        figure=life,
        limit=c.rules.bearing_life_h,
        pick=first_true(np.isnan(life), life >= c.rules.bearing_life_h),
        outcomes=(
            NOT_KNOWN,
            (GOOD, "Bearings last L10h {figure:,.0f} h, {limit:,.0f} wanted."),
            (AGAINST, "Bearings last L10h {figure:,.0f} h, under the {limit:,.0f} wanted."),
        ),
    )


@check(
    "critical speed", unit="rev/min",
    source="first dry critical of a plain shaft 20 % above the running speed",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def critical(c: Lineup) -> Judged:
    """First critical speed against the running speed."""
    inertia = np.pi * (c.of_impeller("mechanics.shaft_diameter_mm") / 1000.0) ** 4 / 64.0
    span = c.of_impeller("mechanics.bearing_span_mm") / 1000.0
    stiffness = 48.0 * 206e9 * inertia / span**3
    speed = np.sqrt(stiffness / c.of_impeller("mechanics.rotor_mass_kg")) * 60.0 / (2.0 * np.pi)
    limit = 1.2 * c.solved.speed_rpm
    return Judged(
        figure=speed,
        limit=limit,
        pick=first_true(np.isnan(speed), speed >= limit),
        outcomes=(
            NOT_KNOWN,
            (GOOD, "First critical speed {figure:.0f} rev/min, {limit:.0f} wanted."),
            (AGAINST, "First critical speed {figure:.0f} rev/min, under the {limit:.0f} wanted."),
        ),
    )


@cache
def _spare_torques(voltage_share: float) -> tuple[Floats, Floats]:
    """Shares of rated power asked, and the least spare torque over rated torque at each."""
    share = np.linspace(0.0, RUN_UP_SHARE, 50)
    motor = np.interp(share, *np.array(TYPICAL_TORQUE).T) * voltage_share**2
    pump = np.maximum(share**2, 0.15 * np.clip(1.0 - share / 0.1, 0.0, 1.0))
    asked = np.linspace(0.0, 2.0, 201)
    return asked, (motor - asked[:, None] * pump).min(axis=1)


@check(
    "starting torque", unit="-",
    source="usual cage motor at reduced voltage against torque with the square of speed",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def start(c: Lineup) -> Judged:
    """Whether the motor runs the pump up."""
    known = np.isfinite(c.motor_w) & np.isfinite(c.solved.power_w)
    share = np.where(known, c.solved.power_w / np.where(known, c.motor_w, 1.0), 0.0)
    spare = np.interp(share, *_spare_torques(c.rules.starting_voltage_share))
    spare = np.where(known, spare, np.nan)
    volts = f"{c.rules.starting_voltage_share:.0%}"
    return Judged(
        figure=spare,
        limit=0.05,
        pick=first_true(np.isnan(spare), spare >= 0.05, spare > 0.0),
        outcomes=(
            (CAUTION, "Not reckoned: no motor is picked."),
            (GOOD, "Starting with the valve open at " + volts + " voltage leaves {figure:.0%} of "
             "rated torque to run up with."),
            (CAUTION, "Starting with the valve open at " + volts + " voltage leaves only "
             "{figure:.0%} of rated torque: start against a closed valve."),
            (AGAINST, "Starting with the valve open at " + volts + " voltage, the motor lacks "
             "torque: start against a closed valve or at full voltage."),
        ),
    )  # fmt: skip
