"""What was read on the test bed, and what pump quantities it amounts to.

A reading keeps what the instruments showed. Head comes from the two gauges with their heights and
the velocity at each tapping; shaft power from a torque meter, from a power meter on the shaft, or
from electric power and the motor's efficiency. Nothing here is brought to rated speed yet.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from quality.acceptance.errors import BadSetUp, MissingQuantity, NonPositiveSpeed

Floats = NDArray[np.float64]

STANDARD_GRAVITY = 9.80665  # [m/s2], conventional value, 3rd CGPM 1901
STANDARD_ATMOSPHERE_PA = 101_325.0  # [Pa], conventional value


def _positive(what: str, value: float, unit: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise BadSetUp(what=what, value=value, unit=unit, right="above zero")


def _share(what: str, value: float) -> None:
    if not (math.isfinite(value) and 0 < value <= 1):
        raise BadSetUp(what=what, value=value, unit="as a share", right="above 0 and at most 1")


@dataclass(frozen=True, kw_only=True)
class Tapping:
    """Where a pressure is taken.

    height_m : of the gauge's zero above the pump's datum, below it negative [m]
    bore_m : of the pipe at the tapping, > 0 [m]
    """

    height_m: float
    bore_m: float

    def __post_init__(self) -> None:
        if not math.isfinite(self.height_m):
            raise BadSetUp(
                what="The gauge's height", value=self.height_m, unit="m", right="a number"
            )
        _positive("The bore at the tapping", self.bore_m, "m")

    def velocity_head(self, flow_m3s: float, gravity_m_s2: float = STANDARD_GRAVITY) -> float:
        """v²/2g in the pipe at the tapping.

        flow_m3s : through the pipe [m3/s]
        gravity_m_s2 : of the place [m/s2]
        returns : velocity head [m]
        """
        velocity = flow_m3s / (math.pi / 4 * self.bore_m**2)
        return velocity**2 / (2 * gravity_m_s2)


@dataclass(frozen=True, kw_only=True)
class MotorCurve:
    """Motor efficiency against electric input, from the motor's own test.

    inputs_w : (n,) ascending, > 0 [W]
    efficiencies : (n,) each above 0 and at most 1 [-]
    """

    inputs_w: tuple[float, ...]
    efficiencies: tuple[float, ...]

    def __post_init__(self) -> None:
        if not self.inputs_w or len(self.inputs_w) != len(self.efficiencies):
            raise BadSetUp(
                what="The number of efficiencies of the motor",
                value=len(self.efficiencies),
                unit="",
                right=f"one for each of the {len(self.inputs_w)} inputs",
            )
        for before, after in zip(self.inputs_w, self.inputs_w[1:], strict=False):
            if after <= before:
                raise BadSetUp(
                    what="A motor input", value=after, unit="W", right=f"above {before:g} W"
                )
        _positive("The motor's lowest input", self.inputs_w[0], "W")
        for efficiency in self.efficiencies:
            _share("The motor's efficiency", efficiency)

    def at(self, input_w: float) -> float:
        """Efficiency at an electric input, interpolated, never extrapolated.

        input_w : electric power [W]
        returns : efficiency [-]
        raises : BadSetUp when the input lies outside the motor's test
        """
        lowest, highest = self.inputs_w[0], self.inputs_w[-1]
        if len(self.inputs_w) > 1 and not lowest <= input_w <= highest:
            raise BadSetUp(
                what="The electric input",
                value=input_w,
                unit="W",
                right=f"within the motor's own test, {lowest:g} to {highest:g} W",
            )
        return float(np.interp(input_w, self.inputs_w, self.efficiencies))


@dataclass(frozen=True, kw_only=True)
class Liquid:
    """Density and vapour pressure against temperature.

    name : of the liquid
    temperatures_k : (n,) ascending [K]
    densities_kg_m3 : (n,) > 0 [kg/m3]
    vapour_pressures_pa : (n,) absolute, > 0 [Pa]
    """

    name: str
    temperatures_k: tuple[float, ...]
    densities_kg_m3: tuple[float, ...]
    vapour_pressures_pa: tuple[float, ...]

    def _between(self, temperature_k: float, values: tuple[float, ...]) -> float:
        lowest, highest = self.temperatures_k[0], self.temperatures_k[-1]
        if not lowest <= temperature_k <= highest:
            raise BadSetUp(
                what=f"The temperature of the {self.name}",
                value=temperature_k,
                unit="K",
                right=f"within the table, {lowest:g} to {highest:g} K",
            )
        return float(np.interp(temperature_k, self.temperatures_k, values))

    def density(self, temperature_k: float) -> float:
        """Density at a temperature.

        temperature_k : within the table [K]
        returns : density [kg/m3]
        raises : BadSetUp outside the table
        """
        return self._between(temperature_k, self.densities_kg_m3)

    def vapour_pressure(self, temperature_k: float) -> float:
        """Vapour pressure at a temperature; its logarithm is interpolated.

        temperature_k : within the table [K]
        returns : absolute [Pa]
        raises : BadSetUp outside the table
        """
        # The logarithm is nearly straight over a degree, the pressure itself is not.
        logs = tuple(math.log(value) for value in self.vapour_pressures_pa)
        return math.exp(self._between(temperature_k, logs))


@dataclass(frozen=True, kw_only=True)
class SetUp:
    """The bed as rigged for one run.

    suction, discharge : pressure tappings; needed when heads are read as pressures
    motor : its efficiency curve; needed when power is read as electric power
    drive_efficiency : of belt or gear between motor and pump, 1 when coupled directly [-]
    liquid : for the density at each reading's temperature; else `density_kg_m3` holds for all
    density_kg_m3 : of the test liquid, used where a reading has no temperature, > 0 [kg/m3]
    gravity_m_s2 : of the place [m/s2]
    barometer_pa : > 0 [Pa]
    """

    density_kg_m3: float
    suction: Tapping | None = None
    discharge: Tapping | None = None
    motor: MotorCurve | None = None
    drive_efficiency: float = 1.0
    liquid: Liquid | None = None
    gravity_m_s2: float = STANDARD_GRAVITY
    barometer_pa: float = STANDARD_ATMOSPHERE_PA

    def __post_init__(self) -> None:
        _positive("The density of the test liquid", self.density_kg_m3, "kg/m³")
        _positive("Gravity", self.gravity_m_s2, "m/s²")
        _positive("The barometer", self.barometer_pa, "Pa")
        _share("The drive's efficiency", self.drive_efficiency)


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One line of the test sheet, as the instruments showed it.

    number : of the line, as the sheet counts
    flow_m3s : 0 at the shut valve [m3/s]
    speed_rpm : at this reading [rev/min]
    head_m : total head where the bed shows it directly, else None [m]
    suction_pa, discharge_pa : gauge pressures at the tappings, else None [Pa]
    shaft_power_w, torque_nm, electric_power_w : whichever is measured, else None [W], [N m], [W]
    temperature_k : of the liquid, else None [K]
    taken_at_s : since the run began, else None [s]
    """

    number: int
    flow_m3s: float
    speed_rpm: float
    head_m: float | None = None
    suction_pa: float | None = None
    discharge_pa: float | None = None
    shaft_power_w: float | None = None
    torque_nm: float | None = None
    electric_power_w: float | None = None
    temperature_k: float | None = None
    taken_at_s: float | None = None


