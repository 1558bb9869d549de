"""Liquids against the IAPWS release's verification values, CoolProp, and ISO 2533's table."""

import fluids
import pytest
from CoolProp.CoolProp import PropsSI

from selection.hydraulics import atmosphere_pa, sea_water, water
from selection.hydraulics.errors import HydraulicsError, OutOfBounds, OutsideMethod
from selection.hydraulics.liquid import Liquid, boiling_temperature

from .examples import close


def test_water_meets_the_verification_values_of_iapws_97():
    # IAPWS R7-97(2012), table 5: specific volume at 300 K and 3 MPa; table 35: saturation
    # pressure at 300 K; table 36: saturation temperature at 0.1 MPa.
    assert close(water(300.0, 3e6).density_kg_m3, 1.0 / 0.100215168e-2, 1e-8)
    assert close(water(300.0).vapour_pressure_pa, 0.353658941e-2 * 1e6, 1e-8)
    assert close(boiling_temperature(1e5), 372.755919, 1e-8)


@pytest.mark.parametrize("celsius", [0.5, 10.0, 20.0, 37.5, 60.0, 85.0, 99.0, 120.0, 150.0])
def test_water_agrees_with_coolprop(celsius):
    # CoolProp uses IAPWS-95, an independent formulation: density within 0.01 %, vapour pressure
    # within 0.02 %, viscosity within 0.1 %.
    kelvin = celsius + 273.15
    pressure = max(101_325.0, water(kelvin).vapour_pressure_pa * 1.01)
    liquid = water(kelvin, pressure)
    assert close(liquid.density_kg_m3, PropsSI("D", "T", kelvin, "P", pressure, "Water"), 1e-4)
    assert close(liquid.vapour_pressure_pa, PropsSI("P", "T", kelvin, "Q", 0, "Water"), 2e-4)
    dynamic = PropsSI("V", "T", kelvin, "P", pressure, "Water")
    assert close(liquid.kinematic_viscosity_m2s, dynamic / liquid.density_kg_m3, 1e-3)


@pytest.mark.parametrize(
    ("celsius", "vapour_kpa", "density", "viscosity_mm2_s", "vapour_head"),
    [
        # Reference table of water, IF97 / IAPWS-95 as run; its first row is the triple point.
        (0.01, 0.6117, 999.84, 1.7914, 0.062),
        (20.0, 2.3392, 998.21, 1.0034, 0.239),
        (60.0, 19.946, 983.20, 0.474, 2.069),
        (100.0, 101.42, 958.35, 0.294, 10.79),
    ],
)
def test_water_meets_the_reference_table(
    celsius, vapour_kpa, density, viscosity_mm2_s, vapour_head
):
    liquid = water(celsius + 273.15)
    assert close(liquid.vapour_pressure_pa / 1e3, vapour_kpa, 1e-4)
    assert close(liquid.density_kg_m3, density, 2e-5)
    assert close(liquid.kinematic_viscosity_m2s * 1e6, viscosity_mm2_s, 2e-3)
    assert close(liquid.vapour_head_m, vapour_head, 1e-2)


def test_sea_water_is_heavier_and_boils_a_little_later_than_fresh():
    # 35 g/kg at 20 °C: 1024.8 kg/m3 (IAPWS-08 by TEOS-10's check value 1024.763, at 20 °C).
    sea, fresh = sea_water(293.15), water(293.15)
    assert close(sea.density_kg_m3, 1024.7, 2e-4)
    assert close(sea.vapour_pressure_pa / fresh.vapour_pressure_pa, 0.98, 1e-3)


@pytest.mark.parametrize(
    ("altitude", "kpa"),
    [(0, 101.325), (500, 95.461), (1000, 89.875), (1750, 81.994), (2500, 74.683)],
)
def test_the_air_thins_as_iso_2533_says(altitude, kpa):
    assert close(atmosphere_pa(altitude) / 1e3, kpa, 1e-5)
    # fluids takes geometric altitude, hence the wider tolerance.
    assert close(atmosphere_pa(altitude), fluids.ATMOSPHERE_1976(altitude).P, 2e-4)


def test_water_outside_the_liquid_range_is_refused_with_the_range():
    with pytest.raises(OutsideMethod, match=r"is 226.85 °C, outside 0 to 200 °C"):
        water(500.0)
    with pytest.raises(OutsideMethod, match="outside 0 to 200"):
        water(20.0)  # degrees Celsius typed for kelvin


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("density_kg_m3", -1.0),
        ("density_kg_m3", float("nan")),
        ("vapour_pressure_pa", -5.0),
        ("kinematic_viscosity_m2s", 0.0),
        ("kinematic_viscosity_m2s", 1.0034),  # mm²/s typed for m²/s
        ("temperature_k", float("inf")),
        ("solids_mass_share", 5.0),
    ],
)
def test_a_liquid_with_an_impossible_figure_is_refused(field, value):
    figures = {
        "name": "brine",
        "temperature_k": 293.15,
        "density_kg_m3": 1100.0,
        "vapour_pressure_pa": 2000.0,
        "kinematic_viscosity_m2s": 1.2e-6,
    }
    with pytest.raises(HydraulicsError):
        Liquid(**(figures | {field: value}))


def test_an_altitude_in_feet_is_refused():
    with pytest.raises(OutOfBounds, match="altitude"):
        atmosphere_pa(9_000.0)
