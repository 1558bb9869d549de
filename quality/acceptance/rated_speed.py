"""Readings brought to rated speed and density, within what the standard permits.

Flow goes with the speed, head with its square, power with its cube and with density; efficiency
is taken as unchanged while the speed is near enough. Too far away for that, a quantity is not
judged and says so; too far for the laws themselves, the reading is refused.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quality.acceptance.errors import NonPositiveSpeed, NoReadings, SpeedOutsidePermittedRange
from quality.acceptance.evidence import Row
from quality.acceptance.readings import Point

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class SpeedRange:
    """How far the speed of a test may lie from rated speed.

    lowest, highest : test speed over rated speed, 0 < lowest <= highest [-]
    row : the standard's row it comes from
    """

    lowest: float
    highest: float
    row: Row

    def holds(self, ratio: Floats) -> NDArray[np.bool_]:
        """Which ratios lie within, the ends included.

        ratio : (n,) test speed over rated speed [-]
        returns : (n,)
        """
        # A ratio at the very end must not fall out by the last bit of a division.
        slack = 1e-9
        return (ratio >= self.lowest - slack) & (ratio <= self.highest + slack)


@dataclass(frozen=True, kw_only=True)
class SpeedLimits:
    """The permitted ranges by what is judged.

    head : for flow, head and power; outside it nothing can be converted
    efficiency : where efficiency may be taken as unchanged
    npsh : for tests of NPSH
    """

    head: SpeedRange
    efficiency: SpeedRange
    npsh: SpeedRange


@dataclass(frozen=True, kw_only=True, eq=False)
class RatedPoints:
    """The pump's points at rated speed, in ascending order of flow.

    numbers : of the readings, in this order
    flow : (n,) ascending, repeats allowed [m3/s]
    head : (n,) [m]
    power : (n,) into the shaft, NaN where it was not measured [W]
    efficiency : (n,) NaN where power was not measured [-]
    speed_ratio : (n,) test speed over rated speed [-]
    rated_speed_rpm : [rev/min]
    rated_density_kg_m3 : [kg/m3]
    efficiency_holds : False when some speed lay too far away for efficiency to be unchanged
    sentences : what was done and what was flagged
    rows : of standards used
    """

    numbers: tuple[int, ...]
    flow: Floats
    head: Floats
    power: Floats
    efficiency: Floats
    speed_ratio: Floats
    rated_speed_rpm: float
    rated_density_kg_m3: float
    efficiency_holds: bool
    sentences: tuple[str, ...]
    rows: tuple[Row, ...]


def _checked(speed: Floats) -> None:
    if (bad := np.flatnonzero(~(speed > 0))).size:
        raise NonPositiveSpeed(reading=int(bad[0]), speed=float(speed[bad[0]]))


def flow_at_rated_speed(flow: Floats, speed: Floats, rated_speed: float) -> Floats:
    """Bring measured flows to rated speed, impeller unchanged.

    flow : (n,) as measured [m3/s]
    speed : (n,) at each reading, > 0 [rev/min]
    rated_speed : > 0 [rev/min]
    returns : (n,) at rated speed [m3/s]
    raises : NonPositiveSpeed, with the reading's index and value
    source : affinity laws; flow varies with speed; Hydraulic Institute engineering data,
        equation 1.B.6 (confirmed)
    """
    _checked(speed)
    return flow * (rated_speed / speed)


def head_at_rated_speed(head: Floats, speed: Floats, rated_speed: float) -> Floats:
    """Bring measured heads to rated speed, impeller unchanged.

    head : (n,) as measured [m]
    speed : (n,) at each reading, > 0 [rev/min]
    rated_speed : > 0 [rev/min]
    returns : (n,) at rated speed [m]
    raises : NonPositiveSpeed, with the reading's index and value
    source : affinity laws; head varies with the square of speed; equation 1.B.6 (confirmed)
    """
    _checked(speed)
    return head * (rated_speed / speed) ** 2


def power_at_rated_speed(
    power: Floats, speed: Floats, density: Floats, rated_speed: float, rated_density: float
) -> Floats:
    """Bring measured shaft powers to rated speed and density, impeller unchanged.

    power : (n,) as measured [W]
    speed : (n,) at each reading, > 0 [rev/min]
    density : (n,) of the test liquid [kg/m3]
    rated_speed : > 0 [rev/min]
    rated_density : of the liquid contracted [kg/m3]
    returns : (n,) at rated speed and density [W]
    raises : NonPositiveSpeed, with the reading's index and value
    source : affinity laws; power varies with the cube of speed and with density; equation 1.B.6
        (confirmed)
    """
    _checked(speed)
    return power * (rated_speed / speed) ** 3 * (rated_density / density)


def npshr_at_rated_speed(
    npshr: Floats, speed: Floats, rated_speed: float, exponent: float = 2.0
) -> Floats:
    """Bring measured NPSH required to rated speed.

    npshr : (n,) as measured [m]
    speed : (n,) at each reading, > 0 [rev/min]
    rated_speed : > 0 [rev/min]
    exponent : 2, or 1.3 to 2 when justified [-]
    returns : (n,) at rated speed [m]
    raises : NonPositiveSpeed, with the reading's index and value
    source : ISO 9906:2012, 6.1.2 (exponent range from memory)
    """
    _checked(speed)
    return npshr * (rated_speed / speed) ** exponent


def bring_to_rated(
    points: Sequence[Point],
    *,
    rated_speed_rpm: float,
    rated_density_kg_m3: float,
    limits: SpeedLimits,
) -> RatedPoints:
    """Every point at rated speed and density, with flags where the standard sets limits.

    points : at test speed, in any order
    rated_speed_rpm : > 0 [rev/min]
    rated_density_kg_m3 : of the liquid contracted, > 0 [kg/m3]
    limits : permitted ranges of speed
    returns : points in ascending order of flow
    raises : NoReadings, NonPositiveSpeed, SpeedOutsidePermittedRange
    source : ISO 9906:2012, 6.1.2
    """
    if not points:
        raise NoReadings(needed=3)
    speed = np.array([point.speed_rpm for point in points], dtype=float)
    if (bad := np.flatnonzero(~(speed > 0))).size:
        wrong = points[int(bad[0])]
        raise NonPositiveSpeed(reading=wrong.number, speed=wrong.speed_rpm)
    ratio = speed / rated_speed_rpm
    if (outside := np.flatnonzero(~limits.head.holds(ratio))).size:
        raise _too_far(points[int(outside[0])], rated_speed_rpm, limits.head)
    density = np.array([point.density_kg_m3 for point in points])
    flow = flow_at_rated_speed(np.array([p.flow_m3s for p in points]), speed, rated_speed_rpm)
    head = head_at_rated_speed(np.array([p.head_m for p in points]), speed, rated_speed_rpm)
    read = np.array([np.nan if p.shaft_power_w is None else p.shaft_power_w for p in points])
    power = power_at_rated_speed(read, speed, density, rated_speed_rpm, rated_density_kg_m3)
    gravity = np.array([point.gravity_m_s2 for point in points])
    efficiency = rated_density_kg_m3 * gravity * flow * head / power
    order = np.argsort(flow, kind="stable")
    far = ~limits.efficiency.holds(ratio)
    sentences, rows = _said(points, ratio, far, rated_speed_rpm, limits)
    return RatedPoints(
        numbers=tuple(points[i].number for i in order),
        flow=flow[order],
        head=head[order],
        power=power[order],
        efficiency=efficiency[order],
        speed_ratio=ratio[order],
        rated_speed_rpm=rated_speed_rpm,
        rated_density_kg_m3=rated_density_kg_m3,
        efficiency_holds=not bool(np.any(far & np.isfinite(power))),
        sentences=sentences,
        rows=rows,
    )


def _too_far(point: Point, rated: float, allowed: SpeedRange) -> SpeedOutsidePermittedRange:
    return SpeedOutsidePermittedRange(
        reading=point.number,
        speed=point.speed_rpm,
        percent=100 * point.speed_rpm / rated,
        rated=rated,
        rule=allowed.row.title,
        lowest=100 * allowed.lowest,
        highest=100 * allowed.highest,
        low_rpm=allowed.lowest * rated,
        high_rpm=allowed.highest * rated,
    )


def _said(
    points: Sequence[Point],
    ratio: Floats,
    far: NDArray[np.bool_],
    rated: float,
    limits: SpeedLimits,
) -> tuple[tuple[str, ...], tuple[Row, ...]]:
    """Sentences on what was converted, and the rows behind them."""
    sentences = [
        f"Readings at {float(ratio.min()) * rated:.0f} to {float(ratio.max()) * rated:.0f} rev/min "
        f"brought to {rated:.0f} rev/min by the affinity laws."
    ]
    rows = [limits.head.row]
    if far.any():
        numbers = ", ".join(str(points[int(i)].number) for i in np.flatnonzero(far))
        sentences.append(
            f"Readings {numbers} lie outside {limits.efficiency.lowest:.0%} to "
            f"{limits.efficiency.highest:.0%} of rated speed, where efficiency cannot be taken as "
            "unchanged: efficiency and power are not judged from them unless a correction is "
            f"agreed ({limits.efficiency.row.title})."
        )
        rows.append(limits.efficiency.row)
    return tuple(sentences), tuple(rows)
