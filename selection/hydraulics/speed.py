"""Variable speed: the speed for a flow, and a pump's curves at several speeds."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selection.hydraulics.affinity import at_speed
from selection.hydraulics.curves import PumpCurve
from selection.hydraulics.door import FLOW_CEILING_M3S, Floats, number, positive
from selection.hydraulics.roots import bracketed_root
from selection.hydraulics.system import HeadDemand


@dataclass(frozen=True, kw_only=True)
class SpeedAnswer:
    """The speed at which pumps give a flow into a system.

    speed_rpm : NaN when none within the limits does it [rev/min]
    flow_m3s : total [m3/s]
    head_m : asked there [m]
    efficiency : of each pump there [-]
    converged : found as well as the numbers allow
    steps : evaluations [-]
    why_not : in words when there is none
    """

    speed_rpm: float
    flow_m3s: float
    head_m: float
    efficiency: float
    converged: bool
    steps: int
    why_not: str


def speed_for(
    curve: PumpCurve,
    system: HeadDemand,
    flow_m3s: float,
    running: int = 1,
    speed_low_rpm: float | None = None,
    speed_high_rpm: float | None = None,
) -> SpeedAnswer:
    """Find the speed at which like pumps give a total flow.

    curve : of one pump
    system : asked for the total flow
    flow_m3s : total wanted, > 0 [m3/s]
    running : pumps running, >= 1 [-]
    speed_low_rpm, speed_high_rpm : limits; 40 to 110 % of the curve's speed unless given
        [rev/min]
    returns : the speed, or why there is none
    raises : OutOfBounds
    source : affinity laws, HI Engineering Data 1.B.6
    """
    positive(flow_m3s, "flow wanted", "m3/s", FLOW_CEILING_M3S)
    number(running, "number of pumps running", "-", 1, 100)
    low = curve.speed_rpm * 0.4 if speed_low_rpm is None else speed_low_rpm
    high = curve.speed_rpm * 1.1 if speed_high_rpm is None else speed_high_rpm
    each, wanted = flow_m3s / running, float(system.head(flow_m3s))
    slowest = max(low, curve.speed_rpm * each / curve.flow_high_m3s)
    fastest = high
    if curve.flow_low_m3s > 0.0:
        fastest = min(high, curve.speed_rpm * each / curve.flow_low_m3s)

    def nothing(why: str) -> SpeedAnswer:
        return SpeedAnswer(
            speed_rpm=float("nan"),
            flow_m3s=flow_m3s,
            head_m=wanted,
            efficiency=float("nan"),
            converged=False,
            steps=0,
            why_not=why,
        )

    if slowest > fastest:
        return nothing(
            f"at {fastest:.0f} rev/min the flow still lies beyond the end of the curve; "
            "run more pumps"
        )

    def spare(speed: Floats) -> Floats:
        ratio = speed / curve.speed_rpm
        flow = np.clip(each / ratio, curve.flow_low_m3s, curve.flow_high_m3s)
        return np.asarray(ratio**2 * curve.head(flow) - wanted)

    ends = spare(np.array([slowest, fastest]))
    if ends[1] < 0.0:
        return nothing(f"at {fastest:.0f} rev/min {-ends[1]:.1f} m of head are still lacking")
    if ends[0] > 0.0:
        return nothing(f"at {slowest:.0f} rev/min there are still {ends[0]:.1f} m too much")
    found = bracketed_root(spare, np.array([slowest]), np.array([fastest]))
    speed = float(found.x[0])
    return SpeedAnswer(
        speed_rpm=speed,
        flow_m3s=flow_m3s,
        head_m=wanted,
        efficiency=float(
            curve.efficiency(
                np.clip(each * curve.speed_rpm / speed, curve.flow_low_m3s, curve.flow_high_m3s)
            )
        ),
        converged=bool(found.converged[0]),
        steps=found.steps,
        why_not=found.why_not,
    )


def speed_family(curve: PumpCurve, speeds_rpm: Sequence[float]) -> tuple[PumpCurve, ...]:
    """Give one pump's curves at several speeds.

    curve : at its own speed
    speeds_rpm : each > 0 [rev/min]
    returns : a curve a speed, in the order asked
    raises : OutOfBounds
    """
    return tuple(at_speed(curve, speed) for speed in speeds_rpm)
