"""Energy over a year for a load profile: pumps switched on and off, throttled or slowed."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from selection.hydraulics.affinity import at_speed
from selection.hydraulics.curves import PumpCurve, shaft_power
from selection.hydraulics.door import number, positive
from selection.hydraulics.errors import NothingGiven, OutOfBounds
from selection.hydraulics.operating import operating_points
from selection.hydraulics.speed import speed_for
from selection.hydraulics.system import HeadDemand

HOURS_A_YEAR = 8784.0


class Control(StrEnum):
    """How flow is held to what is wanted."""

    THROTTLE = "throttled by a valve"
    SPEED = "by variable speed"
    NONE = "as pump and system meet"


@dataclass(frozen=True, kw_only=True)
class Load:
    """One step of a load profile.

    flow_m3s : total wanted, > 0 [m3/s]
    hours : in a year, > 0 [h]
    """

    flow_m3s: float
    hours: float

    def __post_init__(self) -> None:
        positive(self.flow_m3s, "flow of a load step", "m3/s", 50.0)
        positive(self.hours, "hours of a load step", "h", HOURS_A_YEAR)


@dataclass(frozen=True, kw_only=True)
class Drive:
    """Between mains and shaft.

    motor_efficiency : at full load, above 0 to 1 [-]
    converter_efficiency : of a frequency converter, used with variable speed alone [-]
    coupling_efficiency : of gear or coupling [-]
    """

    motor_efficiency: float = 0.95
    converter_efficiency: float = 0.97
    coupling_efficiency: float = 1.0

    def __post_init__(self) -> None:
        for name in ("motor_efficiency", "converter_efficiency", "coupling_efficiency"):
            number(getattr(self, name), name.replace("_", " "), "-", 0.3, 1.0)

    def electrical(self, shaft_w: float, control: Control) -> float:
        """Power from the mains.

        shaft_w : shaft power [W]
        control : whether the converter is in the way
        returns : power [W]
        source : HI Engineering Data, shaft power over the efficiencies
        """
        converter = self.converter_efficiency if control is Control.SPEED else 1.0
        return shaft_w / (self.motor_efficiency * self.coupling_efficiency * converter)


@dataclass(frozen=True, kw_only=True)
class Step:
    """How one load step is run.

    load : the step
    running : pumps running; 0 when the step cannot be met [-]
    flow_m3s : total given [m3/s]
    speed_rpm : of each pump [rev/min]
    pump_head_m, system_head_m : made by the pumps, asked by the system [m]
    efficiency : of each pump [-]
    shaft_w : of all pumps together [W]
    electrical_w : from the mains [W]
    energy_kwh : over the step's hours [kWh]
    why_not : in words when it cannot be met
    """

    load: Load
    running: int
    flow_m3s: float
    speed_rpm: float
    pump_head_m: float
    system_head_m: float
    efficiency: float
    shaft_w: float
    electrical_w: float
    energy_kwh: float
    why_not: str = ""


@dataclass(frozen=True, kw_only=True)
class EnergyYear:
    """Energy of a year.

    control : how flow is held
    steps : as the profile has them
    energy_kwh : of the steps that can be met [kWh]
    volume_m3 : pumped in them [m3]
    unmet_hours : of steps that cannot be met [h]
    """

    control: Control
    steps: tuple[Step, ...]
    energy_kwh: float
    volume_m3: float
    unmet_hours: float

    @property
    def kwh_per_m3(self) -> float:
        """Energy over volume; NaN when nothing is pumped [kWh/m3]."""
        return self.energy_kwh / self.volume_m3 if self.volume_m3 else float("nan")

    def cost(self, price_per_kwh: float) -> float:
        """Price of a year's energy.

        price_per_kwh : >= 0 [money/kWh]
        returns : cost [money]
        raises : OutOfBounds
        """
        return self.energy_kwh * number(price_per_kwh, "price of energy", "money/kWh", 0.0)


def energy_over_year(
    curve: PumpCurve,
    system: HeadDemand,
    profile: Sequence[Load],
    control: Control = Control.THROTTLE,
    *,
    pumps: int = 1,
    density_kg_m3: float = 998.2,
    drive: Drive | None = None,
    speed_low_share: float = 0.5,
) -> EnergyYear:
    """Run a load profile through like pumps, each step with the number that takes least power.

    curve : of one pump at full speed
    system : asked for the total flow
    profile : steps, at least one, together no more than a year
    control : how flow is held
    pumps : at hand, >= 1 [-]
    density_kg_m3 : of the liquid [kg/m3]
    drive : efficiencies; None takes the usual ones
    speed_low_share : least speed over full speed with variable speed, 0.2 to 1 [-]
    returns : the year
    raises : NothingGiven, OutOfBounds
    """
    if not profile:
        raise NothingGiven(what="load step")
    hours = sum(load.hours for load in profile)
    if hours > HOURS_A_YEAR:
        raise OutOfBounds(
            quantity="sum of the profile's hours", value=hours, unit="h", low=0.0, high=HOURS_A_YEAR
        )
    number(pumps, "number of pumps", "-", 1, 20)
    number(density_kg_m3, "density", "kg/m3", 100.0, 5000.0)
    number(speed_low_share, "least share of speed", "-", 0.2, 1.0)
    way = _Way(curve, system, control, density_kg_m3, drive or Drive(), speed_low_share)
    steps = tuple(
        _best([way.step(load, count) for count in range(1, pumps + 1)]) for load in profile
    )
    met = [step for step in steps if step.running]
    return EnergyYear(
        control=control,
        steps=steps,
        energy_kwh=sum(step.energy_kwh for step in met),
        volume_m3=sum(step.flow_m3s * step.load.hours * 3600.0 for step in met),
        unmet_hours=sum(step.load.hours for step in steps if not step.running),
    )


def _best(ways: Sequence[Step]) -> Step:
    """The way that takes least power; the last reason when there is none."""
    met = [way for way in ways if way.running]
    return min(met, key=lambda way: way.electrical_w) if met else ways[-1]


@dataclass(frozen=True, eq=False)
class _Way:
    curve: PumpCurve
    system: HeadDemand
    control: Control
    density: float
    drive: Drive
    speed_low_share: float

    def step(self, load: Load, running: int) -> Step:
        """Run one step with a number of pumps."""
        if self.control is Control.SPEED:
            return self._slowed(load, running)
        if self.control is Control.NONE:
            return self._left_alone(load, running)
        return self._throttled(load, running)

    def _throttled(self, load: Load, running: int) -> Step:
        each, asked = load.flow_m3s / running, float(self.system.head(load.flow_m3s))
        if each > self.curve.flow_high_m3s:
            return self._not(load, "the flow lies beyond the end of the curve")
        if each < self.curve.flow_low_m3s:
            return self._not(load, "the flow lies before the start of the curve")
        made = float(self.curve.head(each))
        if made < asked * (1.0 - 1e-12):
            return self._not(load, f"{asked - made:.1f} m of head are lacking")
        return self._met(load, running, self.curve, each, asked, load.hours)

    def _slowed(self, load: Load, running: int) -> Step:
        full = self.curve.speed_rpm
        answer = speed_for(
            self.curve, self.system, load.flow_m3s, running, full * self.speed_low_share, full
        )
        if not answer.converged:
            return self._not(load, answer.why_not)
        slow = at_speed(self.curve, answer.speed_rpm)
        each = min(max(load.flow_m3s / running, slow.flow_low_m3s), slow.flow_high_m3s)
        return self._met(load, running, slow, each, answer.head_m, load.hours)

    def _left_alone(self, load: Load, running: int) -> Step:
        answer = operating_points(self.curve, self.system, running)
        point = answer.point
        if point is None:
            return self._not(load, answer.sentence)
        if point.flow_m3s < load.flow_m3s * (1.0 - 1e-9):
            return self._not(load, f"only {point.flow_m3s * 3600:.0f} m³/h are given")
        # More flow than wanted fills sooner: the pumps run for less than the step's hours.
        hours = load.hours * load.flow_m3s / point.flow_m3s
        return self._met(load, running, self.curve, point.flow_each_m3s[0], point.head_m, hours)

    def _met(
        self, load: Load, running: int, curve: PumpCurve, each: float, asked: float, hours: float
    ) -> Step:
        made, eta = float(curve.head(each)), float(curve.efficiency(each))
        shaft = running * float(shaft_power(each, made, eta, self.density))
        if not np.isfinite(shaft):
            return self._not(load, "efficiency is nought at this flow")
        electrical = self.drive.electrical(shaft, self.control)
        return Step(
            load=load,
            running=running,
            flow_m3s=load.flow_m3s,
            speed_rpm=curve.speed_rpm,
            pump_head_m=made,
            system_head_m=asked,
            efficiency=eta,
            shaft_w=shaft,
            electrical_w=electrical,
            energy_kwh=electrical * hours / 1000.0,
        )

    def _not(self, load: Load, why: str) -> Step:
        nothing = float("nan")
        return Step(
            load=load,
            running=0,
            flow_m3s=load.flow_m3s,
            speed_rpm=nothing,
            pump_head_m=nothing,
            system_head_m=float(self.system.head(load.flow_m3s)),
            efficiency=nothing,
            shaft_w=nothing,
            electrical_w=nothing,
            energy_kwh=0.0,
            why_not=why,
        )
