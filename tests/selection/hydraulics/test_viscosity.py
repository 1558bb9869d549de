"""The viscosity method against the standard's example as remembered, and its refusals."""

import numpy as np
import pytest

from selection.hydraulics import PumpCurve, viscous_curve, viscous_factors
from selection.hydraulics.errors import OutsideMethod
from selection.hydraulics.viscosity import viscous_points

from .examples import close, made_points


def test_the_factors_meet_the_worked_example():
    # 110 m³/h, 77 m, 2950 rev/min, 120 mm²/s: B 5.5208, C_Q = C_H 0.93776, C_eta 0.73801 (our
    # arithmetic on formulas two retrieved texts agree on; the standard prints 5.52 and 0.938, from
    # memory). Head at 60 % of best-efficiency flow: 0.95757.
    factors = viscous_factors(110 / 3600, 77.0, 2950.0, 120e-6)
    assert close(factors.parameter, 5.520806, 1e-5)
    assert close(factors.flow, 0.937762, 1e-5)
    assert close(factors.head_at_best, 0.937762, 1e-5)
    assert close(factors.efficiency, 0.738007, 1e-5)
    assert close(factors.head(0.6), 0.95757, 1e-5)


def test_the_arithmetic_of_a_correction_meets_the_published_table():
    # HI chart method (older factors): 750 US gpm, 100 ft, 82 % with C_Q 0.95, C_H 0.92, C_eta 0.635
    # at s 0.90 gives 712 gpm, 92 ft, 52.1 %, 28.6 hp. The products are tested, not the factors.
    flow, head, eta = 750 * 0.95, 100 * 0.92, 0.82 * 0.635
    assert close(flow, 712, 1e-3)
    assert close(eta, 0.521, 1e-3)
    assert close(flow * head * 0.90 / (3960 * eta), 28.6, 5e-3)


def test_water_needs_no_correction():
    factors = viscous_factors(540 / 3600, 62.0, 1480.0, 1.0034e-6)
    assert factors.parameter < 1.0
    assert factors.flow == factors.head_at_best == factors.efficiency == 1.0


def test_a_viscous_liquid_never_gains():
    points = made_points()
    thin, thick = (viscous_curve(points, viscosity, 2) for viscosity in (50e-6, 500e-6))
    water = PumpCurve.through(points)
    assert water.bep_efficiency > thin.bep_efficiency > thick.bep_efficiency
    flow = np.linspace(0.0, 0.95 * thick.flow_high_m3s, 15)
    assert (water.head(flow) >= thin.head(flow) - 1e-9).all()
    assert (thin.head(flow) >= thick.head(flow) - 1e-9).all()


def test_shut_off_head_is_kept():
    points = made_points()
    water = PumpCurve.through(points)
    factors = viscous_factors(water.bep_flow_m3s, water.bep_head_m, 1480.0, 200e-6, 2)
    assert viscous_points(points, factors, water.bep_flow_m3s).head_m[0] == points.head_m[0]


@pytest.mark.parametrize(
    ("figures", "quantity"),
    [
        ((0.03, 77.0, 2950.0, 5e-3), "viscosity"),
        ((1.0, 10.0, 1480.0, 50e-6), "specific speed"),
        ((0.0005, 5.0, 300.0, 3.9e-3), "B is"),
    ],
)
def test_outside_its_range_the_method_refuses(figures, quantity):
    with pytest.raises(OutsideMethod, match=quantity):
        viscous_factors(*figures)
