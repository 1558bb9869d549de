"""The search as arrays against the same pump asked alone, and what becomes of the rejected."""

import dataclasses

import numpy as np
import pytest

from selection.hydraulics import (
    CatalogueImpeller,
    Duty,
    Liquid,
    PumpCurve,
    Suction,
    SystemCurve,
    Verdict,
    choose_motor,
    operating_points,
    pack,
    search,
    through_points,
    viscous_factors,
    working_pressure,
)
from selection.hydraulics.errors import DisagreeingTests, HydraulicsError, NothingGiven, OutOfBounds
from selection.hydraulics.question import Alone, Fit, Pairs
from selection.hydraulics.solve import SLICE, solve

from .catalogues import duty, impeller, many
from .examples import met

PAIRS = {"poles": (2, 4, 6), "speeds_rpm": (2960.0, 1480.0, 980.0)}


@pytest.fixture(scope="module")
def found():
    return search(many(), duty(**PAIRS))


def test_every_candidate_has_the_figures_of_the_same_pump_asked_alone(found):
    solved, asked = found.lineup.solved, found.lineup.duty
    assert solved.converged.all()
    for at in range(len(solved.fit)):
        candidate = found.candidate(at)
        curve = candidate.curve
        assert curve.bep_flow_m3s == pytest.approx(candidate.bep_flow_m3s, rel=1e-9)
        assert curve.shutoff_head_m == pytest.approx(candidate.shutoff_head_m, rel=1e-9)
        assert curve.flow_high_m3s == pytest.approx(solved.end_flow_m3s[at], rel=1e-9)
        if np.isfinite(candidate.head_m):
            assert float(curve.head(0.15)) == pytest.approx(candidate.head_m, rel=1e-9)
            assert float(curve.efficiency(0.15)) == pytest.approx(candidate.efficiency, rel=1e-9)
            assert float(curve.npshr(0.15)) == pytest.approx(
                candidate.npshr_m, rel=1e-9, nan_ok=True
            )
        for count in range(asked.pumps):
            alone = operating_points(curve, asked.system, count + 1)
            if solved.running_state[count, at] == Alone.MEETS:
                assert candidate.running[count][0] == pytest.approx(met(alone).flow_m3s, rel=1e-9)
                assert candidate.running[count][1] == pytest.approx(met(alone).head_m, rel=1e-9)
            else:
                assert alone.point is None
                assert candidate.running[count] is None


def test_a_trim_meets_the_duty_exactly(found):
    solved = found.lineup.solved
    meets = solved.fit == Fit.MEETS
    assert meets.sum() > 20
    assert np.allclose(solved.head_m[meets], 62.0, rtol=1e-12)
    catalogue = found.lineup.catalogue
    least = catalogue.diameter_min_mm[solved.impeller]
    most = catalogue.diameter_max_mm[solved.impeller]
    assert (solved.diameter_mm >= least - 1e-9).all()
    assert (solved.diameter_mm <= most + 1e-9).all()


def test_impellers_with_several_tests_are_trimmed_between_them(found):
    solved = found.lineup.solved
    between = (solved.lower != solved.upper) & (solved.fit == Fit.MEETS)
    assert between.any()
    tested = found.lineup.catalogue.test_diameter_mm
    assert (solved.diameter_mm[between] >= tested[solved.lower[between]]).all()
    assert (solved.diameter_mm[between] <= tested[solved.upper[between]]).all()


def test_highest_power_is_that_of_the_curve_finely_searched(found):
    for candidate in found.ranked(10):
        flow = np.linspace(0.15 * candidate.bep_flow_m3s, candidate.curve.flow_high_m3s, 4000)
        finest = np.nanmax(candidate.curve.power(flow, found.lineup.duty.liquid.density_kg_m3))
        assert candidate.power_max_w == pytest.approx(finest, rel=1e-3)


def test_motor_and_pressure_are_those_of_the_plain_functions(found):
    for candidate in found.ranked(10):
        motor = choose_motor(
            candidate.power_w,
            candidate.power_max_w,
            candidate.poles,
            rule=found.lineup.rules.motor,
            run_out_w=candidate.alone_power_w,
        )
        assert candidate.motor_w == motor.rating_w
        assert candidate.motor_speed_rpm == pytest.approx(motor.speed_rpm)
        expected = working_pressure(
            found.lineup.duty.suction.highest_pressure_pa(found.lineup.duty.liquid),
            candidate.curve.head_max_m,
            found.lineup.duty.liquid.density_kg_m3,
        )
        assert candidate.working_pressure_pa == pytest.approx(float(expected), rel=1e-9)


def test_nothing_is_dropped(found):
    assert len(found) + found.rejected_count == 180
    keys = {candidate.key for candidate in (*found.ranked(999), *found.rejected(999))}
    assert len(keys) == 180


