"""What the piping asks of the pump: static head and losses that grow with flow.

A `SystemCurve` is static + k·Q^n, given, or laid through two known points, or fitted to pipe runs
with their fittings. Pipe runs themselves can be asked exactly; the fitted curve agrees with them
at its design flow and says how far it strays elsewhere.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np

from selection.hydraulics.door import FLOW_CEILING_M3S, HEAD_CEILING_M, Floats, number
from selection.hydraulics.errors import HeadFallsWithFlow, NothingGiven, SamePoint
from selection.hydraulics.roots import bracketed_root


class HeadDemand(Protocol):
    """Anything that asks head at a flow."""

    def head(self, flow_m3s: Floats | float) -> Floats:
        """Head asked at flows, never falling as flow grows [m]."""


@dataclass(frozen=True, kw_only=True)
class SystemCurve:
    """Head that a system asks: static + coefficient · flow^exponent, for the total flow.

    static_m : at mean levels; negative where the liquid runs downhill [m]
    coefficient : >= 0 [m/(m3/s)^exponent]
    exponent : 1 to 2.1 [-]
    static_low_m : least static head (high water at the suction); None: as static_m [m]
    static_high_m : greatest static head (low water at the suction); None: as static_m [m]
    strays_m : greatest difference from the pipes it was fitted to, over the fitted range [m]
    source : in words, for the screen
    """

    static_m: float
    coefficient: float
    exponent: float = 2.0
    static_low_m: float | None = None
    static_high_m: float | None = None
    strays_m: float = 0.0
    source: str = "coefficients given"

    def __post_init__(self) -> None:
        number(self.static_m, "static head", "m", -HEAD_CEILING_M, HEAD_CEILING_M)
        number(self.coefficient, "loss coefficient", "m/(m3/s)^n", 0.0)
        number(self.exponent, "loss exponent", "-", 1.0, 2.1)
        if self.static_low_m is not None:
            number(self.static_low_m, "least static head", "m", -HEAD_CEILING_M, self.static_m)
        if self.static_high_m is not None:
            number(self.static_high_m, "greatest static head", "m", self.static_m, HEAD_CEILING_M)

    def head(self, flow_m3s: Floats | float) -> Floats:
        """Head asked at total flows.

        flow_m3s : any shape, >= 0 [m3/s]
        returns : same shape [m]
        """
        q = np.asarray(flow_m3s, dtype=np.float64)
        power = q * q if self.exponent == 2.0 else np.power(q, self.exponent)
        return np.asarray(self.static_m + self.coefficient * power)

    def slope(self, flow_m3s: Floats | float) -> Floats:
        """Slope of the head asked.

        flow_m3s : any shape, >= 0 [m3/s]
        returns : same shape [m/(m3/s)]
        """
        q = np.asarray(flow_m3s, dtype=np.float64)
        return np.asarray(self.coefficient * self.exponent * np.power(q, self.exponent - 1.0))

    def flow_at(self, head_m: Floats | float) -> Floats:
        """Flow that the system takes at a head; nought below the static head.

        head_m : any shape [m]
        returns : same shape; infinite when there is no loss at all [m3/s]
        """
        spare = np.maximum(np.asarray(head_m, dtype=np.float64) - self.static_m, 0.0)
        if self.coefficient == 0.0:
            return np.where(spare > 0.0, np.inf, 0.0)
        return np.asarray(np.power(spare / self.coefficient, 1.0 / self.exponent))

    @property
    def low(self) -> "SystemCurve":
        """The system at its least static head: where pumps run farthest out."""
        least = self.static_m if self.static_low_m is None else self.static_low_m
        return replace(self, static_m=least, static_low_m=None, static_high_m=None)

    @property
    def high(self) -> "SystemCurve":
        """The system at its greatest static head: where pumps give least."""
        most = self.static_m if self.static_high_m is None else self.static_high_m
        return replace(self, static_m=most, static_low_m=None, static_high_m=None)

    @property
    def has_band(self) -> bool:
        """Static head has a range."""
        return self.static_low_m is not None or self.static_high_m is not None

    def aged(self, factor: float) -> "SystemCurve":
        """The same system with its losses multiplied, as pipes roughen.

        factor : 0.5 to 5 [-]
        returns : the aged system
        raises : OutOfBounds
        """
        number(factor, "ageing factor", "-", 0.5, 5.0)
        return replace(
            self,
            coefficient=self.coefficient * factor,
            strays_m=self.strays_m * factor,
            source=f"{self.source}; losses × {factor:g} for age",
        )


def through_points(
    first: tuple[float, float], second: tuple[float, float], exponent: float = 2.0
) -> SystemCurve:
    """Lay a system curve through two known points.

    first, second : flow and head, in either order; a flow of nought gives the static head
        [m3/s, m]
    exponent : 1 to 2.1 [-]
    returns : the curve
    raises : SamePoint, HeadFallsWithFlow, OutOfBounds
    """
    (q1, h1), (q2, h2) = sorted([first, second])
    for flow, head in ((q1, h1), (q2, h2)):
        number(flow, "flow of a system point", "m3/s", 0.0, FLOW_CEILING_M3S)
        number(head, "head of a system point", "m", -HEAD_CEILING_M, HEAD_CEILING_M)
    number(exponent, "loss exponent", "-", 1.0, 2.1)
    if q1 == q2:
        raise SamePoint(flow_m3s=q1)
    if h2 < h1:
        raise HeadFallsWithFlow(
            first_flow_m3s=q1, first_head_m=h1, second_flow_m3s=q2, second_head_m=h2
        )
    coefficient = (h2 - h1) / (q2**exponent - q1**exponent)
    return SystemCurve(
        static_m=h1 - coefficient * q1**exponent,
        coefficient=coefficient,
        exponent=exponent,
        source="laid through two known points",
    )


def systems_in_series(systems: Sequence[SystemCurve]) -> SystemCurve:
    """Join systems that carry the same flow one after another.

    systems : at least one, all with the same exponent
    returns : static heads and losses added
    raises : NothingGiven, OutOfBounds
    """
    if not systems:
        raise NothingGiven(what="system")
    exponent = systems[0].exponent
    for system in systems:
        number(system.exponent, "loss exponent in a series", "-", exponent, exponent)
    low = sum(system.low.static_m for system in systems)
    high = sum(system.high.static_m for system in systems)
    banded = any(system.has_band for system in systems)
    return SystemCurve(
        static_m=sum(system.static_m for system in systems),
        coefficient=sum(system.coefficient for system in systems),
        exponent=exponent,
        static_low_m=low if banded else None,
        static_high_m=high if banded else None,
        strays_m=sum(system.strays_m for system in systems),
        source="in series: " + "; ".join(system.source for system in systems),
    )


@dataclass(frozen=True, kw_only=True)
class Branches:
    """Branches side by side from one node, each with its own static head and loss.

    A branch whose static head is above the head at the node carries nothing (a check valve
    holds it); flow never runs back.

    branches : at least one
    """

    branches: tuple[SystemCurve, ...]

    def __post_init__(self) -> None:
        if not self.branches:
            raise NothingGiven(what="branch")
        for branch in self.branches:
            number(branch.coefficient, "a branch's loss coefficient", "m/(m3/s)^n", 1e-12)

    def flows_at(self, head_m: Floats | float) -> Floats:
        """Flow of each branch at heads of the node.

        head_m : any shape [m]
        returns : (branches, *shape) [m3/s]
        """
        return np.stack([branch.flow_at(head_m) for branch in self.branches])

    def head(self, flow_m3s: Floats | float) -> Floats:
        """Head the branches together ask at total flows.

        flow_m3s : any shape, >= 0 [m3/s]
        returns : same shape [m]
        """
        q = np.asarray(flow_m3s, dtype=np.float64)
        bottom = np.full(q.shape, min(branch.static_m for branch in self.branches))
        top = np.min([branch.head(q) for branch in self.branches], axis=0)
        # A hair above, so that rounding cannot hide the root of a single branch.
        top = np.maximum(top, bottom) + 1e-9 * (1.0 + np.abs(top))

        def short(head: Floats) -> Floats:
            return np.asarray(q - self.flows_at(head).sum(axis=0))

        return bracketed_root(short, bottom, top).x
