"""Where pumps and system meet: one pump, n alike, unlike ones, in series, at other speeds.

No meeting is an answer: it says by how much head it misses. Two meetings are an answer too: both
are given, and the one that does not hold by itself is named.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

import numpy as np

from selection.hydraulics.curves import HeadCurve
from selection.hydraulics.door import Floats, Ints, number
from selection.hydraulics.errors import NothingGiven
from selection.hydraulics.roots import bracketed_root
from selection.hydraulics.system import HeadDemand

SAMPLES = 801  # over the flow range; the search for meetings is refined between samples


class Meeting(StrEnum):
    """How pump and system meet."""

    ONE = "one point"
    SEVERAL = "several points"
    TOO_LITTLE_HEAD = "too little head"
    BEYOND_RUNOUT = "beyond the end of the curve"


@dataclass(frozen=True, kw_only=True)
class OperatingPoint:
    """One meeting of pumps and system.

    running : pumps running [-]
    flow_m3s : total [m3/s]
    flow_each_m3s : of each pump, in the order given [m3/s]
    head_m : at that flow [m]
    holds : a small disturbance dies away
    """

    running: int
    flow_m3s: float
    flow_each_m3s: tuple[float, ...]
    head_m: float
    holds: bool


@dataclass(frozen=True, kw_only=True)
class OperatingPoints:
    """All meetings of one set of pumps with a system, and how the search went.

    points : by rising flow; empty when they do not meet
    meeting : how they meet
    misses_by_m : head lacking where they come nearest (or left over at the curve's end) [m]
    nearest_flow_m3s : total flow where they come nearest [m3/s]
    converged : every point is as good as the numbers allow
    steps : evaluations of the search [-]
    why_not : in words when not converged
    sentence : what a page says
    """

    points: tuple[OperatingPoint, ...]
    meeting: Meeting
    misses_by_m: float
    nearest_flow_m3s: float
    converged: bool
    steps: int
    why_not: str
    sentence: str

    @property
    def point(self) -> OperatingPoint | None:
        """The meeting that holds by itself, at the greatest flow; None without one."""
        holding = [point for point in self.points if point.holds]
        return holding[-1] if holding else None


def operating_points(curve: HeadCurve, system: HeadDemand, running: int = 1) -> OperatingPoints:
    """Meet a number of like pumps in parallel with a system.

    curve : of one pump
    system : asked for the total flow
    running : pumps running, >= 1 [-]
    returns : all meetings within the curve's range
    raises : OutOfBounds
    """
    number(running, "number of pumps running", "-", 1, 100)
    count = int(running)

    def spare(each: Floats) -> Floats:
        return np.asarray(curve.head(each) - system.head(count * each))

    return _meetings(
        spare,
        curve.flow_low_m3s,
        curve.flow_high_m3s,
        lambda each: (count * each, (each,) * count, float(system.head(count * each))),
        count,
    )


def pumps_in_series(curves: Sequence[HeadCurve], system: HeadDemand) -> OperatingPoints:
    """Meet pumps in series, like or unlike, with a system.

    curves : at least one; all carry the same flow
    system : asked for that flow
    returns : all meetings within the range that every pump covers
    raises : NothingGiven
    """
    if not curves:
        raise NothingGiven(what="pump")

    def spare(flow: Floats) -> Floats:
        made = sum(np.asarray(curve.head(flow)) for curve in curves)
        return np.asarray(made - system.head(flow))

    return _meetings(
        spare,
        max(curve.flow_low_m3s for curve in curves),
        min(curve.flow_high_m3s for curve in curves),
        lambda flow: (flow, (flow,) * len(curves), float(system.head(flow))),
        len(curves),
    )


def _meetings(
    spare: Callable[[Floats], Floats],
    low: float,
    high: float,
    describe: Callable[[float], tuple[float, tuple[float, ...], float]],
    running: int,
) -> OperatingPoints:
    flow = np.linspace(low, high, SAMPLES)
    over = spare(flow)
    flow, over = _touchings(spare, flow, over)
    nought = np.flatnonzero(over == 0.0)
    cross = np.flatnonzero(np.sign(over[:-1]) * np.sign(over[1:]) < 0.0)
    found = bracketed_root(spare, flow[cross], flow[cross + 1])
    roots = np.sort(np.concatenate([found.x, flow[nought]]))
    points = []
    for root in roots:
        total, each, head = describe(float(root))
        step = 1e-6 * (high - low)
        ends = spare(np.clip([root - step, root + step], low, high))
        points.append(
            OperatingPoint(
                running=running,
                flow_m3s=total,
                flow_each_m3s=each,
                head_m=head,
                holds=bool(ends[1] < ends[0]),
            )
        )
    nearest = int(np.argmin(np.abs(over)))
    meeting = _kind(len(points), float(over[0]), float(over[-1]))
    total, _, _ = describe(float(flow[nearest]))
    misses = 0.0 if points else float(-over[nearest])
    return OperatingPoints(
        points=tuple(points),
        meeting=meeting,
        misses_by_m=misses,
        nearest_flow_m3s=total,
        converged=bool(found.converged.all()),
        steps=found.steps,
        why_not=found.why_not,
        sentence=_sentence(meeting, points, misses, total),
    )


def _touchings(
    spare: Callable[[Floats], Floats], flow: Floats, over: Floats
) -> tuple[Floats, Floats]:
    """Add the tops and bottoms between samples, where two close meetings could hide."""
    slope_up = np.diff(over) > 0.0
    turns: Ints = np.flatnonzero(slope_up[:-1] != slope_up[1:]) + 1
    if not turns.size:
        return flow, over
    left, right = flow[turns - 1].copy(), flow[turns + 1].copy()
    sign = np.where(slope_up[turns - 1], 1.0, -1.0)
    golden = (np.sqrt(5.0) - 1.0) / 2.0
    for _ in range(60):
        a = right - golden * (right - left)
        b = left + golden * (right - left)
        keep_left = sign * spare(a) > sign * spare(b)
        left, right = np.where(keep_left, left, a), np.where(keep_left, b, right)
    extra = (left + right) / 2.0
    order = np.argsort(np.concatenate([flow, extra]), kind="stable")
    return (
        np.concatenate([flow, extra])[order],
        np.concatenate([over, spare(extra)])[order],
    )


def _kind(points: int, at_start: float, at_end: float) -> Meeting:
    if points == 1:
        return Meeting.ONE
    if points > 1:
        return Meeting.SEVERAL
    if at_end > 0.0:
        return Meeting.BEYOND_RUNOUT
    return Meeting.TOO_LITTLE_HEAD


def _sentence(
    meeting: Meeting, points: Sequence[OperatingPoint], misses_m: float, near_m3s: float
) -> str:
    if meeting is Meeting.ONE:
        point = points[0]
        steady = "" if point.holds else " The point does not hold by itself."
        return (
            f"{point.running} running: {point.flow_m3s * 3600:.0f} m³/h at {point.head_m:.1f} m."
            f"{steady}"
        )
    if meeting is Meeting.SEVERAL:
        places = " and ".join(
            f"{point.flow_m3s * 3600:.0f} m³/h at {point.head_m:.1f} m"
            f" ({'holds' if point.holds else 'does not hold'})"
            for point in points
        )
        return f"Unstable: pump and system meet at {places}."
    if meeting is Meeting.BEYOND_RUNOUT:
        return (
            f"The pump runs beyond the end of its tested curve: at {near_m3s * 3600:.0f} m³/h it "
            f"still makes {-misses_m:.1f} m more than the system asks."
        )
    return (
        f"Pump and system do not meet: the pump misses by {misses_m:.1f} m of head where they "
        f"come nearest, at {near_m3s * 3600:.0f} m³/h."
    )


@dataclass(frozen=True, eq=False, kw_only=True)
class FallingBranch:
    """The part of a head curve right of its highest point, read backwards: flow at a head.

    curve : of one pump
    """

    curve: HeadCurve

    @cached_property
    def _range(self) -> tuple[float, float, float]:
        flow = np.linspace(self.curve.flow_low_m3s, self.curve.flow_high_m3s, SAMPLES)
        head = self.curve.head(flow)
        top = int(np.argmax(head))
        return float(flow[top]), float(head[top]), float(head[-1])

    @property
    def head_high_m(self) -> float:
        """Highest head [m]."""
        return self._range[1]

    @property
    def head_low_m(self) -> float:
        """Head at the end of the curve [m]."""
        return self._range[2]

    def flow(self, head_m: Floats) -> Floats:
        """Flow at heads: nought above the highest, NaN below the end of the curve.

        head_m : (n,) [m]
        returns : (n,) [m3/s]
        """
        start, top, end = self._range
        wanted = np.clip(head_m, end, top)
        low = np.full(wanted.shape, start)
        high = np.full(wanted.shape, self.curve.flow_high_m3s)
        roots = bracketed_root(lambda q: np.asarray(self.curve.head(q) - wanted), low, high).x
        return np.where(head_m > top, 0.0, np.where(head_m < end, np.nan, roots))


def unlike_in_parallel(curves: Sequence[HeadCurve], system: HeadDemand) -> OperatingPoints:
    """Meet unlike pumps in parallel with a system, each behind a check valve.

    On a curve with a hump the falling part is used; a pump whose highest head lies below the
    header's gives nothing, and its flow is nought.

    curves : at least one
    system : asked for the total flow
    returns : the meeting
    raises : NothingGiven
    """
    if not curves:
        raise NothingGiven(what="pump")
    branches = [FallingBranch(curve=curve) for curve in curves]
    top = max(branch.head_high_m for branch in branches)
    bottom = max(branch.head_low_m for branch in branches)

    def each_at(head: Floats) -> list[Floats]:
        return [branch.flow(head) for branch in branches]

    def lacking(head: Floats) -> Floats:
        return np.asarray(system.head(np.sum(each_at(head), axis=0)) - head)

    ends = lacking(np.array([bottom, top]))
    if ends[1] > 0.0 or ends[0] < 0.0:
        short = bool(ends[1] > 0.0)
        head = top if short else bottom
        total = float(np.sum(each_at(np.array([head])), axis=0)[0])
        meeting = Meeting.TOO_LITTLE_HEAD if short else Meeting.BEYOND_RUNOUT
        misses = float(ends[1] if short else ends[0])
        return OperatingPoints(
            points=(),
            meeting=meeting,
            misses_by_m=misses,
            nearest_flow_m3s=total,
            converged=True,
            steps=2,
            why_not="",
            sentence=_sentence(meeting, (), misses, total),
        )
    found = bracketed_root(lacking, np.array([bottom]), np.array([top]))
    each = tuple(float(flow[0]) for flow in each_at(found.x))
    point = OperatingPoint(
        running=len(curves),
        flow_m3s=sum(each),
        flow_each_m3s=each,
        head_m=float(found.x[0]),
        holds=True,
    )
    idle = sum(flow <= 0.0 for flow in each)
    note = f" {idle} of them gives nothing against the others." if idle else ""
    return OperatingPoints(
        points=(point,),
        meeting=Meeting.ONE,
        misses_by_m=0.0,
        nearest_flow_m3s=point.flow_m3s,
        converged=bool(found.converged[0]),
        steps=found.steps,
        why_not=found.why_not,
        sentence=_sentence(Meeting.ONE, (point,), 0.0, 0.0) + note,
    )
