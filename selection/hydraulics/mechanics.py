"""The rotor's strength: radial thrust, shaft stress and deflection, bearing life.

Everything here works on arrays, so that a whole catalogue is judged at once; a single pump is an
array of one. The rotor is a shaft on two bearings with the impeller midway, which is what a
between-bearings split-case pump is.
"""

from dataclasses import dataclass

from selection.hydraulics.door import positive


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
