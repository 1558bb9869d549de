"""Motors: ratings, margins, speeds, efficiency, starting."""

import fluids
import numpy as np
import pytest

from selection.hydraulics import (
    NON_OVERLOADING,
    RANGE_RULE,
    STEP_RULE,
    MarginMethod,
    MotorRule,
    check_start,
    choose_motor,
    full_load_speed,
    ie3_efficiency,
    pick_rating,
    ratings_w,
    synchronous_speed,
)
from selection.hydraulics.door import Certainty
from selection.hydraulics.driver import IE3_50HZ, PREFERRED_KW
from selection.hydraulics.errors import MotorBeyondTable, OutOfBounds, UnknownName

from .examples import close


@pytest.mark.parametrize(("power_kw", "rating_kw"), [(18.0, 30.0), (40.0, 55.0), (174.0, 200.0)])
def test_the_margin_steps_meet_the_worked_picks(power_kw, rating_kw):
    # 18·1.25 = 22.5 → 30; 40·1.15 = 46 → 55; 174·1.10 = 191.4 → 200 (steps from memory).
    motor = choose_motor(power_kw * 1e3, power_kw * 1e3, 4)
    assert motor.rating_w == rating_kw * 1e3


def test_a_rating_that_is_not_stocked_is_taken_only_when_asked_for():
    assert pick_rating(330e3) == 355e3
    assert pick_rating(330e3, stocked_only=False) == 335e3


@pytest.mark.parametrize(
    ("power_kw", "factor"), [(21.999, 1.25), (22.0, 1.15), (55.0, 1.15), (55.001, 1.10)]
)
def test_the_edges_of_the_margin_steps_are_settled(power_kw, factor):
    assert STEP_RULE.needed(power_kw * 1e3, 0.0) == pytest.approx(power_kw * 1e3 * factor)


def test_non_overloading_asks_for_the_highest_power():
    assert choose_motor(100e3, 140e3, 4, rule=NON_OVERLOADING).rating_w == 160e3
    assert choose_motor(100e3, 140e3, 4).rating_w == 110e3


def test_a_rule_that_covers_run_out_never_picks_less_than_the_last_pump_alone_takes():
    assert choose_motor(100e3, 150e3, 4, rule=RANGE_RULE, run_out_w=140e3).rating_w == 160e3
    assert choose_motor(100e3, 150e3, 4, rule=RANGE_RULE, run_out_w=105e3).rating_w == 110e3
    assert choose_motor(100e3, 150e3, 4, rule=STEP_RULE, run_out_w=140e3).rating_w == 110e3


def test_the_works_own_margin_is_a_factor_on_duty():
    own = MotorRule(
        method=MarginMethod.WORKS_OWN,
        factor=1.3,
        source="works' setting",
        certainty=Certainty.PRACTICE,
    )
    assert own.needed(100e3, 500e3) == pytest.approx(130e3)


def test_a_power_equal_to_a_rating_takes_it():
    assert pick_rating(75_000.0) == 75_000.0
    assert pick_rating(75_000.0 * (1 + 1e-9)) == 90_000.0


def test_ratings_rise_and_are_whole_arrays():
    assert (np.diff(ratings_w()) > 0).all()
    assert len(ratings_w(stocked_only=False)) == len(PREFERRED_KW)
    assert np.isinf(pick_rating(2e6))
    assert list(pick_rating(np.array([1e3, 10e3]))) == [1.1e3, 11e3]


def test_no_standard_motor_is_large_enough_is_an_error_with_both_figures():
    with pytest.raises(MotorBeyondTable, match=r"at least 1320 kW .* is 1000 kW"):
        choose_motor(1.2e6, 1.2e6, 4)


@pytest.mark.parametrize("poles", [2, 4, 6, 8, 10, 12])
@pytest.mark.parametrize("frequency", [50.0, 60.0])
def test_synchronous_speeds_are_those_of_fluids(poles, frequency):
    assert close(
        synchronous_speed(poles, frequency), fluids.speed_synchronous(frequency, poles), 1e-12
    )


