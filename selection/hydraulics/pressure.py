"""Pressures the casing meets: highest working pressure, its test pressure, the stuffing box."""

from dataclasses import dataclass

import numpy as np

from selection.hydraulics.door import GRAVITY, Certainty, Floats, number

TEST_FACTOR = 1.5  # over the highest working pressure: common practice


@dataclass(frozen=True, kw_only=True)
class Tolerances:
    """How far reality may lie above the figures.

    density : share by which the liquid may be heavier [-]
    speed : share by which the pump may run faster [-]
    shutoff_head : share by which the tested shut-off head may lie above the curve [-]
    source : in words
    certainty : how sure
    """

    density: float = 0.0
    speed: float = 0.01
    shutoff_head: float = 0.05
    source: str = "works' setting: 1 % on speed, 5 % on shut-off head"
    certainty: Certainty = Certainty.PRACTICE

    def __post_init__(self) -> None:
        number(self.density, "density tolerance", "-", 0.0, 0.5)
        number(self.speed, "speed tolerance", "-", 0.0, 0.25)
        number(self.shutoff_head, "shut-off head tolerance", "-", 0.0, 0.25)


USUAL_TOLERANCES = Tolerances()


def working_pressure(
    suction_high_pa: float,
    head_high_m: Floats | float,
    density_kg_m3: float,
    tolerances: Tolerances = USUAL_TOLERANCES,
) -> Floats:
    """Highest pressure the casing meets in service.

    suction_high_pa : highest at the suction flange, gauge [Pa]
    head_high_m : highest on the curve at the diameter and speed, any shape [m]
    density_kg_m3 : of the liquid, > 0 [kg/m3]
    tolerances : on density, speed and shut-off head
    returns : gauge, same shape [Pa]
    raises : OutOfBounds
    source : highest suction pressure + shut-off head at the top of density and speed
    """
    number(suction_high_pa, "highest suction pressure", "Pa", -1e5, 1e8)
    number(density_kg_m3, "density", "kg/m3", 100.0, 5000.0)
    head = np.asarray(head_high_m, dtype=np.float64)
    risen = head * (1.0 + tolerances.speed) ** 2 * (1.0 + tolerances.shutoff_head)
    return np.asarray(
        suction_high_pa + risen * density_kg_m3 * (1.0 + tolerances.density) * GRAVITY
    )


@dataclass(frozen=True, kw_only=True)
class HydrostaticPressures:
    """Hydrostatic test pressures, both ways of reckoning them.

    from_working_pa : 1.5 times the highest working pressure, gauge [Pa]
    from_rating_pa : 1.5 times the casing's rating, gauge; None when the rating is unknown [Pa]
    chosen_pa : the one that holds, gauge [Pa]
    sentence : what a page says
    """

    from_working_pa: float
    from_rating_pa: float | None
    chosen_pa: float
    sentence: str


def hydrostatic_pressures(
    working_pa: float,
    casing_rating_pa: float | None = None,
    *,
    contract_wants_rating_tested: bool = False,
) -> HydrostaticPressures:
    """Reckon the hydrostatic test pressure.

    working_pa : highest working pressure, gauge, > 0 [Pa]
    casing_rating_pa : highest pressure the casing is allowed, gauge; None when unknown [Pa]
    contract_wants_rating_tested : the contract asks for the rating, not the working pressure
    returns : both pressures and the one that holds
    raises : OutOfBounds
    source : factor 1.5, common practice
    """
    number(working_pa, "highest working pressure", "Pa", 1.0, 1e8)
    from_rating = None
    if casing_rating_pa is not None:
        from_rating = TEST_FACTOR * number(casing_rating_pa, "casing's rating", "Pa", 1.0, 1e8)
    from_working = TEST_FACTOR * working_pa
    by_rating = contract_wants_rating_tested and from_rating is not None
    chosen = from_rating if by_rating and from_rating is not None else from_working
    basis = "the casing's rating, as the contract asks" if by_rating else "working pressure"
    return HydrostaticPressures(
        from_working_pa=from_working,
        from_rating_pa=from_rating,
        chosen_pa=chosen,
        sentence=(
            f"Hydrostatic test at {chosen / 1e5:.1f} bar: {TEST_FACTOR:g} × the highest "
            f"{basis} (common practice)."
            if not by_rating
            else f"Hydrostatic test at {chosen / 1e5:.1f} bar: {TEST_FACTOR:g} × {basis}."
        ),
    )


def box_pressure(
    suction_high_pa: float, working_high_pa: float, share_of_rise: float = 0.1
) -> float:
    """Estimate the highest pressure in the stuffing box of a double-suction pump.

    Both boxes stand at suction pressure; leakage past worn rings raises them by some share of
    the pump's own rise.

    suction_high_pa : highest at the suction flange, gauge [Pa]
    working_high_pa : highest working pressure, gauge, not below the suction's [Pa]
    share_of_rise : of the pump's rise, 0 to 1 [-]
    returns : gauge [Pa]
    raises : OutOfBounds
    source : estimate, common practice
    """
    number(share_of_rise, "share of the pump's rise", "-", 0.0, 1.0)
    number(working_high_pa, "highest working pressure", "Pa", suction_high_pa, 1e8)
    return suction_high_pa + share_of_rise * (working_high_pa - suction_high_pa)
