"""The verdict at the guarantee point, against worked examples constructed beside the standard.

The example: guarantee 1200 m³/h, 45 m, 86 % at 1480 rev/min, and seven points at speeds a little
above. Its translated points and straight-line results are exact arithmetic (constructed, no
outside authority); grades of ISO 9906:2012 are from memory, as the tables say.
"""

import numpy as np
import pytest

from quality.acceptance.curves import Pieces
from quality.acceptance.errors import (
    NoSuchRow,
    SpeedOutsidePermittedRange,
    UnknownGrade,
    UnusableReadings,
)
from quality.acceptance.evidence import Certainty, Outcome
from quality.acceptance.grades import OwnTolerances
from quality.acceptance.performance import judge, judge_readings
from quality.acceptance.readings import Reading, SetUp
from quality.acceptance.standards import default_grade, house_tables
from quality.acceptance.verdicts import CrossRule, Settings
from tests.quality.acceptance.builders import DENSITY, EXAMPLE_25, grade, guarantee, limits, points

STRAIGHT = Settings(pieces=Pieces.STRAIGHT, minimum_points=False)
BOTH = Settings(pieces=Pieces.STRAIGHT, minimum_points=False, cross=CrossRule.BOTH)


def verdict(name="1B", *, settings=STRAIGHT, head_factor=1.0, edition="2012", **promised):
    promise = guarantee(**promised)
    return judge(
        points(head_factor=head_factor),
        promise,
        grade(name, edition=edition, of=promise),
        limits=limits(),
        settings=settings,
    )


def test_points_come_to_rated_speed_as_in_the_worked_example():
    rated = verdict().points
    flow = [0, 597.176, 956.768, 1087.062, 1196.765, 1307.350, 1437.087]
    head = [54.5091, 52.5022, 49.2666, 47.4432, 45.5534, 43.3242, 40.1371]
    np.testing.assert_allclose(rated.flow * 3600, flow, atol=6e-4)
    np.testing.assert_allclose(rated.head, head, atol=6e-5)


def test_both_deviations_of_the_cross_agree_with_the_worked_example():
    judged = verdict()
    assert judged.of("head").measured == pytest.approx(45.4882, abs=6e-5)
    assert judged.of("head").deviation == pytest.approx(0.01085, abs=6e-6)
    assert judged.of("flow").measured * 3600 == pytest.approx(1224.219, abs=6e-4)
    assert judged.of("flow").deviation == pytest.approx(0.02018, abs=6e-6)


def test_efficiency_is_read_on_the_line_through_the_origin():
    efficiency = verdict().of("efficiency")
    assert efficiency.at_flow_m3s * 3600 == pytest.approx(1208.468, abs=6e-4)
    assert efficiency.measured == pytest.approx(0.855788, abs=6e-7)
    assert efficiency.deviation == pytest.approx(-0.00490, abs=6e-6)


def test_power_is_read_on_the_same_line():
    # The example takes P* from Q*, H* and η*; read on the power curve it differs by 0.03 %.
    power = verdict(power_w=170_738.0, efficiency=None).of("power")
    assert power.measured == pytest.approx(174_009, rel=5e-4)
    assert power.deviation == pytest.approx(0.01915, abs=5e-4)
    assert power.outcome is Outcome.PASSED


@pytest.mark.parametrize(
    ("name", "edition", "outcome"),
    [
        ("1B", "2012", Outcome.PASSED),
        ("2B", "2012", Outcome.PASSED),
        ("3B", "2012", Outcome.PASSED),
        ("1E", "2012", Outcome.FAILED),
        ("1U", "2012", Outcome.FAILED),
        ("2U", "2012", Outcome.PASSED),
        ("1", "1999", Outcome.PASSED),
        ("2", "1999", Outcome.PASSED),
        ("A", "1999", Outcome.PASSED),
    ],
)
def test_each_grade_comes_to_the_verdict_of_the_worked_example(name, edition, outcome):
    assert verdict(name, edition=edition).outcome is outcome


def test_grade_1u_passes_in_flow_and_head_and_fails_in_efficiency():
    judged = verdict("1U")
    assert judged.of("flow").outcome is Outcome.PASSED
    assert judged.of("head").outcome is Outcome.PASSED
    assert judged.of("efficiency").outcome is Outcome.FAILED