def test_the_ranked_have_no_killing_finding_and_the_rejected_have_one(found):
    assert len(found) > 5
    for candidate in found.ranked(999):
        assert candidate.killed_by == ()
        assert candidate.verdict < Verdict.KILLS
    for candidate in found.rejected(999):
        assert candidate.killed_by
        assert all(finding.sentence for finding in candidate.killed_by)


def test_the_ranking_goes_by_the_score_it_tells(found):
    scores = [candidate.score for candidate in found.ranked(999)]
    assert scores == sorted(scores)
    best = found.ranked(1)[0]
    cautions = sum(finding.verdict is Verdict.CAUTION for finding in best.findings)
    against = sum(finding.verdict is Verdict.AGAINST for finding in best.findings)
    least = min(candidate.power_w for candidate in found.ranked(999))
    off = abs(best.flow_m3s / best.bep_flow_m3s - 1.0) * 10.0
    assert best.score == pytest.approx(
        best.power_w / least + 0.01 * cautions + 0.06 * against + 0.01 * off
    )
    assert "shaft power" in found.ranking_sentence


def test_the_rejected_stand_nearest_first(found):
    nearest = found.rejected(999)
    reasons = [len(candidate.killed_by) for candidate in nearest]
    assert reasons == sorted(reasons)


def test_equal_questions_get_equal_answers(found):
    again = search(many(), duty(**PAIRS))
    assert [c.key for c in again.ranked(50)] == [c.key for c in found.ranked(50)]


def test_a_candidate_is_found_again_by_its_key(found):
    best = found.ranked(1)[0]
    assert found.find(best.key).diameter_mm == best.diameter_mm
    assert found.find("nobody@4") is None


def test_a_search_in_slices_is_the_search_in_one(found, monkeypatch):
    monkeypatch.setattr("selection.hydraulics.solve.SLICE", 37)
    sliced = search(many(), duty(**PAIRS)).lineup.solved
    whole = found.lineup.solved
    for field in dataclasses.fields(whole):
        assert np.array_equal(
            getattr(sliced, field.name), getattr(whole, field.name), equal_nan=True
        )
    assert SLICE > 1000


def test_a_duty_beyond_every_curve_lists_the_nearest_and_what_would_reach_it():
    answer = search(
        [impeller()], duty(head_m=90.0, system=SystemCurve(static_m=60.0, coefficient=148.0))
    )
    assert len(answer) == 0
    sentence = answer.rejected(1)[0].killed_by[0].sentence
    assert "short" in sentence
    assert "mm would be needed" in sentence


def test_a_flow_beyond_the_curve_is_not_extrapolated():
    answer = search([impeller()], duty(flow_m3s=0.3))
    killed = answer.rejected(1)[0]
    assert "beyond the end of the tested curve" in killed.killed_by[0].sentence
    assert np.isnan(killed.head_m)


def test_too_much_head_at_the_least_diameter_is_said():
    answer = search(
        [impeller()], duty(head_m=30.0, system=through_points((0.0, 20.0), (0.45, 30.0)))
    )
    assert "too much" in answer.rejected(1)[0].killed_by[0].sentence


def test_the_last_pump_alone_is_asked_at_the_least_static_head():
    band = SystemCurve(static_m=45.0, coefficient=84.0, static_low_m=40.0, static_high_m=47.0)
    solved = search([impeller()], duty(system=band)).lineup.solved
    curve = impeller().family().curve_at(float(solved.diameter_mm[0]), 1480.0)
    answer = operating_points(curve, band.low, 1)
    if answer.point is None:
        assert solved.alone_state[0] == Alone.BEYOND_END
        assert solved.alone_flow_m3s[0] == pytest.approx(curve.flow_high_m3s)
    else:
        assert solved.alone_flow_m3s[0] == pytest.approx(met(answer).flow_m3s, rel=1e-9)


def test_one_choice_serves_several_duties_at_the_largest_diameter_needed():
    first = duty()
    second = duty(
        flow_m3s=0.16, head_m=63.5, pumps=2, system=through_points((0.0, 48.0), (0.32, 63.5))
    )
    both = search([impeller()], first, also=[second]).ranked(1)[0]
    alone = search([impeller()], first).ranked(1)[0]
    other = search([impeller()], second).ranked(1)[0]
    assert both.diameter_mm == pytest.approx(max(alone.diameter_mm, other.diameter_mm))
    assert both.head_m > 62.0
    sentences = {finding.check: finding.sentence for finding in both.findings}
    assert "All 1 other duties are met" in sentences["other duties"]
    assert "another duty needs" in sentences["head at duty"]