MEASURED = tuple(field.name for field in fields(Reading) if field.name != "number")


@dataclass(frozen=True, kw_only=True)
class Point:
    """The pump at one reading, still at test speed.

    number : of the reading
    flow_m3s : [m3/s]
    head_m : total head [m]
    speed_rpm : > 0 [rev/min]
    shaft_power_w : into the pump's shaft, None where power was not measured [W]
    density_kg_m3 : of the liquid at this reading [kg/m3]
    gravity_m_s2 : of the place [m/s2]
    """

    number: int
    flow_m3s: float
    head_m: float
    speed_rpm: float
    shaft_power_w: float | None
    density_kg_m3: float
    gravity_m_s2: float = STANDARD_GRAVITY

    @property
    def efficiency(self) -> float | None:
        """Hydraulic power over shaft power, None without power [-]."""
        if self.shaft_power_w is None:
            return None
        hydraulic = self.density_kg_m3 * self.gravity_m_s2 * self.flow_m3s * self.head_m
        return hydraulic / self.shaft_power_w


def total_head(
    *,
    suction_pa: float,
    discharge_pa: float,
    flow_m3s: float,
    suction: Tapping,
    discharge: Tapping,
    density_kg_m3: float,
    gravity_m_s2: float = STANDARD_GRAVITY,
) -> float:
    """Total head from two gauges, with their heights and the velocity at each tapping.

    suction_pa, discharge_pa : gauge pressures [Pa]
    flow_m3s : [m3/s]
    suction, discharge : the tappings
    density_kg_m3 : > 0 [kg/m3]
    gravity_m_s2 : of the place [m/s2]
    returns : total head [m]
    source : H = (p2−p1)/ρg + (z2−z1) + (v2²−v1²)/2g; Hydraulic Institute engineering data,
        equations 1.A.3 to 1.A.6 (confirmed)
    """
    pressure = (discharge_pa - suction_pa) / (density_kg_m3 * gravity_m_s2)
    elevation = discharge.height_m - suction.height_m
    velocity = discharge.velocity_head(flow_m3s, gravity_m_s2) - suction.velocity_head(
        flow_m3s, gravity_m_s2
    )
    return pressure + elevation + velocity