@pytest.mark.parametrize(
    ("factor", "head", "flow_m3h", "grade_name", "either", "both"),
    [
        (0.96, -0.0296, 1120.0, "1B", Outcome.PASSED, Outcome.FAILED),
        (0.95, -0.0397, None, "1B", Outcome.FAILED, Outcome.FAILED),
        (0.95, -0.0397, None, "2B", Outcome.PASSED, Outcome.FAILED),
        (0.94, -0.0498, None, "2B", Outcome.PASSED, Outcome.FAILED),
        (0.94, -0.0498, None, "3B", Outcome.PASSED, Outcome.FAILED),
    ],
)
def test_one_bar_or_both_is_a_setting(factor, head, flow_m3h, grade_name, either, both):
    for settings, outcome in ((STRAIGHT, either), (BOTH, both)):
        judged = verdict(grade_name, settings=settings, head_factor=factor, efficiency=None)
        assert judged.outcome is outcome
        assert judged.of("head").deviation == pytest.approx(head, abs=6e-5)
        if flow_m3h:
            assert judged.of("flow").measured * 3600 == pytest.approx(flow_m3h, abs=0.06)


@pytest.mark.parametrize(("factor", "deviation"), [(0.95, -0.0905), (0.94, -0.1197)])
def test_the_bar_that_is_not_met_still_says_how_far_off_it_is(factor, deviation):
    flow = verdict(head_factor=factor, efficiency=None).of("flow")
    assert flow.deviation == pytest.approx(deviation, abs=6e-5)
    assert flow.outcome is Outcome.FAILED


def test_a_bar_that_is_not_needed_says_so():
    flow = verdict(head_factor=0.96, efficiency=None).of("flow")
    assert not flow.decides
    assert "not needed" in flow.sentence


def test_grade_1b_wants_five_readings_and_the_example_has_three():
    judged = verdict(settings=Settings(pieces=Pieces.STRAIGHT))
    assert judged.outcome is Outcome.NOT_JUDGED
    assert judged.missing[0].count == 2
    assert judged.missing[0].lowest_m3s * 3600 == pytest.approx(1080)
    assert judged.missing[0].highest_m3s * 3600 == pytest.approx(1320)
    assert judged.of("head").outcome is Outcome.PASSED  # the figures stay visible


def test_three_readings_are_enough_for_grade_2b():
    assert verdict("2B", settings=Settings()).outcome is Outcome.PASSED


def test_a_guarantee_point_beyond_the_readings_is_not_judged_and_says_what_is_missing():
    judged = verdict(flow_m3s=1500 / 3600, head_m=38.0)
    assert judged.outcome is Outcome.NOT_JUDGED
    assert any("outside the measured range" in gap.sentence for gap in judged.missing)
    assert judged.of("head").measured is None


def test_a_horizontal_bar_that_was_not_measured_to_its_end_is_not_failed():
    # Up to 1200 m³/h the head stays above 45 m, so where it falls to it is unknown.
    judged = judge(
        points((*EXAMPLE_25[:5], (1205, 45.7, 85.6, 1484))),
        guarantee(efficiency=None),
        grade("1B"),
        limits=limits(),
        settings=BOTH,
    )
    assert judged.of("flow").outcome is Outcome.NOT_JUDGED
    assert judged.outcome is Outcome.NOT_JUDGED
    assert judged.missing[0].lowest_m3s * 3600 == pytest.approx(1260)


def test_efficiency_is_not_judged_far_from_rated_speed_and_head_still_is():
    slow = tuple((q * 0.75, h * 0.5625, e, n * 0.75) for q, h, e, n in EXAMPLE_25)
    judged = judge(points(slow), guarantee(), grade("1B"), limits=limits(), settings=STRAIGHT)
    assert judged.of("head").measured == pytest.approx(45.4882, abs=6e-5)
    assert judged.of("efficiency").outcome is Outcome.NOT_JUDGED
    assert judged.outcome is Outcome.NOT_JUDGED


def test_a_speed_beyond_the_permitted_range_is_refused_with_the_range():
    slow = tuple((q, h, e, n * 0.49) for q, h, e, n in EXAMPLE_25)
    with pytest.raises(SpeedOutsidePermittedRange, match="permits 50 to 120 %"):
        judge(points(slow), guarantee(), grade("1B"), limits=limits())


def test_power_without_a_tolerance_in_the_grade_is_not_judged():
    power = verdict("1", edition="1999", power_w=170_738.0, efficiency=None).of("power")
    assert power.outcome is Outcome.NOT_JUDGED
    assert "neither the grade nor the contract" in power.sentence


def test_the_contracts_own_tolerance_goes_before_the_grade():
    promise = guarantee()
    own = grade("1B", own=OwnTolerances(efficiency_minus=0.004))
    judged = judge(points(), promise, own, limits=limits(), settings=STRAIGHT)
    assert judged.of("efficiency").outcome is Outcome.FAILED
    assert judged.of("efficiency").rows[0].standard == "contract"
    assert judged.of("head").rows[0].standard == "ISO 9906"


