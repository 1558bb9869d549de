"""How unsure the deviations of a performance test are, from its instruments to its verdict.

Each source of uncertainty moves a quantity at every point alike (an instrument) or at one point
alone (scatter). The test is judged again with every source moved up and down by its standard
uncertainty, all at once as one array of curves, and the effects are combined by root-sum-square.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quality.acceptance import piecewise
from quality.acceptance.cross import bar_outcomes
from quality.acceptance.curves import SAME_FLOW, Curve, cubics, curve_through, nearest
from quality.acceptance.grades import Guarantee, Tolerances
from quality.acceptance.readings import Point
from quality.acceptance.uncertainty import COVERAGE_FACTOR
from quality.acceptance.verdicts import Settings

Floats = NDArray[np.float64]
Effects = tuple[tuple[str, Floats], ...]

QUANTITIES = ("flow", "head", "efficiency", "power")
"""The deviations that are followed, in this order."""

MEASURED = ("flow", "head", "power", "speed")


@dataclass(frozen=True, kw_only=True)
class Spread:
    """How unsure one measured quantity is, expanded (k = 2).

    systematic_share : of the reading, the same error in all of them, >= 0 [-]
    systematic_fixed : in the quantity's SI unit, the same error in all of them, >= 0
    random_share : of the reading, different in each, >= 0 [-]
    """

    systematic_share: float = 0.0
    systematic_fixed: float = 0.0
    random_share: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Measuring:
    """How unsure the measured quantities of a run are.

    flow, head, power, speed : each
    """

    flow: Spread = Spread()
    head: Spread = Spread()
    power: Spread = Spread()
    speed: Spread = Spread()


@dataclass(frozen=True, kw_only=True, eq=False)
class Source:
    """One source of uncertainty.

    name : what it comes from
    effects : quantities that it moves, of flow, head, power and speed, each with (n,) what one
        standard uncertainty does to it at each point, in the quantity's SI unit
    common : moves all points together, else each by itself
    """

    name: str
    effects: tuple[tuple[str, Floats], ...]
    common: bool


@dataclass(frozen=True, kw_only=True, eq=False)
class DeviationUncertainty:
    """How unsure the deviations of a verdict are.

    nominal : (4,) deviations of flow, head, efficiency and power, NaN where there is none [-]
    covariance : (4, 4) of the deviations; rows without a deviation are nothing [-]
    systematic, random : (4,) standard uncertainties by their kind [-]
    """

    nominal: Floats
    covariance: Floats
    systematic: Floats
    random: Floats

    def standard(self, quantity: str) -> float | None:
        """Standard uncertainty of one deviation.

        quantity : flow, head, efficiency or power
        returns : as a share of the guarantee, None where there is no deviation [-]
        """
        i = QUANTITIES.index(quantity)
        if not np.isfinite(self.nominal[i]):
            return None
        return float(np.sqrt(self.covariance[i, i]))

    def expanded(self, quantity: str) -> float | None:
        """Expanded uncertainty (k = 2) of one deviation.

        quantity : flow, head, efficiency or power
        returns : as a share of the guarantee, None where there is no deviation [-]
        """
        standard = self.standard(quantity)
        return None if standard is None else COVERAGE_FACTOR * standard


def sources_of(points: Sequence[Point], measuring: Measuring) -> tuple[Source, ...]:
    """The sources of uncertainty of a run.

    points : at test speed
    measuring : how unsure each quantity is
    returns : one common source and one of scatter for each quantity that has them
    """
    read = {
        "flow": np.array([p.flow_m3s for p in points]),
        "head": np.array([p.head_m for p in points]),
        "power": np.array([np.nan if p.shaft_power_w is None else p.shaft_power_w for p in points]),
        "speed": np.array([p.speed_rpm for p in points]),
    }
    sources = []
    for quantity in MEASURED:
        spread: Spread = getattr(measuring, quantity)
        value = np.nan_to_num(np.abs(read[quantity]))
        systematic = (spread.systematic_share * value + spread.systematic_fixed) / COVERAGE_FACTOR
        random = spread.random_share * value / COVERAGE_FACTOR
        for name, standard, common in (
            (f"instrument for {quantity}", systematic, True),
            (f"scatter of {quantity}", random, False),
        ):
            if np.any(standard > 0):
                sources.append(Source(name=name, effects=((quantity, standard),), common=common))
    return tuple(sources)


def shares_at(
    points: Sequence[Point],
    sources: Sequence[Source],
    flow_m3s: float,
    *,
    systematic: bool = False,
) -> Mapping[str, float]:
    """Uncertainty of each measured quantity at the reading nearest to a flow.

    points : at test speed
    sources : of uncertainty
    flow_m3s : about which [m3/s]
    systematic : of the instruments alone, else of all sources
    returns : expanded (k = 2) shares of the value for flow, head, power, speed and efficiency,
        power and efficiency left out where power was not measured [-]
    source : root-sum-square of the sources; efficiency of flow, head and power
    """
    i = min(range(len(points)), key=lambda j: abs(points[j].flow_m3s - flow_m3s))
    near = points[i]
    values = {
        "flow": near.flow_m3s,
        "head": near.head_m,
        "power": near.shaft_power_w,
        "speed": near.speed_rpm,
    }
    known = {quantity: value for quantity, value in values.items() if value}
    used = [source for source in sources if source.common or not systematic]
    relative = [
        {
            quantity: float(by[i]) / known[quantity]
            for quantity, by in source.effects
            if quantity in known
        }
        for source in used
    ]
    shares = {
        quantity: COVERAGE_FACTOR * float(np.sqrt(sum(x.get(quantity, 0.0) ** 2 for x in relative)))
        for quantity in known
    }
    if {"flow", "head", "power"} <= known.keys():
        # What one source does to several of them adds up before the squares are summed.
        together = [x.get("flow", 0.0) + x.get("head", 0.0) - x.get("power", 0.0) for x in relative]
        shares["efficiency"] = COVERAGE_FACTOR * float(np.sqrt(sum(x**2 for x in together)))
    return shares


def deviation_uncertainty(
    points: Sequence[Point],
    sources: Sequence[Source],
    guarantee: Guarantee,
    tolerances: Tolerances,
    settings: Settings,
) -> DeviationUncertainty:
    """Uncertainty of the deviations that a verdict rests on.

    points : at test speed
    sources : of uncertainty
    guarantee : the guarantee point
    tolerances : decide which of several flows at the guaranteed head counts
    settings : the curve to judge by
    returns : deviations with their covariance
    source : JCGM 100:2008, 5.2.2, with each source moved both ways by its standard uncertainty
    """
    judged = _Judged(points, guarantee, tolerances, settings)
    moves: list[Effects] = []
    common_ones: list[bool] = []
    for source in sources:
        each = [source.effects] if source.common else _point_by_point(source.effects)
        moves += each
        common_ones += [source.common] * len(each)
    back = [tuple((name, -by) for name, by in move) for move in moves]
    drawn = judged.deviations([*moves, *back])
    up, down = drawn[1 : len(moves) + 1], drawn[len(moves) + 1 :]
    effect = np.nan_to_num((up - down) / 2)
    common = np.array(common_ones, dtype=bool)
    return DeviationUncertainty(
        nominal=drawn[0],
        covariance=effect.T @ effect,
        systematic=np.sqrt(np.sum(effect[common] ** 2, axis=0)),
        random=np.sqrt(np.sum(effect[~common] ** 2, axis=0)),
    )


def _point_by_point(effects: Effects) -> list[Effects]:
    """A source of scatter as one move for every point."""
    count = len(effects[0][1])
    return [
        tuple((name, np.where(np.arange(count) == i, by, 0.0)) for name, by in effects)
        for i in range(count)
        if any(by[i] for _, by in effects)
    ]


class _Judged:
    """One test judged many times, with its measured quantities moved a little."""

    def __init__(
        self,
        points: Sequence[Point],
        guarantee: Guarantee,
        tolerances: Tolerances,
        settings: Settings,
    ) -> None:
        self.guarantee = guarantee
        self.pieces = settings.pieces
        self.read = {
            "flow": np.array([p.flow_m3s for p in points]),
            "head": np.array([p.head_m for p in points]),
            "power": np.array(
                [np.nan if p.shaft_power_w is None else p.shaft_power_w for p in points]
            ),
            "speed": np.array([p.speed_rpm for p in points]),
        }
        self.density = np.array([p.density_kg_m3 for p in points])
        self.gravity = np.array([p.gravity_m_s2 for p in points])
        flow, head, _, _ = self._rated(self.read)
        self.all = _mean_of_settings(flow)
        self.powered = np.isfinite(self.read["power"])
        self.some = _mean_of_settings(flow[self.powered])
        curve = curve_through("head", flow, head, settings.pieces)
        at_flow, flows = bar_outcomes(curve, guarantee, tolerances)
        self.covered = at_flow is not None
        self.crossing = flows[0] if flows else None
        self.meets = self._meeting(curve)

    def _meeting(self, curve: Curve) -> float | None:
        """Where the line through the origin meets the curve, when power was measured there."""
        line = self.guarantee.head_m / self.guarantee.flow_m3s
        meets = nearest(curve.crossings(slope=line), self.guarantee.flow_m3s)
        flow = self._rated(self.read)[0][self.powered]
        if meets is None or len(np.unique(flow)) < 2 or not flow.min() <= meets <= flow.max():
            return None
        return meets

    def _rated(self, read: Mapping[str, Floats]) -> tuple[Floats, Floats, Floats, Floats]:
        """Flow, head, efficiency and power at rated speed, of one test or of many."""
        ratio = self.guarantee.speed_rpm / read["speed"]
        flow = read["flow"] * ratio
        head = read["head"] * ratio**2
        thinner = self.guarantee.density_kg_m3 / self.density
        power = read["power"] * ratio**3 * thinner
        efficiency = self.guarantee.density_kg_m3 * self.gravity * flow * head / power
        return flow, head, efficiency, power

    def deviations(self, moves: Sequence[Effects]) -> Floats:
        """Deviations of the test as read and with each move, (1 + moves, 4)."""
        count = len(moves) + 1
        read = {name: np.tile(values, (count, 1)) for name, values in self.read.items()}
        for i, move in enumerate(moves, start=1):
            for quantity, by in move:
                read[quantity][i] += by
        flow, head, efficiency, power = self._rated(read)
        x, h = flow @ self.all.T, head @ self.all.T
        curve = cubics(x, h, self.pieces)
        result = np.full((count, len(QUANTITIES)), np.nan)
        promise = self.guarantee
        if self.covered:
            at, _ = piecewise.values(x, curve, np.full(count, promise.flow_m3s))
            result[:, 1] = at / promise.head_m - 1
        if self.crossing is not None:
            met = _follow(x, curve, self.crossing, level=promise.head_m, slope=0.0)
            result[:, 0] = met / promise.flow_m3s - 1
        if self.meets is not None:
            line = promise.head_m / promise.flow_m3s
            met = _follow(x, curve, self.meets, level=0.0, slope=line)
            some = flow[:, self.powered] @ self.some.T
            for column, guaranteed, values in (
                (2, promise.efficiency, efficiency),
                (3, promise.power_w, power),
            ):
                if guaranteed is not None:
                    y = values[:, self.powered] @ self.some.T
                    at, _ = piecewise.values(some, cubics(some, y, self.pieces), met)
                    result[:, column] = at / guaranteed - 1
        return result


def _follow(x: Floats, curve: Floats, start: float, *, level: float, slope: float) -> Floats:
    """Where each curve meets a line, followed from where the unmoved one does."""
    at = np.full(x.shape[0], start)
    for _ in range(3):
        value, rise = piecewise.values(x, curve, at)
        steepness = rise - slope
        # A curve that runs along the line has no crossing to follow; it is left where it is.
        safe = np.where(np.abs(steepness) < 1e-12, np.inf, steepness)
        at = at - (value - level - slope * at) / safe
    return at


def _mean_of_settings(flow: Floats) -> Floats:
    """(m, n) matrix that sorts points by flow and takes the mean at each setting of the valve."""
    order = np.argsort(flow, kind="stable")
    step = SAME_FLOW * float(np.max(np.abs(flow), initial=0.0))
    group = np.concatenate(([0], np.cumsum(np.diff(flow[order]) > step))) if len(flow) else order
    matrix = np.zeros((int(group[-1]) + 1 if len(flow) else 0, len(flow)))
    matrix[group, order] = 1.0
    share: Floats = matrix / np.maximum(matrix.sum(axis=1, keepdims=True), 1.0)
    return share
