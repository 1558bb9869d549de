"""Each check of the table on the side where it is pleased and the side where it is not."""

import dataclasses

import numpy as np
import pytest

from selection.hydraulics import (
    CHECKS,
    STEP_RULE,
    CurvePoints,
    Rules,
    Suction,
    SystemCurve,
    Verdict,
    search,
    through_points,
    water,
    with_solids,
)
from selection.hydraulics.checks.table import Judged, check
from selection.hydraulics.door import Certainty
from selection.hydraulics.suction import MARGIN_RULES

from .catalogues import ROTOR, duty, impeller


def finding(name, pump=None, asked=None, rules=None):
    answer = search([pump or impeller()], asked or duty(), rules or Rules())
    return next(f for f in answer.candidate(0).findings if f.check == name)


def humped():
    layout = impeller()
    test = layout.tests[0]
    head = test.head_m.copy()
    head[0] = 0.94 * head[1]
    points = dataclasses.replace(test, head_m=head)
    return dataclasses.replace(layout, tests=(points,))


SANDY = duty(liquid=with_solids(water(293.15), 2650.0, 200e-6))
ALONE_GENTLY = through_points((0.0, 55.0), (0.45, 62.0))
ALONE_FAR = through_points((0.0, 10.0), (0.45, 62.0))
NEVER = SystemCurve(static_m=90.0, coefficient=1.0)
SINGLE = duty(pumps=1, system=through_points((0.0, 45.0), (0.15, 62.0)))
SLOW_IRON = Rules(tip_speed_m_s={"grey iron": 30.0})
STEPS = Rules(motor=STEP_RULE)
WEAK = dataclasses.replace(ROTOR, shaft_diameter_mm=35.0, bearing_rating_n=15e3)

