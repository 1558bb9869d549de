"""Rotor formulas against textbook cases and numerical integration."""

import numpy as np
import pytest

from selection.hydraulics import Mechanics
from selection.hydraulics.errors import OutOfBounds
from selection.hydraulics.mechanics import (
    STEEL_MODULUS_PA,
    bearing_life_h,
    critical_speed_rpm,
    radial_thrust,
    shaft_deflection_mm,
    shaft_shear_pa,
    shaft_torque_nm,
    thrust_factor,
)

GOOD = {
    "bearing_span_mm": 900.0,
    "shaft_diameter_mm": 80.0,
    "sleeve_to_bearing_mm": 150.0,
    "outlet_width_mm": 70.0,
    "bearing_rating_n": 110e3,
    "rotor_mass_kg": 90.0,
    "inertia_kg_m2": 2.0,
}


def test_bearing_life_is_iso_281():
    # C = 50 kN, P = 5 kN, ball, 1500 rev/min: 1000 million turns, 11 111 h.
    assert bearing_life_h(50e3, 5e3, 1500.0) == pytest.approx(11_111.1, rel=1e-5)
    # A roller bearing of the same ratio lives (C/P)^(1/3) times longer.
    ratio = bearing_life_h(50e3, 5e3, 1500.0, 10 / 3) / bearing_life_h(50e3, 5e3, 1500.0)
    assert ratio == pytest.approx(10 ** (1 / 3))


def test_deflection_midway_is_the_textbooks_f_l3_over_48_e_i():
    inertia = np.pi * 0.08**4 / 64
    expected = 4000.0 * 0.9**3 / (48 * STEEL_MODULUS_PA * inertia) * 1000
    assert shaft_deflection_mm(4000.0, 900.0, 80.0, 450.0) == pytest.approx(expected)


def test_deflection_elsewhere_agrees_with_integrating_the_moment_twice():
    length, force, inertia = 0.9, 4000.0, np.pi * 0.08**4 / 64
    x = np.linspace(0.0, length, 40_001)
    moment = force / 2 * np.minimum(x, length - x)

    def integral(y):
        return np.concatenate([[0.0], np.cumsum((y[1:] + y[:-1]) / 2 * np.diff(x))])

    bend = integral(integral(moment / (STEEL_MODULUS_PA * inertia)))
    bend -= bend[-1] * x / length
    at = float(np.interp(0.15, x, bend))
    assert shaft_deflection_mm(force, 900.0, 80.0, 150.0) == pytest.approx(-at * 1000, rel=1e-6)


def test_shear_of_a_shaft_is_mohrs():
    # Torque alone: 16T/(πd³); bending alone: half the bending stress 32M/(πd³).
    assert shaft_shear_pa(0.0, 900.0, 1000.0, 80.0) == pytest.approx(16 * 1000 / (np.pi * 0.08**3))
    bending = 32 * (4000.0 * 0.9 / 4) / (np.pi * 0.08**3)
    assert shaft_shear_pa(4000.0, 900.0, 0.0, 80.0) == pytest.approx(bending / 2)


def test_torque_is_power_over_angular_speed():
    assert shaft_torque_nm(150e3, 1500.0) == pytest.approx(954.93, rel=1e-5)


def test_radial_thrust_is_least_at_best_efficiency_and_less_with_two_volutes():
    # Stepanoff's 0.36 at shut-off (from memory): 0.36·1000·g·50·0.4·0.06 N.
    assert radial_thrust(50.0, 0.0, 400.0, 60.0, 1000.0) == pytest.approx(
        0.36 * 9806.65 * 50 * 0.024
    )
    shares = np.linspace(0.0, 1.4, 15)
    factor = thrust_factor(shares)
    assert np.argmin(factor) == 10
    assert (thrust_factor(shares, 2) < factor).all()


def test_the_first_critical_speed_is_that_of_a_spring_and_a_mass():
    stiffness = 48 * STEEL_MODULUS_PA * (np.pi * 0.08**4 / 64) / 0.9**3
    assert critical_speed_rpm(90.0, 900.0, 80.0) == pytest.approx(
        np.sqrt(stiffness / 90.0) * 30 / np.pi
    )


@pytest.mark.parametrize("field", sorted(GOOD))
def test_a_rotor_with_an_impossible_figure_is_refused(field):
    with pytest.raises(OutOfBounds):
        Mechanics(**(GOOD | {field: -1.0}))
