"""Energy of a year against Crane's example, and how pumps are switched."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selection.hydraulics import (
    Control,
    Drive,
    Load,
    SystemCurve,
    energy_over_year,
    operating_points,
    shaft_power,
)
from selection.hydraulics.errors import NothingGiven, OutOfBounds

from .examples import FT, GPM, HP, close, hi_curve, met

SYSTEM = SystemCurve(static_m=15.0, coefficient=3000.0)


def test_running_cost_meets_cranes_example():
    # Crane TP 410, example 7.34: 107.056 hp shaft, 0.95·0.96, 8000 h at 0.12 a kWh: 87.535 kW and
    # 84 033 a year (the book prints 83 970 by rounding).
    shaft = float(shaft_power(700 * GPM, 428 * FT, 0.707, 62.364 * 16.018463))
    assert close(shaft / HP, 107.0559, 1e-4)
    drive = Drive(motor_efficiency=0.96, coupling_efficiency=0.95)
    electrical = drive.electrical(shaft, Control.THROTTLE)
    assert close(electrical / 1000, 87.53463, 1e-4)
    assert close(electrical / 1000 * 8000 * 0.12, 84033.24, 1e-4)


def test_a_year_adds_up_its_steps():
    curve = hi_curve()
    profile = [Load(flow_m3s=200 / 3600, hours=4000.0), Load(flow_m3s=120 / 3600, hours=2000.0)]
    year = energy_over_year(curve, SYSTEM, profile, drive=Drive(motor_efficiency=0.95))
    expected = sum(
        float(curve.power(load.flow_m3s, 998.2)) / 0.95 / 1000 * load.hours for load in profile
    )
    assert year.energy_kwh == pytest.approx(expected, rel=1e-12)
    assert year.volume_m3 == pytest.approx(200 * 4000 + 120 * 2000)
    assert year.kwh_per_m3 == pytest.approx(expected / (200 * 4000 + 120 * 2000))
    assert year.cost(0.1) == pytest.approx(expected * 0.1)
    assert year.unmet_hours == 0.0


def test_speed_control_never_takes_more_shaft_power_than_a_valve():
    profile = [Load(flow_m3s=flow / 3600, hours=1000.0) for flow in (120, 150, 180, 210)]
    valve = energy_over_year(hi_curve(), SYSTEM, profile)
    speed = energy_over_year(hi_curve(), SYSTEM, profile, Control.SPEED)
    for throttled, slowed in zip(valve.steps, speed.steps, strict=True):
        assert slowed.running == 1
        assert slowed.speed_rpm < 1480.0
        assert slowed.shaft_w < throttled.shaft_w
        assert slowed.pump_head_m == pytest.approx(slowed.system_head_m, rel=1e-9)


def test_the_number_running_is_the_one_that_takes_least():
    two = energy_over_year(
        hi_curve(), SystemCurve(static_m=40.0, coefficient=300.0),
        [Load(flow_m3s=380 / 3600, hours=100.0), Load(flow_m3s=180 / 3600, hours=100.0)], pumps=3,
    )  # fmt: skip
    assert [step.running for step in two.steps] == [2, 1]


def test_pumps_left_alone_run_for_less_than_the_hours_when_they_give_more():
    point = met(operating_points(hi_curve(), SYSTEM))
    wanted = 0.8 * point.flow_m3s
    year = energy_over_year(hi_curve(), SYSTEM, [Load(flow_m3s=wanted, hours=100.0)], Control.NONE)
    step = year.steps[0]
    assert step.energy_kwh == pytest.approx(step.electrical_w * 80.0 / 1000.0, rel=1e-9)
    assert year.volume_m3 == pytest.approx(wanted * 100.0 * 3600.0)


def test_a_step_that_cannot_be_met_says_why_and_is_counted():
    year = energy_over_year(
        hi_curve(), SystemCurve(static_m=60.0, coefficient=3000.0),
        [Load(flow_m3s=150 / 3600, hours=500.0)],
    )  # fmt: skip
    assert year.unmet_hours == 500.0
    assert "m of head are lacking" in year.steps[0].why_not
    assert np.isnan(year.kwh_per_m3)


@settings(max_examples=30, deadline=None)
@given(st.floats(60.0, 230.0), st.integers(1, 3))
def test_more_pumps_at_hand_never_take_more_energy(flow, pumps):
    profile = [Load(flow_m3s=flow / 3600, hours=100.0)]
    few = energy_over_year(hi_curve(), SYSTEM, profile, pumps=pumps)
    many = energy_over_year(hi_curve(), SYSTEM, profile, pumps=pumps + 1)
    assert many.unmet_hours <= few.unmet_hours
    if few.unmet_hours == 0.0:
        assert many.energy_kwh <= few.energy_kwh + 1e-9


def test_a_year_has_no_more_hours_than_a_year():
    with pytest.raises(OutOfBounds, match="profile's hours"):
        energy_over_year(hi_curve(), SYSTEM, [Load(flow_m3s=0.05, hours=8000.0)] * 2)
    with pytest.raises(NothingGiven, match="load step"):
        energy_over_year(hi_curve(), SYSTEM, [])
    with pytest.raises(OutOfBounds):
        Load(flow_m3s=-0.1, hours=10.0)
    with pytest.raises(OutOfBounds):
        Drive(motor_efficiency=95.0)