def test_pumps_of_little_power_have_their_own_tolerances():
    # τη = −[10(1 − P/10) + 7] %, τP = √(7² + τη²) %; ISO 9906:2012, 4.4.2 (from memory).
    small = guarantee(flow_m3s=0.01, head_m=30.0, efficiency=0.6, speed_rpm=2900.0)
    tolerances = grade("1B", of=small)
    assert small.shaft_power_w is not None
    assert tolerances.efficiency is not None
    assert tolerances.power is not None
    power_kw = small.shaft_power_w / 1000
    lost = 10 * (1 - power_kw / 10) + 7
    assert power_kw == pytest.approx(4.894, abs=1e-3)
    assert tolerances.flow.plus == tolerances.flow.minus == 0.10
    assert tolerances.head.plus == tolerances.head.minus == 0.08
    assert tolerances.efficiency.minus == pytest.approx(lost / 100)
    assert tolerances.power.plus == pytest.approx((7**2 + lost**2) ** 0.5 / 100)


def test_the_rule_for_little_power_ends_above_ten_kilowatts():
    assert grade("1B", shaft_power_w=10_000.0).flow.plus == 0.10
    assert grade("1B", shaft_power_w=10_000.1).flow.plus == 0.05


def test_an_efficiency_tolerance_is_a_share_of_the_guarantee_not_points():
    # Grade 2B of 86 % allows down to 81.7 %, not 81 %.
    tolerance = grade("2B").efficiency
    assert tolerance is not None
    assert tolerance.minus is not None
    assert 0.86 * (1 - tolerance.minus) == pytest.approx(0.817)


def test_a_verdict_names_its_rows_and_how_sure_they_are():
    judged = verdict()
    assert any(row.clause == "Table 8" for row in judged.rows)
    assert judged.certainty is Certainty.MEMORY
    assert any("from memory" in row.sentence for row in judged.rows)


def test_the_monotone_curve_gives_nearly_the_same_figures_as_straight_pieces():
    smooth = verdict(settings=Settings(minimum_points=False))
    straight = verdict()
    for quantity in ("flow", "head", "efficiency"):
        assert smooth.of(quantity).deviation == pytest.approx(
            straight.of(quantity).deviation, abs=2e-3
        )


def test_readings_that_stop_are_refused_with_every_reason():
    readings = [
        Reading(number=i, flow_m3s=q / 3600, speed_rpm=n, head_m=h)
        for i, (q, h, _, n) in enumerate(EXAMPLE_25, start=1)
    ]
    readings[2] = Reading(number=3, flow_m3s=-1.0, speed_rpm=1480, head_m=float("nan"))
    with pytest.raises(UnusableReadings) as refused:
        judge_readings(
            readings,
            SetUp(density_kg_m3=DENSITY),
            guarantee(efficiency=None),
            grade("1B"),
            limits=limits(),
        )
    assert "flow is -1 m³/s" in refused.value.sentence
    assert "head is nan" in refused.value.sentence


def test_the_same_pump_in_two_unit_systems_gets_one_verdict():
    gpm, feet = 0.003785411784 / 60, 0.3048
    promise = guarantee(flow_m3s=5283.44 * gpm, head_m=147.638 * feet)
    lines = tuple((q / 3600 / gpm * gpm * 3600, h / feet * feet, e, n) for q, h, e, n in EXAMPLE_25)
    judged = judge(points(lines), promise, grade("1B"), limits=limits(), settings=STRAIGHT)
    assert judged.of("head").deviation == pytest.approx(verdict().of("head").deviation, abs=1e-5)


@pytest.mark.parametrize(
    ("application", "power_kw", "name"),
    [
        ("municipal water and wastewater", 90, "2B"),
        ("municipal water and wastewater", 101, "1B"),
        ("dewatering, drainage, irrigation", 100, "3B"),
        ("water injection", 400, "1B"),
    ],
)
def test_a_contract_without_a_grade_gets_the_default_of_its_application(
    application, power_kw, name
):
    # Default grades of ANSI/HI 14.6-2011, in a published article.
    found, evidence = default_grade(house_tables(), application, 1000 * power_kw)
    assert found == name
    assert evidence.certainty is Certainty.CONFIRMED_2ND


@pytest.mark.parametrize(
    ("application", "power_kw"), [("water injection", 50), ("fountains", 50), ("pipeline", 9)]
)
def test_what_the_table_of_default_grades_does_not_hold_is_refused(application, power_kw):
    with pytest.raises(NoSuchRow, match="above 10 kW: municipal water"):
        default_grade(house_tables(), application, 1000 * power_kw)


def test_a_grade_of_another_edition_is_refused_with_those_there_are():
    with pytest.raises(UnknownGrade, match="no grade 1 in ISO 9906:2012; known are 1U, 1E, 1B"):
        grade("1")
