"""The hydrostatic test: pressure, gauges, time, leaks.

The factor 1.5 on the highest working pressure is common practice and, for API 610, confirmed in a
secondary text; times are from memory, as the tables say.
"""

from datetime import date

import pytest

from quality.acceptance.errors import BadTestRecord, NoSuchRow, NotANumber
from quality.acceptance.evidence import Certainty, Outcome
from quality.acceptance.hydrostatic import (
    GaugeReading,
    Leak,
    LeakKind,
    Place,
    PressureRecord,
    judge_pressure_test,
)
from quality.acceptance.pressures import find_rule, pressure_to_test, step_plan
from quality.acceptance.standards import (
    chloride_limit,
    gauge_range,
    house_tables,
    pressure_rules,
)
from tests.quality.acceptance.builders import pressure_gauge

TABLES = house_tables()
RULES = pressure_rules(TABLES)
RULE = find_rule(RULES, "usual purchaser's rule")
ON = date(2026, 5, 4)
REQUIRED = pressure_to_test(RULE, working_pressure_max_pa=9e5)


def record(*leaks, start=13.6e5, end=13.6e5, minutes=30.0, gauges=None, **changes):
    shown = gauges or (pressure_gauge("PG-01"), pressure_gauge("PG-02"))
    return PressureRecord(
        on=changes.pop("on", ON),
        gauges=tuple(GaugeReading(gauge=g, start_pa=start, end_pa=end) for g in shown),
        held_s=minutes * 60,
        leaks=leaks,
        **changes,
    )


def judged(taken, **changes):
    return judge_pressure_test(
        taken, required=REQUIRED, rule=RULE, gauge_range=gauge_range(TABLES), **changes
    )


def test_the_test_pressure_is_one_and_a_half_times_the_highest_working_pressure():
    assert REQUIRED.pressure_pa == pytest.approx(13.5e5)
    assert "1.5 × the highest working pressure of 9 bar" in REQUIRED.sentence


def test_twice_the_duty_pressure_or_the_contract_can_ask_for_more():
    more = pressure_to_test(RULE, working_pressure_max_pa=9e5, duty_pressure_pa=7e5)
    assert more.pressure_pa == pytest.approx(14e5)
    contract = pressure_to_test(RULE, working_pressure_max_pa=9e5, contract_pa=16e5)
    assert contract.pressure_pa == pytest.approx(16e5)
    assert contract.rows[0].certainty is Certainty.CONTRACT


def test_fire_pumps_are_never_tested_below_their_least_pressure():
    rule = find_rule(RULES, "NFPA 20")
    low = pressure_to_test(rule, working_pressure_max_pa=8e5)
    assert low.pressure_pa == pytest.approx(17.2e5)
    assert rule.duration_s == 300


def test_the_time_of_a_rule_can_depend_on_the_drivers_power():
    assert find_rule(RULES, "HI 14.6", driver_power_w=75_000).duration_s == 180
    assert find_rule(RULES, "HI 14.6", driver_power_w=75_001).duration_s == 600
    with pytest.raises(NoSuchRow, match="without the driver's power"):
        find_rule(RULES, "HI 14.6")


def test_a_rule_nobody_knows_is_refused_with_those_there_are():
    with pytest.raises(NoSuchRow, match="API 610"):
        find_rule(RULES, "house of cards")


def test_pressure_is_raised_in_steps_and_let_down():
    steps = step_plan(13.5e5, 9e5, 1800)
    pressures = [step.pressure_pa for step in steps]
    assert pressures == [0, 4.5e5, 9e5, 11.25e5, 13.5e5, 9e5, 0]
    assert steps[4].hold_s == 1800


def test_a_dry_casing_passes():
    verdict = judged(record())
    assert verdict.outcome is Outcome.PASSED
    assert not verdict.major
    assert "no leak" in verdict.reasons[0]


@pytest.mark.parametrize("place", [Place.FLANGE, Place.STUD, Place.PLUG, Place.JOINT])
def test_a_leak_at_a_joint_fails_and_is_remade(place):
    verdict = judged(record(Leak(place=place, where="north side")))
    assert verdict.outcome is Outcome.FAILED
    assert not verdict.major
    assert "remake" in verdict.to_do[0]


@pytest.mark.parametrize("place", [Place.BODY, Place.CHANGE_OF_SECTION])
def test_water_through_the_body_is_a_major_nonconformance(place):
    verdict = judged(record(Leak(place=place, where="volute", kind=LeakKind.SWEATING)))
    assert verdict.outcome is Outcome.FAILED
    assert verdict.major
    assert "buyer has agreed in writing" in verdict.to_do[0]
    assert "again after remaking" not in verdict.reasons[0]


@pytest.mark.parametrize("place", [Place.STUD, Place.TAPPED_HOLE])
def test_a_thread_that_still_leaks_after_remaking_counts_as_body(place):
    assert not judged(record(Leak(place=place, where="hole 3"))).major
    again = judged(record(Leak(place=place, where="hole 3", remade=True)))
    assert again.major
    assert "counts as the body" in again.reasons[0]


def test_a_flange_that_leaks_again_is_not_the_body():
    assert not judged(record(Leak(place=Place.FLANGE, where="suction", remade=True))).major


def test_grey_iron_pressure_parts_are_not_welded():
    verdict = judged(record(Leak(place=Place.BODY, where="volute")), weldable=False)
    assert "not welded" in verdict.to_do[1]