@pytest.mark.parametrize(
    ("poles", "frequency", "rating_kw", "low", "high"),
    [
        # Usual full-load speeds of the reference: 50 Hz from memory, 60 Hz second-hand.
        (4, 50, 11, 1440, 1465),
        (4, 50, 45, 1470, 1480),
        (4, 50, 200, 1485, 1490),
        (4, 60, 55, 1750, 1780),
        (2, 60, 90, 3500, 3560),
        (6, 60, 75, 1160, 1185),
        (8, 60, 75, 870, 890),
        (6, 50, 45, 970, 992),
        (2, 50, 45, 2940, 2985),
    ],
)
def test_full_load_speeds_lie_where_motors_usually_run(poles, frequency, rating_kw, low, high):
    assert low <= float(full_load_speed(poles, frequency, rating_kw * 1e3)) <= high


@pytest.mark.parametrize(
    ("kw", "poles", "percent"),
    [(7.5, 4, 90.4), (0.75, 2, 80.7), (4, 6, 86.8), (160, 4, 95.8), (200, 2, 95.8), (630, 4, 96.0)],
)
def test_ie3_efficiencies_are_those_of_the_table(kw, poles, percent):
    # IEC 60034-30-1: to 7.5 kW from a retrieved table, above from memory; 2-pole 200 kW confirmed.
    assert ie3_efficiency(kw * 1e3, poles) == pytest.approx(percent / 100.0, abs=1e-9)


def test_every_ie3_value_agrees_with_the_standards_interpolation_formula():
    # η = A·x³ + B·x² + C·x + D, x = log10 kW, four poles, coefficients from memory.
    for kw, row in IE3_50HZ.items():
        if kw <= 200:
            x = np.log10(kw)
            formula = 0.0773 * x**3 - 1.8951 * x**2 + 9.2984 * x + 83.7025
            assert row[1] == pytest.approx(formula, abs=0.1)


def test_efficiency_outside_the_table_is_not_known():
    assert np.isnan(ie3_efficiency(2e6, 4))
    assert np.isnan(ie3_efficiency(75e3, 8))


@pytest.mark.parametrize("poles", [3, 0, 18])
def test_poles_that_cannot_be_are_refused(poles):
    with pytest.raises(OutOfBounds):
        synchronous_speed(poles)


def test_another_mains_frequency_is_refused():
    with pytest.raises(UnknownName, match="50 Hz, 60 Hz"):
        synchronous_speed(4, 400.0)


def test_a_motor_starts_a_pump_at_full_voltage_and_takes_longer_with_more_inertia():
    light = check_start(120e3, 132e3, 1488.0, inertia_kg_m2=3.0)
    heavy = check_start(120e3, 132e3, 1488.0, inertia_kg_m2=6.0)
    assert light.starts
    assert heavy.run_up_s == pytest.approx(2 * light.run_up_s)
    # Energy check: with a constant spare torque T the time is J·ω/T.
    omega = 1488.0 * 2 * np.pi / 60
    spare = (light.motor_torque_nm - light.pump_torque_nm)[light.speed_share <= 0.95]
    assert 3.0 * omega / spare.max() < light.run_up_s < 3.0 * omega / spare.min()


def test_a_low_voltage_can_keep_a_motor_from_starting():
    weak = check_start(130e3, 132e3, 1488.0, voltage_share=0.65, inertia_kg_m2=3.0)
    assert not weak.starts
    assert weak.least_spare < 0.0
    assert np.isnan(weak.run_up_s)
    eased = check_start(130e3, 132e3, 1488.0, voltage_share=0.65, closed_valve_share=0.3)
    assert eased.least_spare > weak.least_spare


@pytest.mark.parametrize("power", [0.0, -5.0, float("nan")])
def test_an_impossible_power_is_refused(power):
    with pytest.raises(Exception, match="shaft power"):
        choose_motor(power, 1e3, 4)
