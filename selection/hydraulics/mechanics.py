"""The rotor's strength: radial thrust, shaft stress and deflection, bearing life.

Everything here works on arrays, so that a whole catalogue is judged at once; a single pump is an
array of one. The rotor is a shaft on two bearings with the impeller midway, which is what a
between-bearings split-case pump is.
"""

from dataclasses import dataclass

import numpy as np

from selection.hydraulics.door import GRAVITY, Floats, number, positive

STEEL_MODULUS_PA = 206e9
# Thrust that is left at best efficiency, where the simple law has none: from memory.
LEAST_THRUST_FACTOR = 0.03
DOUBLE_VOLUTE_SHARE = 0.25  # of a single volute's thrust: from memory


@dataclass(frozen=True, kw_only=True)
class Mechanics:
    """Shaft, bearings and widths of a between-bearings pump.

    bearing_span_mm : between bearing centres [mm]
    shaft_diameter_mm : at the impeller [mm]
    sleeve_to_bearing_mm : from the box's face to the nearer bearing centre [mm]
    outlet_width_mm : of the impeller with shrouds [mm]
    bearing_rating_n : dynamic rating C of one bearing [N]
    bearing_exponent : 3 for balls, 10/3 for rollers [-]
    rotor_mass_kg : impeller, shaft, sleeves, half coupling [kg]
    inertia_kg_m2 : of the pump's rotor [kg m2]
    shaft_yield_pa : 0.2 % proof stress of the shaft [Pa]
    """

    bearing_span_mm: float
    shaft_diameter_mm: float
    sleeve_to_bearing_mm: float
    outlet_width_mm: float
    bearing_rating_n: float
    bearing_exponent: float = 3.0
    rotor_mass_kg: float
    inertia_kg_m2: float
    shaft_yield_pa: float = 350e6

    def __post_init__(self) -> None:
        positive(self.bearing_span_mm, "bearing span", "mm", 10_000.0)
        positive(self.shaft_diameter_mm, "shaft diameter", "mm", 1000.0)
        positive(self.sleeve_to_bearing_mm, "distance from box to bearing", "mm", 5000.0)
        positive(self.outlet_width_mm, "outlet width", "mm", 2000.0)
        positive(self.bearing_rating_n, "bearing's dynamic rating", "N", 1e8)
        positive(self.bearing_exponent, "bearing's life exponent", "-", 4.0)
        positive(self.rotor_mass_kg, "rotor's mass", "kg", 1e5)
        positive(self.inertia_kg_m2, "rotor's inertia", "kg m2", 1e6)
        positive(self.shaft_yield_pa, "shaft's proof stress", "Pa", 3e9)


def thrust_factor(share_of_best: Floats | float, volutes: Floats | float = 1) -> Floats:
    """Radial thrust as a share of the impeller's head pressure on its outlet's area.

    share_of_best : flow over best-efficiency flow, any shape, >= 0 [-]
    volutes : 1 or 2, same shape [-]
    returns : factor, same shape [-]
    source : Stepanoff, 0.36·|1 - (Q/Qbep)²| for a single volute, a quarter of it for a double
        one, never under 0.03; all from memory
    """
    share = np.asarray(share_of_best, dtype=np.float64)
    single = np.maximum(0.36 * np.abs(1.0 - share**2), LEAST_THRUST_FACTOR)
    return np.asarray(np.where(np.asarray(volutes) >= 2, DOUBLE_VOLUTE_SHARE, 1.0) * single)


def radial_thrust(
    head_m: Floats | float,
    share_of_best: Floats | float,
    diameter_mm: Floats | float,
    outlet_width_mm: Floats | float,
    density_kg_m3: float,
    volutes: Floats | float = 1,
) -> Floats:
    """Radial force of the casing on the impeller.

    head_m : at the flow, any shape [m]
    share_of_best : flow over best-efficiency flow, same shape [-]
    diameter_mm : of the impeller, same shape [mm]
    outlet_width_mm : with shrouds, same shape [mm]
    density_kg_m3 : of the liquid [kg/m3]
    volutes : 1 or 2, same shape [-]
    returns : force, same shape [N]
    source : k·rho·g·H·D·b with `thrust_factor`
    """
    area = np.multiply(diameter_mm, outlet_width_mm) / 1e6
    return thrust_factor(share_of_best, volutes) * density_kg_m3 * GRAVITY * head_m * area