def test_seepage_at_a_temporary_closure_is_allowed_while_the_pressure_holds():
    seeping = Leak(place=Place.TEMPORARY_CLOSURE, where="box blank")
    assert judged(record(seeping)).outcome is Outcome.PASSED
    assert judged(record(seeping, end=13.0e5)).outcome is Outcome.FAILED


def test_a_deformed_casing_is_major():
    assert judged(record(deformed=True)).major


def test_a_test_cut_short_is_not_judged():
    verdict = judged(record(minutes=20))
    assert verdict.outcome is Outcome.NOT_JUDGED
    assert "held for 20 min; 30 min are asked" in verdict.reasons[0]


def test_the_contracts_longer_time_goes_before_the_rules():
    assert judged(record(), duration_s=3600).outcome is Outcome.NOT_JUDGED


def test_a_pressure_never_reached_is_not_judged():
    verdict = judged(record(start=13.4e5, end=13.4e5))
    assert verdict.outcome is Outcome.NOT_JUDGED
    assert "start the time again" in verdict.reasons[0]


def test_a_pressure_that_falls_below_the_test_pressure_fails():
    verdict = judged(record(end=13.2e5))
    assert verdict.outcome is Outcome.FAILED
    assert "was not held" in verdict.reasons[0]


def test_a_gauge_out_of_calibration_proves_nothing():
    late = pressure_gauge("PG-02", due_on=date(2026, 5, 3))
    verdict = judged(record(gauges=(pressure_gauge(), late)))
    assert verdict.outcome is Outcome.NOT_JUDGED
    assert "PG-02 was due" in verdict.reasons[0]


def test_a_body_leak_counts_even_when_a_gauge_is_out_of_calibration():
    late = pressure_gauge("PG-02", due_on=date(2026, 5, 3))
    verdict = judged(record(Leak(place=Place.BODY, where="x"), gauges=(pressure_gauge(), late)))
    assert verdict.outcome is Outcome.FAILED
    assert verdict.major


@pytest.mark.parametrize(
    ("top", "fits"), [(20.25, True), (20.2, False), (54.0, True), (54.1, False)]
)
def test_gauges_end_between_one_and_a_half_and_four_times_the_test_pressure(top, fits):
    gauges = (pressure_gauge("A", highest=top), pressure_gauge("B", highest=top))
    outcome = judged(record(gauges=gauges)).outcome
    assert (outcome is Outcome.PASSED) is fits


def test_two_gauges_have_to_agree_within_their_uncertainty():
    taken = PressureRecord(
        on=ON,
        gauges=(
            GaugeReading(gauge=pressure_gauge("A"), start_pa=13.6e5, end_pa=13.6e5),
            GaugeReading(gauge=pressure_gauge("B"), start_pa=14.2e5, end_pa=13.6e5),
        ),
        held_s=1800,
    )
    verdict = judged(taken)
    assert verdict.outcome is Outcome.NOT_JUDGED
    assert "one of them is wrong" in verdict.reasons[0]


def test_one_gauge_is_not_enough():
    assert judged(record(gauges=(pressure_gauge(),))).outcome is Outcome.NOT_JUDGED


def test_a_gauge_in_pascal_is_judged_like_one_in_bar():
    gauges = tuple(
        pressure_gauge(tag, unit="Pa", highest=40e5, resolution=5e3, uncertainty_fixed=24e3)
        for tag in "AB"
    )
    assert judged(record(gauges=gauges)).outcome is Outcome.PASSED


def test_a_gauge_in_a_unit_nobody_knows_is_refused():
    gauges = tuple(pressure_gauge(tag, unit="mm Hg") for tag in "AB")
    with pytest.raises(BadTestRecord, match="'mm Hg' is no unit of pressure known here"):
        judged(record(gauges=gauges))


def test_a_gauge_without_a_range_on_record_proves_nothing():
    gauges = tuple(pressure_gauge(tag, highest=float("inf")) for tag in "AB")
    verdict = judged(record(gauges=gauges))
    assert verdict.outcome is Outcome.NOT_JUDGED
    assert "Gauge A has no range on record; it must end between 20.25 bar" in verdict.reasons[0]


def test_too_much_chloride_on_austenitic_steel_is_said():
    verdict = judged(record(chloride_mg_kg=80), chloride_limit=chloride_limit(TABLES))
    assert verdict.outcome is Outcome.NOT_JUDGED
    assert "80 mg/kg of chloride, above the 50 mg/kg" in verdict.reasons[0]


def test_a_verdict_names_its_rows():
    verdict = judged(record())
    assert any("usual purchaser's rule" in row.name for row in verdict.rows)
    assert verdict.certainty is Certainty.COMMON_PRACTICE


@pytest.mark.parametrize("value", [0.0, -1.0, float("nan")])
def test_a_time_of_nothing_is_refused(value):
    with pytest.raises(NotANumber, match="above zero"):
        judged(record(minutes=value))


def test_a_record_without_gauges_or_with_one_twice_is_refused():
    with pytest.raises(BadTestRecord, match="no gauge"):
        judged(PressureRecord(on=ON, gauges=(), held_s=1800))
    with pytest.raises(BadTestRecord, match="stands twice"):
        judged(record(gauges=(pressure_gauge(), pressure_gauge())))


def test_a_negative_pressure_is_refused():
    with pytest.raises(NotANumber, match="zero or more"):
        judged(record(end=-1.0))


@pytest.mark.parametrize("value", [0.0, -2e5, float("inf")])
def test_a_working_pressure_of_nothing_is_refused(value):
    with pytest.raises(NotANumber, match="highest working pressure"):
        pressure_to_test(RULE, working_pressure_max_pa=value)