CASES = [
    ("head at duty", Verdict.GOOD, {}),
    ("head at duty", Verdict.KILLS, {"asked": duty(head_m=80.0)}),
    ("head at duty", Verdict.KILLS, {"asked": duty(head_m=35.0)}),
    ("head at duty", Verdict.KILLS, {"asked": duty(flow_m3s=0.28)}),
    ("purpose", Verdict.GOOD, {}),
    ("purpose", Verdict.KILLS, {"pump": impeller(purposes=frozenset({"fire"}))}),
    ("highest speed", Verdict.GOOD, {}),
    ("highest speed", Verdict.KILLS, {"pump": impeller(speed_max_rpm=1200.0)}),
    ("operating region", Verdict.GOOD, {}),
    ("operating region", Verdict.CAUTION, {"pump": impeller(flow_m3s=0.255)}),
    ("operating region", Verdict.KILLS, {"pump": impeller(flow_m3s=0.34)}),
    ("distance to best efficiency", Verdict.GOOD, {}),
    ("distance to best efficiency", Verdict.CAUTION, {"pump": impeller(flow_m3s=0.21)}),
    ("diameter in hand", Verdict.GOOD, {}),
    ("diameter in hand", Verdict.CAUTION, {"pump": impeller(head_m=63.0)}),
    ("diameter in hand", Verdict.AGAINST, {"pump": impeller(flow_m3s=0.17, head_m=88.0)}),
    ("trim law", Verdict.GOOD, {"pump": impeller(tests=(1.0, 0.9))}),
    ("trim law", Verdict.CAUTION, {"pump": impeller(head_m=78.0)}),
    ("other duties", Verdict.GOOD, {}),
    ("rise to shut-off", Verdict.GOOD, {}),
    ("rise to shut-off", Verdict.AGAINST, {"pump": impeller(flow_m3s=0.3, allowable_low=0.4)}),
    ("rise to shut-off", Verdict.CAUTION, {"rules": Rules(rise_most=0.12)}),
    ("stability", Verdict.GOOD, {}),
    ("stability", Verdict.AGAINST, {"pump": humped()}),
    ("stability", Verdict.CAUTION, {"pump": humped(), "asked": duty(pumps=1)}),
    (
        "stability",
        Verdict.KILLS,
        {"pump": humped(), "asked": duty(system=SystemCurve(static_m=68.5, coefficient=1.0))},
    ),
    ("duty on the system", Verdict.GOOD, {}),
    (
        "duty on the system",
        Verdict.CAUTION,
        {"asked": duty(system=through_points((0.0, 45.0), (0.45, 57.0)))},
    ),
    (
        "duty on the system",
        Verdict.AGAINST,
        {"asked": duty(system=through_points((0.0, 10.0), (0.45, 20.0)))},
    ),
    (
        "duty on the system",
        Verdict.KILLS,
        {"asked": duty(system=NEVER)},
    ),
    ("run-out alone", Verdict.GOOD, {"asked": SINGLE}),
    (
        "run-out alone",
        Verdict.CAUTION,
        {"pump": impeller(allowable_high=1.05), "asked": duty(system=ALONE_GENTLY)},
    ),
    ("run-out alone", Verdict.AGAINST, {"asked": duty(system=ALONE_FAR)}),
    ("run-out alone", Verdict.CAUTION, {"asked": duty(system=NEVER)}),
    ("NPSH at duty", Verdict.GOOD, {}),
    (
        "NPSH at duty",
        Verdict.AGAINST,
        {"rules": Rules(npsh=dataclasses.replace(MARGIN_RULES["purchaser's usual"], margin_m=9.0))},
    ),
    ("NPSH at duty", Verdict.KILLS, {"asked": duty(suction=Suction(level_m=-9.0))}),
    ("NPSH alone", Verdict.GOOD, {}),
    ("NPSH alone", Verdict.AGAINST, {"asked": duty(suction=Suction(level_m=-9.0))}),
    (
        "NPSH alone",
        Verdict.KILLS,
        {"asked": duty(pumps=1, suction=Suction(level_m=-9.0))},
    ),
    ("suction specific speed", Verdict.GOOD, {}),
    ("suction specific speed", Verdict.CAUTION, {"rules": Rules(suction_speed_usual=150.0)}),
    (
        "suction specific speed",
        Verdict.AGAINST,
        {"rules": Rules(suction_speed_usual=100.0, suction_speed_most=150.0)},
    ),
    ("viscosity", Verdict.GOOD, {}),
    ("solids", Verdict.GOOD, {}),
    ("solids", Verdict.CAUTION, {"asked": SANDY}),
    ("solids", Verdict.AGAINST, {"asked": duty(liquid=with_solids(water(293.15), 2650.0, 0.01))}),
    ("solids", Verdict.KILLS, {"asked": duty(liquid=with_solids(water(293.15), 2650.0, 0.08))}),
    ("motor", Verdict.GOOD, {}),
    ("motor", Verdict.CAUTION, {"asked": duty(head_m=80.0)}),
    ("motor", Verdict.CAUTION, {"asked": SINGLE, "rules": STEPS}),
    ("motor", Verdict.AGAINST, {"rules": STEPS}),
    ("highest pressure", Verdict.GOOD, {}),
    ("highest pressure", Verdict.KILLS, {"pump": impeller(casing_pressure_max_pa=6e5)}),
    ("tip speed", Verdict.GOOD, {}),
    (
        "tip speed",
        Verdict.AGAINST,
        {"pump": impeller(impeller_metal="grey iron"), "rules": SLOW_IRON},
    ),
    ("tip speed", Verdict.CAUTION, {"pump": impeller(impeller_metal="unobtainium")}),
    ("suction nozzle", Verdict.GOOD, {"pump": impeller(suction_nozzle_mm=300.0)}),
    ("suction nozzle", Verdict.CAUTION, {"pump": impeller(suction_nozzle_mm=150.0)}),
    ("radial thrust", Verdict.GOOD, {}),
    ("radial thrust", Verdict.GOOD, {"pump": impeller(volutes=2)}),
    ("radial thrust", Verdict.CAUTION, {"pump": impeller(mechanics=None)}),
    ("shaft stress", Verdict.GOOD, {}),
    ("shaft stress", Verdict.AGAINST, {"pump": impeller(mechanics=WEAK)}),
    ("shaft deflection", Verdict.GOOD, {}),
    ("shaft deflection", Verdict.AGAINST, {"pump": impeller(mechanics=WEAK)}),
    ("bearing life", Verdict.GOOD, {}),
    ("bearing life", Verdict.AGAINST, {"pump": impeller(mechanics=WEAK)}),
    ("critical speed", Verdict.GOOD, {}),
    ("critical speed", Verdict.AGAINST, {"pump": impeller(mechanics=WEAK)}),
    ("starting torque", Verdict.GOOD, {}),
    ("starting torque", Verdict.AGAINST, {"rules": Rules(starting_voltage_share=0.6)}),
]  # fmt: skip


