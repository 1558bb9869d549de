"""Control valves against `fluids`, and the opening for a flow."""

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selection.hydraulics import (
    Characteristic,
    ControlValve,
    SystemCurve,
    WithValve,
    opening_for,
    operating_points,
)
from selection.hydraulics.errors import OutOfBounds

from .examples import close, hi_curve, met

SYSTEM = SystemCurve(static_m=15.0, coefficient=3000.0)


def test_a_valves_loss_is_that_of_fluids_for_the_same_coefficient():
    # fluids turns Kv into velocity heads at a bore; the loss must come out the same (its constant
    # for water rests on 999.3 kg/m³ or so, hence 0.2 %).
    valve, bore, flow = ControlValve(kv_m3h=400.0), 0.2, 0.06
    heads = fluids.Kv_to_K(400.0, bore)
    velocity = flow / (np.pi / 4 * bore**2)
    assert close(valve.loss(flow), heads * velocity**2 / (2 * 9.80665), 2e-3)


def test_one_bar_passes_the_coefficient():
    valve = ControlValve(kv_m3h=400.0)
    assert float(valve.loss(400 / 3600)) * 9806.65 == pytest.approx(1e5, rel=1e-9)


@given(st.sampled_from(list(Characteristic)), st.floats(0.03, 1.0))
def test_opening_and_coefficient_are_each_others_inverse(characteristic, opening):
    valve = ControlValve(kv_m3h=400.0, characteristic=characteristic)
    assert float(valve.opening_at(valve.kv_at(opening))) == pytest.approx(opening, rel=1e-9)


def test_at_the_opening_found_pump_and_system_meet_at_the_flow_wanted():
    valve, wanted = ControlValve(kv_m3h=600.0), 150 / 3600
    answer = opening_for(hi_curve(), SYSTEM, valve, wanted)
    throttled = WithValve(system=SYSTEM, valve=valve, opening=answer.opening)
    assert met(operating_points(hi_curve(), throttled)).flow_m3s == pytest.approx(wanted, rel=1e-9)
    assert "open the valve takes" in answer.sentence


def test_a_valve_cannot_make_head():
    answer = opening_for(hi_curve(), SystemCurve(static_m=58.0, coefficient=100.0),
                         ControlValve(kv_m3h=600.0), 200 / 3600)  # fmt: skip
    assert np.isnan(answer.opening)
    assert "a valve cannot help" in answer.sentence


def test_a_valve_too_small_is_said_with_the_coefficient_needed():
    answer = opening_for(hi_curve(), SYSTEM, ControlValve(kv_m3h=40.0), 200 / 3600)
    assert np.isnan(answer.opening)
    assert "or more is needed" in answer.sentence


@pytest.mark.parametrize("change", [{"kv_m3h": 0.0}, {"rangeability": 2.0}])
def test_an_impossible_valve_is_refused(change):
    with pytest.raises(OutOfBounds):
        ControlValve(**({"kv_m3h": 400.0} | change))


def test_a_shut_valve_has_no_loss_coefficient():
    with pytest.raises(OutOfBounds, match="opening"):
        ControlValve(kv_m3h=400.0).loss(0.1, 0.0)
