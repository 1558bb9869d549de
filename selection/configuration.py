"""The pump's configuration: what `selection` hands to the apps above.

One frozen dataclass carries everything a frozen choice decides and later work depends on:
`schedule` grows a route from it and `quality` an inspection plan. It knows no order, no customer
and no date. SI units inside; speed stays in rev/min, lengths that a standard gives in
millimetres stay in millimetres and say so in their name.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from enum import StrEnum
from typing import Any


class Sealing(StrEnum):
    """How the shaft leaves the casing."""

    PACKING = "packing"
    MECHANICAL_SEAL = "mechanical seal"


class PatternWork(StrEnum):
    """What a pattern needs before the foundry may use it for this choice."""

    NONE = "none"
    DRILL_ONLY = "drill only"
    MODIFY = "modify"
    NEW = "new"


class Rotation(StrEnum):
    """Hand of rotation, seen from the drive end."""

    CLOCKWISE = "clockwise"
    COUNTER_CLOCKWISE = "counter-clockwise"


@dataclass(frozen=True, kw_only=True)
class Flange:
    """One flange as ordered, e.g. EN 1092-2, PN 16, DN 250."""

    standard: str
    rating: str
    nominal: str

    def __str__(self) -> str:
        return f"{self.standard} {self.rating} {self.nominal}"


@dataclass(frozen=True, kw_only=True)
class Configuration:
    """A pump as chosen: hydraulics, metals, flanges, sealing and driver.

    size : casing name as the catalogue has it
    casing_pattern, impeller_pattern : pattern numbers
    casing_pattern_work, impeller_pattern_work : what each pattern needs first
    casing_metal, impeller_metal, ring_metal, shaft_metal, sleeve_metal : material codes
    casing_heat_treated : the casing's metal calls for heat treatment after blasting
    crack_test : the impeller's machined surfaces get a penetrant test
    impeller_diameter_mm : trimmed, > 0 [mm]
    speed_rpm : > 0 [rev/min]
    duty_flow_m3s, duty_head_m : per pump, > 0 [m3/s], [m]
    efficiency : at duty, 0 to 1 [-]
    npshr_m : at duty [m]
    shutoff_head_m : at the trimmed diameter [m]
    motor_rating_w : > 0 [W]
    motor_poles : even, >= 2 [-]
    motor_special : the motor is not one the works can buy from stock
    suction_pressure_max_pa : highest at the suction flange, gauge [Pa]
    working_pressure_max_pa : highest suction pressure + shut-off head at the top of the
        density and speed tolerance, gauge [Pa]
    test_pressure_pa : hydrostatic, gauge [Pa]
    box_pressure_max_pa : highest in the stuffing box, gauge [Pa]
    seal_static_limit_pa : of the mechanical seal, gauge; None with packing [Pa]
    casing_mass_kg, impeller_mass_kg, pump_mass_kg : castings rough, pump without driver [kg]
    """

    size: str
    casing_pattern: str
    impeller_pattern: str
    casing_pattern_work: PatternWork
    impeller_pattern_work: PatternWork
    casing_metal: str
    impeller_metal: str
    ring_metal: str
    shaft_metal: str
    sleeve_metal: str
    casing_heat_treated: bool
    crack_test: bool
    impeller_diameter_mm: float
    speed_rpm: float
    rotation: Rotation
    duty_flow_m3s: float
    duty_head_m: float
    efficiency: float
    npshr_m: float
    shutoff_head_m: float
    motor_rating_w: float
    motor_poles: int
    motor_special: bool
    suction_flange: Flange
    discharge_flange: Flange
    sealing: Sealing
    flush_plan: str
    suction_pressure_max_pa: float
    working_pressure_max_pa: float
    test_pressure_pa: float
    box_pressure_max_pa: float
    seal_static_limit_pa: float | None
    casing_mass_kg: float
    impeller_mass_kg: float
    pump_mass_kg: float

    def as_data(self) -> dict[str, Any]:
        """Its fields as plain values, to be kept as JSON."""
        return asdict(self)

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> "Configuration":
        """Read back what `as_data` wrote.

        raises : KeyError, naming the fields that are missing or not known
        """
        names = {field.name for field in fields(cls)}
        if names != set(data):
            raise KeyError(f"not a configuration: {', '.join(sorted(names ^ set(data)))}")
        values = dict(data)
        values["casing_pattern_work"] = PatternWork(data["casing_pattern_work"])
        values["impeller_pattern_work"] = PatternWork(data["impeller_pattern_work"])
        values["rotation"] = Rotation(data["rotation"])
        values["sealing"] = Sealing(data["sealing"])
        values["suction_flange"] = Flange(**data["suction_flange"])
        values["discharge_flange"] = Flange(**data["discharge_flange"])
        return cls(**values)
