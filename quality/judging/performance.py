"""A performance test: readings typed in, brought to rated speed, judged at the guarantee point."""

from dataclasses import dataclass
from functools import cache

from quality.acceptance.grades import (
    Guarantee,
    OwnTolerances,
    Tolerance,
    find_grade,
    tolerances_for,
)
from quality.acceptance.instruments import Instrument
from quality.acceptance.performance import judge_readings
from quality.acceptance.readings import Liquid, Reading, SetUp
from quality.acceptance.standards import Tables, grade_rows, small_power_row, speed_limits
from quality.acceptance.units import SI_UNITS, Unit
from quality.acceptance.verdicts import CrossRule, PerformanceVerdict, QuantityVerdict, Settings
from quality.judging.verdict import Judged, judged
from quality.keeping import kept
from selection.hydraulics.liquid import water
from works import units
from works.units import Kind

TYPED_AS: dict[str, Kind] = {
    "flow_m3s": Kind.FLOW,
    "head_m": Kind.HEAD,
    "suction_pa": Kind.PRESSURE,
    "discharge_pa": Kind.PRESSURE,
    "shaft_power_w": Kind.POWER,
    "electric_power_w": Kind.POWER,
}
"""Which field of a reading is typed as which kind of quantity."""

WATER_TABLE_K = tuple(273.15 + degrees for degrees in range(0, 81, 4))


@dataclass(frozen=True, kw_only=True)
class PerformanceInputs:
    """Everything that the verdict of a performance test is computed from.

    guarantee : what the contract guarantees
    standard, edition, grade : by which it is judged, e.g. ISO 9906, 2012, 2B
    own : the contract's own tolerances
    small_power_rule : the rule for pumps of little power is not excluded by the contract
    cross : whether one bar of the tolerance cross is enough
    set_up : of the bed
    readings : as typed
    typed_in : key of the unit that each quantity was typed in, by field
    instruments : used, as calibrated on that day
    """

    guarantee: Guarantee
    standard: str
    edition: str
    grade: str
    set_up: SetUp
    readings: tuple[Reading, ...]
    typed_in: dict[str, str]
    instruments: tuple[Instrument, ...]
    own: OwnTolerances | None = None
    small_power_rule: bool = True
    cross: CrossRule = CrossRule.EITHER


def judge_performance(inputs: PerformanceInputs, tables: Tables) -> Judged:
    """Judge a performance test.

    raises : AcceptanceError when the readings cannot be judged as they stand
    """
    grade = find_grade(
        grade_rows(tables),
        standard=inputs.standard,
        edition=inputs.edition,
        grade=inputs.grade,
    )
    tolerances = tolerances_for(
        grade,
        inputs.guarantee,
        small_power=small_power_row(tables) if inputs.small_power_rule else None,
        own=inputs.own,
    )
    verdict = judge_readings(
        inputs.readings,
        inputs.set_up,
        inputs.guarantee,
        tolerances,
        limits=speed_limits(tables),
        settings=Settings(cross=inputs.cross),
        units=units_of(inputs.typed_in),
    )
    return judged(
        verdict.outcome,
        reasons=verdict.reasons,
        rows=verdict.rows,
        tolerances=verdict.tolerances.name,
        flow_limits=_limits(verdict.tolerances.flow),
        head_limits=_limits(verdict.tolerances.head),
        quantities=[_quantity(quantity) for quantity in verdict.quantities],
        points=_points(verdict),
        missing=[missing.sentence for missing in verdict.missing],
        remarks=[
            {"weight": str(remark.weight), "sentence": remark.sentence}
            for remark in verdict.remarks
        ],
        best_efficiency=kept(verdict.best_efficiency),
        shutoff_head_m=kept(verdict.shutoff_head_m),
        pieces=verdict.settings.pieces.value,
    )


def units_of(typed_in: dict[str, str]) -> dict[str, Unit]:
    """The units that readings were typed in, for sentences about them."""
    found = dict(SI_UNITS)
    for field, key in typed_in.items():
        kind = TYPED_AS[field]
        found[field] = Unit(symbol=units.unit(kind, key).label, factor=units.to_si(1.0, kind, key))
    return found


@cache
def bed_water() -> Liquid:
    """Fresh water by temperature, for the density at each reading; IAPWS-97."""
    states = [water(kelvin) for kelvin in WATER_TABLE_K]
    return Liquid(
        name="water",
        temperatures_k=WATER_TABLE_K,
        densities_kg_m3=tuple(state.density_kg_m3 for state in states),
        vapour_pressures_pa=tuple(state.vapour_pressure_pa for state in states),
    )


def _limits(tolerance: Tolerance) -> dict[str, float | None]:
    return {"minus": tolerance.minus, "plus": tolerance.plus}


def _quantity(verdict: QuantityVerdict) -> dict[str, object]:
    tolerance = verdict.tolerance
    return {
        "quantity": verdict.quantity,
        "guaranteed": verdict.guaranteed,
        "measured": kept(verdict.measured),
        "at_flow_m3s": kept(verdict.at_flow_m3s),
        "deviation": kept(verdict.deviation),
        "minus": tolerance.minus if tolerance else None,
        "plus": tolerance.plus if tolerance else None,
        "outcome": str(verdict.outcome),
        "decides": verdict.decides,
        "rule": verdict.rule,
        "sentence": verdict.sentence,
    }


def _points(verdict: PerformanceVerdict) -> list[dict[str, object]]:
    points = verdict.points
    columns = zip(
        points.numbers,
        points.flow,
        points.head,
        points.power,
        points.efficiency,
        points.speed_ratio,
        strict=True,
    )
    return [
        {
            "number": number,
            "flow_m3s": kept(flow),
            "head_m": kept(head),
            "power_w": kept(power),
            "efficiency": kept(efficiency),
            "speed_ratio": kept(ratio),
        }
        for number, flow, head, power, efficiency, ratio in columns
    ]
