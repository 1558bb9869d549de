"""A casing's hydrostatic test: what is asked, how the pressure is raised, what it came to."""

from dataclasses import dataclass

from quality.acceptance.hydrostatic import PressureRecord, judge_pressure_test
from quality.acceptance.pressures import (
    BAR,
    PressureRule,
    Step,
    TestPressure,
    find_rule,
    pressure_to_test,
    step_plan,
)
from quality.acceptance.readings import STANDARD_GRAVITY
from quality.acceptance.standards import Tables, chloride_limit, gauge_range, pressure_rules
from quality.acceptance.terms import Terms
from quality.judging.verdict import Judged, judged
from selection.configuration import Configuration

WATER_KG_M3 = 998.2
"""Fresh water at 20 °C, IAPWS-97, for the pressure that the duty's head amounts to [kg/m3]."""


@dataclass(frozen=True, kw_only=True)
class PressureAsked:
    """What pump and contract ask of a pressure test.

    rule : name of the rule, as the terms say
    working_pressure_max_pa : gauge [Pa]
    duty_pressure_pa : at the duty point, gauge; never raises the pressure by itself [Pa]
    contract_pa : the test pressure that the casing was chosen for, gauge [Pa]
    duration_s : agreed time under pressure [s]
    driver_power_w : for rules whose time depends on it [W]
    weldable : pressure parts of the casing's metal may be welded
    austenitic : chloride in the test water is limited
    """

    rule: str
    working_pressure_max_pa: float
    duty_pressure_pa: float
    contract_pa: float
    duration_s: float
    driver_power_w: float
    weldable: bool
    austenitic: bool


@dataclass(frozen=True, kw_only=True)
class PressureInputs:
    """Everything that the verdict of a pressure test is computed from."""

    asked: PressureAsked
    record: PressureRecord


@dataclass(frozen=True, kw_only=True)
class PressurePlan:
    """What the sheet says before anybody raises pressure.

    gauge_lowest_pa, gauge_highest_pa : between which the gauges' ranges must end [Pa]
    doubt : what somebody should clear up before the test; empty when there is nothing
    """

    required: TestPressure
    duration_s: float
    steps: tuple[Step, ...]
    rule: str
    gauge_lowest_pa: float
    gauge_highest_pa: float
    doubt: str


def pressure_asked(
    configuration: Configuration, terms: Terms, *, casing_family: str
) -> PressureAsked:
    """What a pump's test is asked to be.

    casing_family : of the casing's metal, such as "grey iron"
    """
    head_pa = WATER_KG_M3 * STANDARD_GRAVITY * configuration.duty_head_m
    return PressureAsked(
        rule=terms.hydrostatic_rule,
        working_pressure_max_pa=configuration.working_pressure_max_pa,
        duty_pressure_pa=configuration.suction_pressure_max_pa + head_pa,
        contract_pa=configuration.test_pressure_pa,
        duration_s=60 * terms.hydrostatic_minutes,
        driver_power_w=configuration.motor_rating_w,
        weldable=casing_family != "grey iron",
        austenitic=casing_family.startswith("austenitic"),
    )


def pressure_plan(asked: PressureAsked, tables: Tables) -> PressurePlan:
    """Pressure, time, steps and gauges of the test.

    raises : AcceptanceError when the rule is not in the tables
    """
    rule = find_rule(pressure_rules(tables), asked.rule, driver_power_w=asked.driver_power_w)
    required = _required(asked, tables)
    duration = max(asked.duration_s, rule.duration_s)
    gauges = gauge_range(tables)
    return PressurePlan(
        required=required,
        duration_s=duration,
        steps=step_plan(required.pressure_pa, asked.working_pressure_max_pa, duration),
        rule=rule.name,
        gauge_lowest_pa=gauges.lowest * required.pressure_pa,
        gauge_highest_pa=gauges.highest * required.pressure_pa,
        doubt=_doubt(rule, asked, required),
    )


def judge_pressure(inputs: PressureInputs, tables: Tables) -> Judged:
    """Judge a pressure test.

    raises : AcceptanceError when the record contradicts itself
    """
    asked = inputs.asked
    rule = find_rule(pressure_rules(tables), asked.rule, driver_power_w=asked.driver_power_w)
    required = _required(asked, tables)
    verdict = judge_pressure_test(
        inputs.record,
        required=required,
        rule=rule,
        gauge_range=gauge_range(tables),
        duration_s=asked.duration_s,
        chloride_limit=chloride_limit(tables) if asked.austenitic else None,
        weldable=asked.weldable,
    )
    return judged(
        verdict.outcome,
        reasons=verdict.reasons,
        rows=verdict.rows,
        to_do=list(verdict.to_do),
        major=verdict.major,
        repeat=verdict.repeat,
        required_pa=verdict.required_pa,
        required_s=verdict.required_s,
        required=required.sentence,
        rule=rule.name,
        doubt=_doubt(rule, asked, required),
    )


def _required(asked: PressureAsked, tables: Tables) -> TestPressure:
    rule = find_rule(pressure_rules(tables), asked.rule, driver_power_w=asked.driver_power_w)
    return pressure_to_test(
        rule,
        working_pressure_max_pa=asked.working_pressure_max_pa,
        contract_pa=asked.contract_pa,
    )


def _doubt(rule: PressureRule, asked: PressureAsked, required: TestPressure) -> str:
    """A rule that would ask for more than the casing was chosen for: said, never done by itself.

    The casing's own rating was checked against the pressure it was chosen for, so more than that
    is for the application engineer to allow.
    """
    if rule.duty_factor is None:
        return ""
    more = rule.duty_factor * asked.duty_pressure_pa
    if more <= required.pressure_pa:
        return ""
    return (
        f"{rule.duty_factor:g} × the pressure at duty would be {BAR.show(more)}, which the same "
        f"rule names as well; this casing was chosen and checked for {BAR.show(asked.contract_pa)}."
        " Ask the application engineer before testing higher."
    )
