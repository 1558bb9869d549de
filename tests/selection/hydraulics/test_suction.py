"""NPSH available against published examples, the margin over the band, and the cures."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selection.hydraulics import (
    MARGIN_RULES,
    Liquid,
    Suction,
    at_speed,
    cures,
    margin_band,
    margin_rule_for,
    suction_energy,
    water,
)
from selection.hydraulics.errors import HydraulicsError, OutOfBounds, UnknownName
from selection.hydraulics.suction import USUAL_MARGIN, npsha_from_gauge

from .examples import FT, PSI, close, hi_curve


def liquid_of(density: float, vapour_pa: float) -> Liquid:
    return Liquid(
        name="fresh water",
        temperature_k=288.7,
        density_kg_m3=density,
        vapour_pressure_pa=vapour_pa,
        kinematic_viscosity_m2s=1.1e-6,
    )


def test_npsh_available_meets_cranes_example():
    # Crane TP 410, example 7.32: tank at 5 psig over a level 25 ft below, loss 6 ft, water
    # 0.256 psi and 62.364 lb/ft³: 13.8873 ft, 4.23285 m.
    suction = Suction(level_m=-25 * FT, surface_pressure_pa=(5 + 14.6959488) * PSI, loss_m=6 * FT)
    available = suction.npsha(0.05, liquid_of(62.364 * 16.018463, 0.256 * PSI))
    assert close(available, 4.232854, 2e-4)
    assert close(available / FT, 13.887317, 2e-4)


@pytest.mark.parametrize(("level_ft", "expected_ft"), [(15.0, 46.0), (-20.0, 11.0)])
def test_npsh_available_meets_the_water_handbooks_examples(level_ft, expected_ft):
    # 34 ft of air, 0.6 ft of vapour, 0.4 ft of entrance and 2 ft of friction.
    weight = 1000.0 * 9.80665 * FT
    suction = Suction(level_m=level_ft * FT, surface_pressure_pa=34 * weight, loss_m=2.4 * FT)
    assert close(suction.npsha(0.05, liquid_of(1000.0, 0.6 * weight)) / FT, expected_ft, 1e-9)


def test_npsh_available_meets_the_pumping_handbooks_sample():
    # Water at 140 °F: level +45 ft, air 34.474 ft, vapour 6.775 ft, friction 0.378 ft: 72.321 ft.
    weight = 985.0 * 9.80665 * FT
    suction = Suction(level_m=45 * FT, surface_pressure_pa=34.474 * weight, loss_m=0.378 * FT)
    assert close(suction.npsha(0.02, liquid_of(985.0, 6.775 * weight)) / FT, 72.321, 1e-5)


def test_npsh_available_from_a_gauge_meets_the_published_example():
    # +2.4 psi 1 ft above the centreline, 10 ft/s, 14.7 and 0.339 psi, 2.31 ft a psi: 41.27 ft.
    density = PSI / (2.31 * FT * 9.80665)
    available = npsha_from_gauge(
        2.4 * PSI, FT, 10 * FT, liquid_of(density, 0.339 * PSI), 14.7 * PSI
    )
    assert close(available / FT, 41.27, 1e-4)


def test_altitude_and_warmth_take_npsh_away():
    low = Suction(level_m=-3.0)
    high = Suction(level_m=-3.0, altitude_m=2000.0)
    cold, warm = water(293.15), water(333.15)
    assert low.npsha(0.1, cold) - high.npsha(0.1, cold) == pytest.approx(
        (101.325e3 - 79.495e3) / cold.specific_weight_n_m3, rel=1e-4
    )
    assert low.npsha(0.1, cold) - low.npsha(0.1, warm) == pytest.approx(1.7, abs=0.2)


def test_losses_vary_with_the_square_of_flow_where_their_flow_is_told():
    suction = Suction(level_m=2.0, loss_m=0.8, loss_flow_m3s=0.1)
    assert suction.loss(0.2) == pytest.approx(3.2)
    assert Suction(level_m=2.0, loss_m=0.8).loss(0.2) == pytest.approx(0.8)


def test_the_lowest_level_is_the_worst_case():
    suction = Suction(level_m=2.0, level_low_m=-1.0)
    assert suction.worst.level_m == -1.0
    with pytest.raises(OutOfBounds, match="lowest suction level"):
        Suction(level_m=2.0, level_low_m=3.0)


def test_the_highest_suction_pressure_is_reckoned_or_taken_as_given():
    cold = water(293.15)
    assert Suction(level_m=-3.0).highest_pressure_pa(cold) == 0.0
    assert Suction(level_m=10.0).highest_pressure_pa(cold) == pytest.approx(97_890, rel=1e-3)
    assert Suction(level_m=10.0, pressure_high_pa=3e5).highest_pressure_pa(cold) == 3e5


def test_the_band_says_where_the_margin_runs_out_and_where_nothing_is_left():
    curve = hi_curve()
    suction = Suction(level_m=-6.0, loss_m=0.5)
    band = margin_band(curve, suction, water(293.15))
    flow = band.runs_out_m3s
    assert flow is not None
    assert suction.npsha(flow, water(293.15)) == pytest.approx(
        float(USUAL_MARGIN.needed(curve.npshr(flow))), rel=1e-9
    )
    assert band.cavitates_m3s is not None
    assert band.cavitates_m3s > flow
    assert band.ratio[0] == pytest.approx(band.available_m[0] / 1.8)
    flooded = margin_band(curve, Suction(level_m=5.0), water(293.15))
    assert flooded.runs_out_m3s is None
    assert flooded.enough.all()


def test_a_short_suction_is_told_what_would_cure_it():
    curve, hot = hi_curve(), water(353.15)
    suction = Suction(level_m=-1.0, loss_m=0.5)
    flow = 204.4 / 3600
    answer = cures(curve, suction, hot, flow)
    assert answer.short_by_m > 0.0
    raised = Suction(level_m=answer.level_m, loss_m=0.5)
    needed = float(USUAL_MARGIN.needed(curve.npshr(flow)))
    assert raised.npsha(flow, hot) == pytest.approx(needed, rel=1e-9)
    assert answer.temperature_k is not None
    # The cooler water is a little heavier, hence the tolerance.
    assert suction.npsha(flow, water(answer.temperature_k)) == pytest.approx(needed, rel=0.02)
    assert "would do" in answer.sentence
    assert f"{answer.short_by_m:.1f} m" in answer.sentence


def test_a_slower_pump_cures_a_slightly_short_suction():
    curve, cold = hi_curve(), water(293.15)
    flow = 250 / 3600
    suction = Suction(level_m=-4.7)
    answer = cures(curve, suction, cold, flow)
    assert 0.0 < answer.short_by_m < 0.5
    assert answer.speed_rpm is not None
    assert 1300.0 < answer.speed_rpm < curve.speed_rpm
    slower = at_speed(curve, answer.speed_rpm)
    less = flow * answer.speed_rpm / curve.speed_rpm
    needed = float(USUAL_MARGIN.needed(slower.npshr(less)))
    assert float(suction.npsha(less, cold)) == pytest.approx(needed, rel=1e-9)
    assert "a speed of" in answer.sentence


def test_an_ample_suction_needs_no_cure():
    answer = cures(hi_curve(), Suction(level_m=5.0), water(293.15), 200 / 3600)
    assert answer.short_by_m < 0.0
    assert "more than the margin asked" in answer.sentence


@given(st.sampled_from(sorted(MARGIN_RULES)), st.floats(0.5, 20.0))
def test_a_margin_rule_asks_the_greater_of_ratio_and_margin(name, required):
    rule = MARGIN_RULES[name]
    needed = float(rule.needed(required))
    assert needed >= required * rule.ratio - 1e-12
    assert needed >= required + rule.margin_m - 1e-12
    assert np.isclose(needed, max(required * rule.ratio, required + rule.margin_m))


def test_suction_energy_is_in_us_units():
    # 10 in eye, 1180 rev/min, Nss 9000 US, water: 106.2e6.
    assert suction_energy(254.0, 1180.0, 9000 / 51.645, 1.0) == pytest.approx(106.2e6, rel=1e-6)


@pytest.mark.parametrize(
    ("service", "energy", "ratio"),
    [
        # HI 9.6.1-1998 table, from memory.
        ("water", 50e6, 1.1),
        ("water", 130e6, 1.3),
        ("water", 200e6, 2.0),
        ("power plant", 130e6, 1.5),
        ("cooling tower", 50e6, 1.3),
        ("general industry", 200e6, 1.2),
    ],
)
def test_the_margin_grows_with_suction_energy(service, energy, ratio):
    assert margin_rule_for(service, energy).ratio == ratio


def test_a_service_without_a_margin_of_its_own_is_refused():
    with pytest.raises(UnknownName, match="cooling tower"):
        margin_rule_for("brewery", 1e6)


@pytest.mark.parametrize(
    "change",
    [
        {"level_m": float("nan")},
        {"level_m": 2e5},
        {"altitude_m": 9e4},
        {"loss_m": -1.0},
        {"surface_pressure_pa": -2.0},
        {"loss_flow_m3s": 0.0},
    ],
)
def test_an_impossible_suction_is_refused(change):
    with pytest.raises(HydraulicsError):
        Suction(**({"level_m": 1.0} | change))
