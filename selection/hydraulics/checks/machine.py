"""Checks of the machine: motor, pressure, tip speed, nozzle."""

import numpy as np

from selection.hydraulics.checks.table import (
    AGAINST,
    CAUTION,
    GOOD,
    KILLS,
    Judged,
    check,
    first_true,
)
from selection.hydraulics.door import Certainty
from selection.hydraulics.lineup import Lineup


@check(
    "motor", unit="kW", source="the motor rule of this search; ratings of IEC 60072-1",
    certainty=Certainty.MEMORY,
)  # fmt: skip
def motor(c: Lineup) -> Judged:
    """The motor picked, and whether it bears the pump out to run-out."""
    rating = c.motor_w
    highest = np.fmax(c.solved.power_max_w, c.solved.alone_power_w)
    lone = c.solved.alone_power_w
    return Judged(
        figure=rating / 1000.0,
        limit=highest / 1000.0,
        pick=first_true(
            ~c.meets,
            ~np.isfinite(rating),
            rating * (1.0 + 1e-9) >= highest,
            ~(rating * (1.0 + 1e-9) < lone),
        ),
        outcomes=(
            (CAUTION, "No motor is picked, for the duty is not met."),
            (KILLS, "{needed:.0f} kW is needed, above the largest standard rating."),
            (
                GOOD,
                "{figure:.4g} kW for {power:.1f} kW at duty; the highest power on the curve, "
                "{limit:.1f} kW, does not overload it.",
            ),
            (
                CAUTION,
                "{figure:.4g} kW for {power:.1f} kW at duty; farther out the curve reaches "
                "{limit:.1f} kW and would overload it.",
            ),
            (
                AGAINST,
                "{figure:.4g} kW for {power:.1f} kW at duty, but the pump alone takes {lone:.1f} "
                "kW and overloads it.",
            ),
        ),
        more={
            "power": c.solved.power_w / 1000.0,
            "needed": c.motor_needed_w / 1000.0,
            "lone": lone / 1000.0,
        },
    )


@check(
    "highest pressure", unit="bar",
    source="highest suction pressure + shut-off head at the top of density and speed",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def highest_pressure(c: Lineup) -> Judged:
    """Highest working pressure against what the casing is allowed."""
    pressure = c.working_pa / 1e5
    limit = c.of_impeller("casing_pressure_max_pa") / 1e5
    return Judged(
        figure=pressure,
        limit=limit,
        pick=np.where(pressure <= limit, 0, 1),
        outcomes=(
            (
                GOOD,
                "Highest working pressure {figure:.1f} bar, casing {limit:.1f} bar; hydrostatic "
                "test at {test:.1f} bar.",
            ),
            (KILLS, "Highest working pressure {figure:.1f} bar is above the casing's {limit:.1f}."),
        ),
        more={"test": 1.5 * pressure},
    )


@check("tip speed", unit="m/s", source="limit by class of metal", certainty=Certainty.MEMORY)
def tip_speed(c: Lineup) -> Judged:
    """The impeller's tip speed against its metal's limit."""
    limits = [
        c.rules.tip_speed_m_s.get(impeller.impeller_metal, np.nan)
        for impeller in c.catalogue.impellers
    ]
    limit = np.array(limits)[c.solved.impeller]
    return Judged(
        figure=c.tip_speed_m_s,
        limit=limit,
        pick=first_true(np.isnan(limit), c.tip_speed_m_s <= limit),
        outcomes=(
            (CAUTION, "Tip speed {figure:.1f} m/s; no limit is entered for {metal}."),
            (GOOD, "Tip speed {figure:.1f} m/s, {metal} takes {limit:.0f}."),
            (AGAINST, "Tip speed {figure:.1f} m/s is above the {limit:.0f} that {metal} takes."),
        ),
        more={"metal": c.words("metal", lambda impeller: impeller.impeller_metal)},
    )


@check(
    "suction nozzle", unit="m/s", source="velocity in the suction nozzle",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def suction_nozzle(c: Lineup) -> Judged:
    """Velocity in the suction nozzle."""
    bore = c.of_impeller("suction_nozzle_mm") / 1000.0
    velocity = c.duty.flow_m3s / (np.pi / 4.0 * bore**2)
    return Judged(
        figure=velocity,
        limit=c.rules.nozzle_velocity_m_s,
        pick=first_true(np.isnan(velocity), velocity <= c.rules.nozzle_velocity_m_s),
        outcomes=(
            (GOOD, "The suction nozzle's bore is not entered."),
            (GOOD, "{figure:.1f} m/s in the suction nozzle."),
            (CAUTION, "{figure:.1f} m/s in the suction nozzle, above {limit:.1f}."),
        ),
    )