@pytest.mark.parametrize(("name", "verdict", "case"), CASES)
def test_a_check_gives_the_verdict_that_the_case_calls_for(name, verdict, case):
    answer = finding(name, **case)
    assert answer.verdict is verdict, answer.sentence
    assert answer.sentence[0].isupper() or answer.sentence[0].isdigit()
    assert answer.sentence.endswith(".")
    assert "nan" not in answer.sentence
    assert answer.source


def test_every_check_of_the_table_has_a_case_here():
    assert {name for name, _, _ in CASES} == {entry.name for entry in CHECKS}


def test_names_of_checks_are_unique():
    names = [entry.name for entry in CHECKS]
    assert len(names) == len(set(names))


def test_npsh_that_was_never_measured_is_a_caution_not_a_pass():
    whole = impeller()
    test = dataclasses.replace(whole.tests[0], npshr_m=None)
    blind = dataclasses.replace(whole, tests=(test,))
    for name in ("NPSH at duty", "NPSH alone", "suction specific speed"):
        answer = finding(name, pump=blind)
        assert answer.verdict is Verdict.CAUTION
        assert "not" in answer.sentence
        assert np.isnan(answer.limit) or name == "suction specific speed"


def test_a_power_above_the_largest_motor_kills():
    giant = impeller(flow_m3s=1.6, head_m=75.0)
    asked = duty(
        flow_m3s=1.5, head_m=70.0, pumps=1, system=through_points((0.0, 40.0), (1.5, 70.0))
    )
    answer = finding("motor", pump=giant, asked=asked)
    assert answer.verdict is Verdict.KILLS
    assert "above the largest standard rating" in answer.sentence


def test_a_curve_whose_shut_off_was_not_tested_says_so():
    whole = impeller()
    test = whole.tests[0]
    cut = CurvePoints(
        flow_m3s=test.flow_m3s[1:],
        head_m=test.head_m[1:],
        efficiency=test.efficiency[1:],
        npshr_m=None if test.npshr_m is None else test.npshr_m[1:],
        speed_rpm=test.speed_rpm,
        diameter_mm=test.diameter_mm,
    )
    answer = finding("rise to shut-off", pump=dataclasses.replace(whole, tests=(cut,)))
    assert "shut-off not tested" in answer.sentence


def test_a_newcomers_check_is_ranked_worded_and_listed_like_the_others():
    @check("colour", unit="-", source="the painter", certainty=Certainty.PRACTICE)
    def colour(c):
        return Judged(
            figure=np.ones(len(c.solved.fit)),
            limit=0.0,
            pick=np.zeros(len(c.solved.fit), dtype=np.intp),
            outcomes=((Verdict.AGAINST, "It is {figure:.0f} shade too blue."),),
        )

    try:
        candidate = search([impeller()], duty()).candidate(0)
        assert candidate.findings[-1].sentence == "It is 1 shade too blue."
        assert candidate.verdict >= Verdict.AGAINST
    finally:
        CHECKS.pop()
    assert all(entry.name != "colour" for entry in CHECKS)


def test_only_the_checks_asked_for_are_made():
    answer = search([impeller()], duty(), checks=CHECKS[:2])
    assert [f.check for f in answer.candidate(0).findings] == [entry.name for entry in CHECKS[:2]]
