"""A run on the bed taken together: verdict, uncertainty, class limits, curves, chance.

The instruments of the run give the systematic uncertainty of what they read, each moving the
quantities it enters; scatter is what the samples or the points about their curve show. Then the
verdict, how sure it is, and whether the measurement was good enough for the class stand together.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quality.acceptance.chances import Chance, chance_verdict_is_wrong
from quality.acceptance.curves import DrawnCurve, drawn_through
from quality.acceptance.errors import BadSetUp, InstrumentUnfit
from quality.acceptance.evidence import Outcome, together
from quality.acceptance.grades import Guarantee, Tolerances
from quality.acceptance.instruments import Instrument
from quality.acceptance.performance import judge_readings
from quality.acceptance.propagation import (
    DeviationUncertainty,
    Source,
    deviation_uncertainty,
    shares_at,
)
from quality.acceptance.rated_speed import RatedPoints, SpeedLimits
from quality.acceptance.readings import MEASURED, Point, Reading, SetUp, points_of
from quality.acceptance.uncertainty import (
    COVERAGE_FACTOR,
    LimitCheck,
    UncertaintyLimit,
    check_limits,
)
from quality.acceptance.units import SI_UNITS, Unit
from quality.acceptance.verdicts import PerformanceVerdict, Settings

Floats = NDArray[np.float64]

LEAST_FOR_SCATTER = 6
"""With fewer points a curve follows their scatter too closely to show it."""


@dataclass(frozen=True, kw_only=True)
class InUse:
    """An instrument and what it read.

    instrument : of the register
    to_si : SI value of one of its units, > 0
    """

    instrument: Instrument
    to_si: float = 1.0

    def standard(self, value_si: float) -> float:
        """Standard uncertainty of a reading.

        value_si : read, in SI
        returns : in SI
        """
        expanded = self.instrument.expanded_at(value_si / self.to_si) * self.to_si
        return expanded / COVERAGE_FACTOR


@dataclass(frozen=True, kw_only=True)
class Assessment:
    """A run on the bed, judged with everything known about it.

    verdict : at the guarantee point
    uncertainty : of its deviations
    overall, systematic : expanded shares of the measured quantities about the guarantee point [-]
    checks : of both against the class
    good_enough : passed when every check is, not judged when the class limits none of them
    chance : that the verdict is wrong, for the engineer; None when nothing was judged
    drawn : curves for the chart by quantity: head, power, efficiency
    """

    verdict: PerformanceVerdict
    uncertainty: DeviationUncertainty
    overall: Mapping[str, float]
    systematic: Mapping[str, float]
    checks: tuple[LimitCheck, ...]
    good_enough: Outcome
    chance: Chance | None
    drawn: Mapping[str, DrawnCurve]


def sources_of_run(
    readings: Sequence[Reading],
    points: Sequence[Point],
    set_up: SetUp,
    instruments: Mapping[str, InUse],
    *,
    motor_efficiency_share: float = 0.0,
    random_shares: Mapping[str, float] | None = None,
) -> tuple[Source, ...]:
    """Sources of uncertainty of a run from its instruments.

    readings : as typed
    points : made of them, in the same order
    set_up : of the run
    instruments : by the field of a reading that they gave
    motor_efficiency_share : expanded, of the motor's efficiency [-]
    random_shares : expanded, of flow, head, power and speed at one reading [-]
    returns : one common source an instrument, one of scatter a quantity
    raises : InstrumentUnfit for a field that no reading has, BadSetUp
    """
    sources = []
    for field, used in instruments.items():
        if field not in MEASURED:
            raise InstrumentUnfit(
                tag=used.instrument.tag,
                reason=f"{field!r} is not read on the bed; known are {', '.join(MEASURED)}",
            )
        read = [getattr(reading, field) for reading in readings]
        standard = np.array([0.0 if value is None else used.standard(value) for value in read])
        effects = _effects(field, standard, readings, points, set_up)
        if effects and np.any(standard > 0):
            name = f"{used.instrument.tag} ({field})"
            sources.append(Source(name=name, effects=effects, common=True))
    power = np.array([0.0 if p.shaft_power_w is None else p.shaft_power_w for p in points])
    if motor_efficiency_share:
        by = power * motor_efficiency_share / COVERAGE_FACTOR
        sources.append(Source(name="motor efficiency", effects=(("power", by),), common=True))
    values = {
        "flow": np.array([p.flow_m3s for p in points]),
        "head": np.array([p.head_m for p in points]),
        "power": power,
        "speed": np.array([p.speed_rpm for p in points]),
    }
    for quantity, share in (random_shares or {}).items():
        if quantity not in values or not (math.isfinite(share) and share >= 0):
            raise BadSetUp(
                what=f"The scatter of {quantity}",
                value=share,
                unit="as a share",
                right=f"zero or more, of one of {', '.join(values)}",
            )
        by = values[quantity] * share / COVERAGE_FACTOR
        if np.any(by > 0):
            name = f"scatter of {quantity}"
            sources.append(Source(name=name, effects=((quantity, by),), common=False))
    return tuple(sources)


def _effects(
    field: str,
    standard: Floats,
    readings: Sequence[Reading],
    points: Sequence[Point],
    set_up: SetUp,
) -> tuple[tuple[str, Floats], ...]:
    """What one standard uncertainty of a reading's field does to the pump's quantities."""
    per_metre = np.array([p.density_kg_m3 * p.gravity_m_s2 for p in points])
    power = np.array([0.0 if p.shaft_power_w is None else p.shaft_power_w for p in points])
    speed = np.array([p.speed_rpm for p in points])
    if field == "flow_m3s":
        return (("flow", standard), ("head", _velocity_effect(standard, readings, set_up)))
    if field == "head_m":
        return (("head", standard),)
    if field == "suction_pa":
        return (("head", -standard / per_metre),)
    if field == "discharge_pa":
        return (("head", standard / per_metre),)
    if field == "speed_rpm":
        by_torque = np.array([reading.torque_nm is not None for reading in readings])
        # Power from torque is torque times the speed read, so the error enters there too.
        return (("speed", standard), ("power", np.where(by_torque, power * standard / speed, 0.0)))
    if field in ("torque_nm", "electric_power_w", "shaft_power_w"):
        used = np.array([getattr(reading, field) or 0.0 for reading in readings])
        relative = np.divide(standard, used, out=np.zeros_like(standard), where=used > 0)
        return (("power", power * relative),)
    return ()


def _velocity_effect(standard: Floats, readings: Sequence[Reading], set_up: SetUp) -> Floats:
    """What an error of flow does to the velocity head, where heads come from gauges."""
    effect = np.zeros_like(standard)
    if set_up.suction is None or set_up.discharge is None:
        return effect
    for i, reading in enumerate(readings):
        if reading.head_m is None and reading.flow_m3s > 0:
            heads = [
                tapping.velocity_head(reading.flow_m3s, set_up.gravity_m_s2)
                for tapping in (set_up.discharge, set_up.suction)
            ]
            effect[i] = 2 * (heads[0] - heads[1]) * standard[i] / reading.flow_m3s
    return effect


def scatter_shares(rated: RatedPoints) -> Mapping[str, float]:
    """Scatter of heads and powers about their curves, where no samples were kept.

    rated : points at rated speed
    returns : expanded (k = 2) shares of head and power at one reading, as far as there are points
        left over to see it [-]
    """
    drawn = curves_of(rated)
    return {
        quantity: COVERAGE_FACTOR * drawn[quantity].scatter / float(np.nanmean(values))
        for quantity, values in (("head", rated.head), ("power", rated.power))
        if quantity in drawn and np.count_nonzero(np.isfinite(values)) >= LEAST_FOR_SCATTER
    }


def assess(
    readings: Sequence[Reading],
    set_up: SetUp,
    guarantee: Guarantee,
    tolerances: Tolerances,
    *,
    limits: SpeedLimits,
    instruments: Mapping[str, InUse],
    class_limits: Sequence[UncertaintyLimit] = (),
    settings: Settings | None = None,
    motor_efficiency_share: float = 0.0,
    random_shares: Mapping[str, float] | None = None,
    units: Mapping[str, Unit] = SI_UNITS,
) -> Assessment:
    """Judge a run with its uncertainty.

    readings : as typed, in the order taken
    set_up : of the run
    guarantee : what is guaranteed
    tolerances : of grade or contract
    limits : permitted ranges of speed
    instruments : by the field of a reading that they gave
    class_limits : how unsure the class lets each quantity be
    settings : how the house judges
    motor_efficiency_share : expanded, of the motor's efficiency [-]
    random_shares : expanded scatter of flow, head, power and speed at one reading, None to take
        that of the points about their curves [-]
    units : in which values were typed, for the sentences
    returns : the run with everything known about it
    raises : NoReadings, UnusableReadings, SpeedOutsidePermittedRange, InstrumentUnfit, BadSetUp
    """
    settings = settings or Settings()
    verdict = judge_readings(
        readings, set_up, guarantee, tolerances, limits=limits, settings=settings, units=units
    )
    points = points_of(readings, set_up)
    scatter = scatter_shares(verdict.points) if random_shares is None else random_shares
    sources = sources_of_run(
        readings,
        points,
        set_up,
        instruments,
        motor_efficiency_share=motor_efficiency_share,
        random_shares=scatter,
    )
    uncertainty = deviation_uncertainty(points, sources, guarantee, tolerances, settings)
    overall = _as_in_the_table(shares_at(points, sources, guarantee.flow_m3s), readings)
    alone = _as_in_the_table(
        shares_at(points, sources, guarantee.flow_m3s, systematic=True), readings
    )
    checks = (
        *check_limits(overall, class_limits, overall=True),
        *check_limits(alone, class_limits, overall=False),
    )
    return Assessment(
        verdict=verdict,
        uncertainty=uncertainty,
        overall=overall,
        systematic=alone,
        checks=checks,
        good_enough=together(check.outcome for check in checks),
        chance=chance_verdict_is_wrong(verdict, uncertainty),
        drawn=curves_of(verdict.points),
    )


def _as_in_the_table(shares: Mapping[str, float], readings: Sequence[Reading]) -> dict[str, float]:
    """Shares under the names that the table of the class uses."""
    electric = any(reading.electric_power_w is not None for reading in readings)
    torque = any(reading.torque_nm is not None for reading in readings)
    power = (
        "pump input power from motor input and motor efficiency"
        if electric and not torque
        else "pump input power from torque and speed"
    )
    efficiency = (
        "pump efficiency, power from motor efficiency"
        if electric and not torque
        else "pump efficiency, power from torque"
    )
    names = {
        "flow": ("flow",),
        "head": ("total head", "differential head"),
        "speed": ("speed",),
        "power": (power, "power"),
        "efficiency": (efficiency,),
    }
    return {name: share for key, share in shares.items() for name in names[key]}


def curves_of(rated: RatedPoints) -> dict[str, DrawnCurve]:
    """Curves for the chart.

    rated : points at rated speed
    returns : by quantity, head, power and efficiency as far as they were measured
    """
    drawn = {}
    for quantity, values in (
        ("head", rated.head),
        ("power", rated.power),
        ("efficiency", rated.efficiency),
    ):
        read = np.isfinite(values)
        if len(np.unique(rated.flow[read])) >= 3:
            drawn[quantity] = drawn_through(quantity, rated.flow[read], values[read])
    return drawn