def shaft_shear_pa(
    load_n: Floats | float,
    span_mm: Floats | float,
    torque_nm: Floats | float,
    diameter_mm: Floats | float,
) -> Floats:
    """Greatest shear stress of a shaft loaded midway between its bearings.

    load_n : across the shaft at the impeller, any shape [N]
    span_mm : between bearings, same shape [mm]
    torque_nm : carried, same shape [N m]
    diameter_mm : of a plain shaft, same shape [mm]
    returns : stress, same shape [Pa]
    source : 16/(pi d³)·√(M² + T²), maximum shear, M = F·L/4
    """
    moment = np.multiply(load_n, span_mm) / 1000.0 / 4.0
    d = np.asarray(diameter_mm) / 1000.0
    return np.asarray(16.0 / (np.pi * d**3) * np.hypot(moment, torque_nm))


def shaft_deflection_mm(
    load_n: Floats | float,
    span_mm: Floats | float,
    diameter_mm: Floats | float,
    at_mm: Floats | float,
    modulus_pa: float = STEEL_MODULUS_PA,
) -> Floats:
    """Deflection of a plain shaft loaded midway, at a distance from a bearing.

    load_n : at the impeller, any shape [N]
    span_mm : between bearings, same shape [mm]
    diameter_mm : of the shaft, same shape [mm]
    at_mm : distance from the nearer bearing, at most half the span, same shape [mm]
    modulus_pa : of elasticity [Pa]
    returns : deflection, same shape [mm]
    source : beam on two supports, F·x·(3L² - 4x²)/(48·E·I)
    """
    length, x = np.asarray(span_mm) / 1000.0, np.asarray(at_mm) / 1000.0
    inertia = np.pi * (np.asarray(diameter_mm) / 1000.0) ** 4 / 64.0
    bend = load_n * x * (3.0 * length**2 - 4.0 * x**2) / (48.0 * modulus_pa * inertia)
    return np.asarray(bend * 1000.0)


def bearing_life_h(
    rating_n: Floats | float,
    load_n: Floats | float,
    speed_rpm: Floats | float,
    exponent: Floats | float = 3.0,
) -> Floats:
    """Basic rating life of a rolling bearing.

    rating_n : dynamic rating C, any shape [N]
    load_n : equivalent load P, same shape [N]
    speed_rpm : same shape [rev/min]
    exponent : 3 for balls, 10/3 for rollers, same shape [-]
    returns : L10h, same shape [h]
    source : ISO 281, L10h = 10^6/(60 n)·(C/P)^p
    """
    return np.asarray(
        1e6 / (60.0 * np.asarray(speed_rpm)) * np.divide(rating_n, load_n) ** exponent
    )


def shaft_torque_nm(power_w: Floats | float, speed_rpm: Floats | float) -> Floats:
    """Torque that a power needs at a speed.

    power_w : any shape [W]
    speed_rpm : same shape, > 0 [rev/min]
    returns : torque, same shape [N m]
    """
    return np.asarray(power_w / (2.0 * np.pi * np.asarray(speed_rpm) / 60.0))


def critical_speed_rpm(
    rotor_mass_kg: float, span_mm: float, diameter_mm: float, modulus_pa: float = STEEL_MODULUS_PA
) -> float:
    """First critical speed of the rotor dry, its mass midway on a plain shaft.

    rotor_mass_kg : > 0 [kg]
    span_mm : between bearings, > 0 [mm]
    diameter_mm : of the shaft, > 0 [mm]
    modulus_pa : of elasticity, > 0 [Pa]
    returns : speed [rev/min]
    raises : OutOfBounds
    source : √(k/m) with k = 48·E·I/L³
    """
    positive(rotor_mass_kg, "rotor's mass", "kg", 1e5)
    positive(span_mm, "bearing span", "mm", 10_000.0)
    positive(diameter_mm, "shaft diameter", "mm", 1000.0)
    number(modulus_pa, "modulus of elasticity", "Pa", 1e9, 1e12)
    inertia = np.pi * (diameter_mm / 1000.0) ** 4 / 64.0
    stiffness = 48.0 * modulus_pa * inertia / (span_mm / 1000.0) ** 3
    return float(np.sqrt(stiffness / rotor_mass_kg) * 60.0 / (2.0 * np.pi))
