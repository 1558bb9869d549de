"""The liquid and the air above it: density, vapour pressure, viscosity, atmosphere.

Water comes from IAPWS-97 through the `iapws` library; sea water's density from IAPWS-08 through
the same. Other liquids are given by their figures.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from selection.hydraulics.door import GRAVITY, Floats, number, positive
from selection.hydraulics.errors import OutsideMethod

STANDARD_ATMOSPHERE_PA = 101_325.0
FREEZING_K = 273.15
# Region 1 of IAPWS-97 ends at 623.15 K; split-case pumps stop long before.
WATER_HOTTEST_K = 473.15
OCEAN_SALINITY = 0.035


@dataclass(frozen=True, kw_only=True)
class Liquid:
    """A liquid at one temperature.

    name : as the customer calls it
    temperature_k : > 0 [K]
    density_kg_m3 : > 0 [kg/m3]
    vapour_pressure_pa : absolute, >= 0 [Pa]
    kinematic_viscosity_m2s : > 0 [m2/s]
    solids_mass_share : share of the mass that is solid, 0 to 0.7 [-]
    source : where the figures come from
    """

    name: str
    temperature_k: float
    density_kg_m3: float
    vapour_pressure_pa: float
    kinematic_viscosity_m2s: float
    solids_mass_share: float = 0.0
    source: str = "given"

    def __post_init__(self) -> None:
        positive(self.temperature_k, "liquid's temperature", "K", 1000.0)
        number(self.density_kg_m3, "liquid's density", "kg/m3", 100.0, 5000.0)
        number(self.vapour_pressure_pa, "vapour pressure", "Pa", 0.0, 2e7)
        number(self.kinematic_viscosity_m2s, "kinematic viscosity", "m2/s", 1e-8, 1.0)
        number(self.solids_mass_share, "solids' share of the mass", "-", 0.0, 0.7)

    @property
    def specific_weight_n_m3(self) -> float:
        """Weight of a cubic metre [N/m3]."""
        return self.density_kg_m3 * GRAVITY

    @property
    def relative_density(self) -> float:
        """Density over that of water at 4 °C [-]."""
        return self.density_kg_m3 / 1000.0

    @property
    def vapour_head_m(self) -> float:
        """Vapour pressure as head of the liquid [m]."""
        return self.vapour_pressure_pa / self.specific_weight_n_m3


def _in_range(temperature_k: float) -> float:
    kelvin = positive(temperature_k, "water's temperature", "K", 1000.0)
    if not FREEZING_K <= kelvin <= WATER_HOTTEST_K:
        raise OutsideMethod(
            method="Water by temperature",
            quantity="the temperature",
            value=kelvin - FREEZING_K,
            unit="°C",
            low=0.0,
            high=WATER_HOTTEST_K - FREEZING_K,
            source="liquid water, IAPWS-97 region 1, kept to what these pumps see",
        )
    return kelvin


@lru_cache(maxsize=1024)
def water(temperature_k: float, pressure_pa: float = STANDARD_ATMOSPHERE_PA) -> Liquid:
    """Fresh water at a temperature.

    temperature_k : 273.15 to 473.15 [K]
    pressure_pa : absolute; raised to the vapour pressure where it lies below [Pa]
    returns : density and viscosity at that pressure, vapour pressure
    raises : OutsideMethod
    source : IAPWS-97 and IAPWS 2008 viscosity, by the iapws library
    """
    kelvin = _in_range(temperature_k)
    pressure = positive(pressure_pa, "water's pressure", "Pa", 1e8)
    from iapws import IAPWS97  # takes a second to load: only who asks for water waits

    saturated = IAPWS97(T=kelvin, x=0)
    vapour_pa = float(saturated.P) * 1e6
    state = IAPWS97(T=kelvin, P=pressure / 1e6) if pressure > vapour_pa else saturated
    return Liquid(
        name="fresh water",
        temperature_k=kelvin,
        density_kg_m3=float(state.rho),
        vapour_pressure_pa=vapour_pa,
        kinematic_viscosity_m2s=float(state.nu),
        source="IAPWS-97",
    )


@lru_cache(maxsize=256)
def sea_water(temperature_k: float, salinity: float = OCEAN_SALINITY) -> Liquid:
    """Sea water at a temperature, at standard atmosphere.

    temperature_k : 273.15 to 353.15 [K]
    salinity : mass of salt over mass of sea water, 0 to 0.12 [-]
    returns : density by IAPWS-08; vapour pressure of fresh water less 0.57 of the salinity;
        viscosity of fresh water times 1 + 1.9 of the salinity
    raises : OutsideMethod, OutOfBounds
    source : density IAPWS-08 by the iapws library; vapour pressure (2 % lower at 35 g/kg) and
        viscosity (7 % higher) from memory
    """
    kelvin = _in_range(temperature_k)
    if kelvin > 353.15:
        raise OutsideMethod(
            method="Sea water by temperature",
            quantity="the temperature",
            value=kelvin - FREEZING_K,
            unit="°C",
            low=0.0,
            high=80.0,
            source="IAPWS-08 at atmospheric pressure",
        )
    from iapws import SeaWater  # see `water`

    salt = number(salinity, "salinity", "-", 0.0, 0.12)
    fresh = water(kelvin)
    sea = SeaWater(T=kelvin, P=STANDARD_ATMOSPHERE_PA / 1e6, S=salt)
    return Liquid(
        name="sea water",
        temperature_k=kelvin,
        density_kg_m3=float(sea.rho),
        vapour_pressure_pa=fresh.vapour_pressure_pa * (1.0 - 0.57 * salt),
        kinematic_viscosity_m2s=fresh.kinematic_viscosity_m2s * (1.0 + 1.9 * salt),
        source="IAPWS-08; vapour pressure and viscosity from memory",
    )


def boiling_temperature(vapour_pressure_pa: float) -> float:
    """Temperature at which water's vapour pressure reaches a value.

    vapour_pressure_pa : absolute, 611.2 Pa to 1.55 MPa [Pa]
    returns : saturation temperature [K]
    raises : OutOfBounds
    source : IAPWS-97 by the iapws library
    """
    from iapws import IAPWS97  # see `water`

    pascal = number(vapour_pressure_pa, "vapour pressure", "Pa", 611.22, 1.554e6)
    return float(IAPWS97(P=pascal / 1e6, x=0).T)


def atmosphere_pa(altitude_m: float) -> float:
    """Mean air pressure at an altitude; weather takes 2 to 3 kPa off at times.

    altitude_m : geopotential, above sea level, -500 to 6000 [m]
    returns : absolute [Pa]
    raises : OutOfBounds
    source : ISO 2533 standard atmosphere
    """
    height = number(altitude_m, "site's altitude", "m", -500.0, 6000.0)
    return float(STANDARD_ATMOSPHERE_PA * (1.0 - 0.0065 * height / 288.15) ** 5.25588)


def head_of(pressure_pa: Floats | float, density_kg_m3: float) -> Floats | float:
    """Turn a pressure into head of a liquid.

    pressure_pa : any shape [Pa]
    density_kg_m3 : > 0 [kg/m3]
    returns : same shape [m]
    source : HI Engineering Data, 1.A.1, with g = 9.80665 m/s2
    """
    return np.divide(pressure_pa, density_kg_m3 * GRAVITY)