def test_a_further_duty_that_cannot_be_met_kills():
    hard = duty(flow_m3s=0.15, head_m=85.0, system=SystemCurve(static_m=60.0, coefficient=120.0))
    killed = search([impeller()], duty(), also=[hard]).rejected(1)[0]
    assert any(
        finding.check == "other duties" and "at 85.0 m is not met" in finding.sentence
        for finding in killed.killed_by
    )


OIL = Liquid(
    name="oil",
    temperature_k=293.15,
    density_kg_m3=880.0,
    vapour_pressure_pa=100.0,
    kinematic_viscosity_m2s=100e-6,
)


def test_a_viscous_liquid_is_searched_on_corrected_curves():
    thick = search([impeller(head_m=72.0)], duty(liquid=OIL)).candidate(0)
    thin = search([impeller(head_m=72.0)], duty()).candidate(0)
    assert thick.efficiency < thin.efficiency
    assert thick.diameter_mm > thin.diameter_mm
    finding = next(f for f in thick.findings if f.check == "viscosity")
    layout = impeller(head_m=72.0)
    test = layout.tests[0]
    water_curve = PumpCurve.through(test)
    factors = viscous_factors(water_curve.bep_flow_m3s, water_curve.bep_head_m, 1480.0, 100e-6, 2)
    assert finding.figure == pytest.approx(factors.parameter, rel=1e-9)
    assert "corrected for viscosity" in finding.sentence


def test_a_liquid_outside_the_viscosity_method_kills_with_the_reason():
    tar = dataclasses.replace(OIL, kinematic_viscosity_m2s=5e-3)
    killed = search([impeller()], duty(liquid=tar)).rejected(1)[0]
    assert any("viscosity correction does not hold" in f.sentence for f in killed.killed_by)


def test_an_empty_catalogue_is_refused():
    with pytest.raises(NothingGiven, match="impeller in the catalogue"):
        search([], duty())


@pytest.mark.parametrize(
    "change",
    [
        {"flow_m3s": 0.0},
        {"flow_m3s": 540.0},
        {"head_m": -62.0},
        {"head_m": float("nan")},
        {"pumps": 0},
        {"standby": -1},
        {"poles": ()},
        {"poles": (3,)},
        {"frequency_hz": 55.0},
        {"speeds_rpm": (1480.0, 980.0)},
        {"speeds_rpm": (0.0,)},
    ],
)
def test_an_impossible_duty_is_refused_with_a_sentence(change):
    with pytest.raises(HydraulicsError) as refusal:
        duty(**change)
    assert str(refusal.value)[0].isupper()
    assert str(refusal.value).endswith((".", "?"))


@pytest.mark.parametrize(
    "change",
    [
        {"tests": ()},
        {"diameter_min_mm": 900.0},
        {"diameter_max_mm": 0.0},
        {"speed_max_rpm": -1.0},
        {"volutes": 3},
        {"allowable_low": 1.5},
        {"casing_pressure_max_pa": 0.0},
    ],
)
def test_an_impossible_impeller_is_refused(change):
    whole = impeller()
    figures = {f.name: getattr(whole, f.name) for f in dataclasses.fields(CatalogueImpeller)}
    with pytest.raises((OutOfBounds, NothingGiven)):
        CatalogueImpeller(**(figures | change))


def test_two_catalogue_tests_at_one_diameter_are_refused():
    whole = impeller()
    figures = {f.name: getattr(whole, f.name) for f in dataclasses.fields(CatalogueImpeller)}
    with pytest.raises(DisagreeingTests, match="merge them first"):
        CatalogueImpeller(**(figures | {"tests": whole.tests * 2}))


def test_motors_speeds_are_tried_when_none_are_told():
    asked = Duty(flow_m3s=0.15, head_m=62.0, system=through_points((0.0, 45.0), (0.15, 62.0)))
    assert len(asked.speeds) == 3
    assert 1480 < asked.speeds[1] < 1490


def test_settled_diameters_are_kept():
    catalogue = pack([impeller(tests=(1.0, 0.9))])
    pairs = Pairs.all_of(1, (1480.0,), (4,))
    size = 0.95 * catalogue.diameter_max_mm
    solved = solve(catalogue, duty().question, pairs, size)
    assert solved.diameter_mm == pytest.approx(size)
    curve = impeller(tests=(1.0, 0.9)).family().curve_at(float(size[0]), 1480.0)
    assert solved.head_m[0] == pytest.approx(float(curve.head(0.15)), rel=1e-9)


def test_a_suction_without_enough_npsh_kills_and_says_what_would_help():
    answer = search([impeller()], duty(suction=Suction(level_m=-8.5, loss_m=1.0)))
    killed = next(f for f in answer.rejected(1)[0].killed_by if f.check == "NPSH at duty")
    assert "cavitate" in killed.sentence
    assert "Raise the level" in killed.sentence
