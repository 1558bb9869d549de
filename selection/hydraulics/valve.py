"""A control valve in the line: what it takes, and how far it must close for a flow."""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from selection.hydraulics.curves import HeadCurve
from selection.hydraulics.door import GRAVITY, Floats, number, positive
from selection.hydraulics.system import HeadDemand


class Characteristic(StrEnum):
    """How a valve's flow coefficient grows with its opening."""

    LINEAR = "linear"
    EQUAL_PERCENTAGE = "equal percentage"


@dataclass(frozen=True, kw_only=True)
class ControlValve:
    """A control valve.

    kv_m3h : flow coefficient fully open: m3/h of water at 1 bar [m3/h]
    characteristic : linear or equal percentage
    rangeability : greatest over least controllable coefficient, 10 to 200 [-]
    """

    kv_m3h: float
    characteristic: Characteristic = Characteristic.EQUAL_PERCENTAGE
    rangeability: float = 50.0

    def __post_init__(self) -> None:
        positive(self.kv_m3h, "valve's flow coefficient", "m3/h", 1e6)
        number(self.rangeability, "valve's rangeability", "-", 10.0, 200.0)

    def kv_at(self, opening: Floats | float) -> Floats:
        """Flow coefficient at openings.

        opening : 0 to 1, any shape [-]
        returns : same shape; nought when shut [m3/h]
        source : IEC 60534 inherent characteristics
        """
        share = np.clip(np.asarray(opening, dtype=np.float64), 0.0, 1.0)
        if self.characteristic is Characteristic.LINEAR:
            return self.kv_m3h * share
        return np.where(share > 0.0, self.kv_m3h * self.rangeability ** (share - 1.0), 0.0)

    def opening_at(self, kv_m3h: Floats | float) -> Floats:
        """Opening that gives a flow coefficient.

        kv_m3h : any shape, >= 0 [m3/h]
        returns : same shape; above 1 where the valve is too small [-]
        """
        share = np.asarray(kv_m3h, dtype=np.float64) / self.kv_m3h
        if self.characteristic is Characteristic.LINEAR:
            return share
        safe = np.maximum(share, 1.0 / self.rangeability)
        return np.asarray(1.0 + np.log(safe) / np.log(self.rangeability))

    def loss_coefficient(self, opening: float = 1.0) -> float:
        """Loss as head over the square of flow; the liquid's density cancels.

        opening : above 0, to 1 [-]
        returns : coefficient [m/(m3/s)2]
        raises : OutOfBounds
        source : IEC 60534, dp[bar] = (Q[m3/h]/Kv)²·rho/1000
        """
        number(opening, "valve's opening", "-", 1e-6, 1.0)
        return float((3600.0 / self.kv_at(opening)) ** 2 * 1e5 / (1000.0 * GRAVITY))

    def loss(self, flow_m3s: Floats | float, opening: float = 1.0) -> Floats:
        """Head that the valve takes.

        flow_m3s : any shape, >= 0 [m3/s]
        opening : above 0, to 1 [-]
        returns : same shape [m]
        raises : OutOfBounds
        """
        return np.asarray(self.loss_coefficient(opening) * np.asarray(flow_m3s) ** 2)


@dataclass(frozen=True, kw_only=True)
class WithValve:
    """A system with a control valve in its line.

    system : without the valve
    valve : in the line of the total flow
    opening : above 0, to 1 [-]
    """

    system: HeadDemand
    valve: ControlValve
    opening: float = 1.0

    def head(self, flow_m3s: Floats | float) -> Floats:
        """Head asked at total flows.

        flow_m3s : any shape, >= 0 [m3/s]
        returns : same shape [m]
        """
        return np.asarray(self.system.head(flow_m3s) + self.valve.loss(flow_m3s, self.opening))


@dataclass(frozen=True, kw_only=True)
class Throttling:
    """How far a valve must close to hold a flow.

    opening : 0 to 1; NaN when it cannot [-]
    valve_head_m : taken by the valve [m]
    pump_head_m : made by the pumps [m]
    sentence : what a page says
    """

    opening: float
    valve_head_m: float
    pump_head_m: float
    sentence: str


def opening_for(
    curve: HeadCurve,
    system: HeadDemand,
    valve: ControlValve,
    flow_m3s: float,
    running: int = 1,
) -> Throttling:
    """Find the opening at which like pumps give a total flow.

    curve : of one pump
    system : without the valve
    valve : in the line of the total flow
    flow_m3s : total wanted, > 0 [m3/s]
    running : pumps running, >= 1 [-]
    returns : the opening, or why there is none
    raises : OutOfBounds, OutsideCurve
    """
    positive(flow_m3s, "flow wanted", "m3/s", 50.0)
    number(running, "number of pumps running", "-", 1, 100)
    made = float(curve.head(flow_m3s / running))
    asked = float(system.head(flow_m3s))
    taken = made - asked
    if taken <= 0.0:
        return Throttling(
            opening=float("nan"),
            valve_head_m=taken,
            pump_head_m=made,
            sentence=f"The pumps lack {-taken:.1f} m at this flow; a valve cannot help.",
        )
    kv = 3600.0 * flow_m3s * np.sqrt(1e5 / (1000.0 * GRAVITY * taken))
    opening = float(valve.opening_at(kv))
    if opening > 1.0:
        least = float(valve.loss(flow_m3s))
        return Throttling(
            opening=float("nan"),
            valve_head_m=taken,
            pump_head_m=made,
            sentence=(
                f"Fully open the valve takes {least:.1f} m and only {taken:.1f} m are to spare; "
                f"a flow coefficient of {kv:.0f} m³/h or more is needed."
            ),
        )
    return Throttling(
        opening=opening,
        valve_head_m=taken,
        pump_head_m=made,
        sentence=f"At {opening:.0%} open the valve takes {taken:.1f} m.",
    )