def density_at(reading: Reading, set_up: SetUp) -> float:
    """Density of the test liquid at a reading.

    reading : its temperature is used when it has one and the set-up names a liquid
    set_up : of the run
    returns : density [kg/m3]
    raises : BadSetUp when the temperature lies outside the liquid's table
    """
    if set_up.liquid is None or reading.temperature_k is None:
        return set_up.density_kg_m3
    return set_up.liquid.density(reading.temperature_k)


def head_of(reading: Reading, set_up: SetUp, density_kg_m3: float) -> float:
    """Total head at a reading, as shown or from its gauges.

    reading : with a head, or with both gauge pressures
    set_up : with both tappings when gauges are used
    density_kg_m3 : at this reading [kg/m3]
    returns : total head [m]
    raises : MissingQuantity
    """
    if reading.head_m is not None:
        return reading.head_m
    if reading.suction_pa is None or reading.discharge_pa is None:
        raise MissingQuantity(
            reading=reading.number, quantity="head", right="the head, or both gauge pressures"
        )
    if set_up.suction is None or set_up.discharge is None:
        raise MissingQuantity(
            reading=reading.number,
            quantity="head",
            right="the heights and bores of both tappings in the set-up",
        )
    return total_head(
        suction_pa=reading.suction_pa,
        discharge_pa=reading.discharge_pa,
        flow_m3s=reading.flow_m3s,
        suction=set_up.suction,
        discharge=set_up.discharge,
        density_kg_m3=density_kg_m3,
        gravity_m_s2=set_up.gravity_m_s2,
    )


def shaft_power_of(reading: Reading, set_up: SetUp) -> float | None:
    """Power into the pump's shaft: from torque, as shown, or from the motor's input.

    reading : torque goes before shaft power, shaft power before electric power
    set_up : with the motor's curve when electric power is used
    returns : shaft power, None when no kind of power was read [W]
    raises : MissingQuantity when electric power was read and the motor is not known
    """
    if reading.torque_nm is not None:
        return reading.torque_nm * reading.speed_rpm * 2 * math.pi / 60
    if reading.shaft_power_w is not None:
        return reading.shaft_power_w
    if reading.electric_power_w is None:
        return None
    if set_up.motor is None:
        raise MissingQuantity(
            reading=reading.number,
            quantity="shaft power",
            right="the motor's efficiency in the set-up",
        )
    motor = set_up.motor.at(reading.electric_power_w)
    return reading.electric_power_w * motor * set_up.drive_efficiency


def points_of(readings: Sequence[Reading], set_up: SetUp) -> tuple[Point, ...]:
    """Every reading as a point of the pump at test speed, in the order taken.

    readings : any number
    set_up : of the run
    returns : one point a reading
    raises : NonPositiveSpeed, MissingQuantity, BadSetUp
    """
    points = []
    for reading in readings:
        if not reading.speed_rpm > 0:
            raise NonPositiveSpeed(reading=reading.number, speed=reading.speed_rpm)
        density = density_at(reading, set_up)
        points.append(
            Point(
                number=reading.number,
                flow_m3s=reading.flow_m3s,
                head_m=head_of(reading, set_up, density),
                speed_rpm=reading.speed_rpm,
                shaft_power_w=shaft_power_of(reading, set_up),
                density_kg_m3=density,
                gravity_m_s2=set_up.gravity_m_s2,
            )
        )
    return tuple(points)
