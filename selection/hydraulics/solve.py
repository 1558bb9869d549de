"""Best trim and operating points of a whole catalogue at once, as arrays.

For every impeller at every speed: the diameter that meets the duty, found on the impeller's own
curves between its limits, and then everything the checks ask of the trimmed pump. Work is done
in slices of a fixed number of candidates, so memory stays bounded and time grows in proportion.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from enum import IntEnum
from typing import Any

import numpy as np

from selection.hydraulics.catalogue import Catalogue
from selection.hydraulics.curves import shaft_power
from selection.hydraulics.door import Bools, Floats, Ints
from selection.hydraulics.many import Cubics
from selection.hydraulics.roots import bracketed_root
from selection.hydraulics.system import SystemCurve

SLICE = 4096  # candidates worked on at once


class Fit(IntEnum):
    """Whether an impeller can be trimmed to the duty, and what stands against it."""

    MEETS = 0
    SHORT_OF_HEAD = 1
    TOO_MUCH_HEAD = 2
    BEYOND_END = 3
    BEFORE_START = 4


class Alone(IntEnum):
    """How a number of running pumps meets the system."""

    MEETS = 0
    BEYOND_END = 1
    TOO_LITTLE_HEAD = 2


@dataclass(frozen=True, eq=False, kw_only=True)
class Solved:
    """All candidates, one a place in each array; figures are of one pump.

    impeller : (n,) place in the catalogue [-]
    poles : (n,) of the motor [-]
    speed_rpm : (n,) [rev/min]
    fit : (n,) a Fit [-]
    diameter_mm : (n,) trimmed to the duty, or the limit nearest to it [mm]
    lower, upper : (n,) tests that the curve is drawn from [-]
    share : (n,) of the upper test [-]
    head_m, efficiency, power_w, npshr_m : (n,) at the duty's flow; NaN outside the curve
        [m, -, W, m]
    spare_head_m : (n,) head at the duty's flow less the head asked [m]
    start_flow_m3s, end_flow_m3s : (n,) range of the curve [m3/s]
    bep_flow_m3s, bep_efficiency, bep_head_m : (n,) at best efficiency [m3/s, -, m]
    shutoff_head_m, head_max_m : (n,) [m]
    stable : (n,) head falls throughout [-]
    power_max_w, power_max_flow_m3s : (n,) highest over the range [W, m3/s]
    running_flow_m3s, running_head_m : (r, n) of each pump with 1 to r running; NaN when they do
        not meet the system [m3/s, m]
    running_state : (r, n) an Alone [-]
    meetings : (r, n) how often pumps and system meet [-]
    alone_flow_m3s, alone_head_m : (n,) the last pump alone on the system at its least static
        head; the end of the curve where it runs beyond it [m3/s, m]
    alone_state : (n,) an Alone [-]
    alone_power_w, alone_npshr_m : (n,) there [W, m]
    converged : (n,) every search settled
    steps : evaluations of the longest search [-]
    """

    impeller: Ints
    poles: Ints
    speed_rpm: Floats
    fit: Ints
    diameter_mm: Floats
    lower: Ints
    upper: Ints
    share: Floats
    head_m: Floats
    efficiency: Floats
    power_w: Floats
    npshr_m: Floats
    spare_head_m: Floats
    start_flow_m3s: Floats
    end_flow_m3s: Floats
    bep_flow_m3s: Floats
    bep_efficiency: Floats
    bep_head_m: Floats
    shutoff_head_m: Floats
    head_max_m: Floats
    stable: Bools
    power_max_w: Floats
    power_max_flow_m3s: Floats
    running_flow_m3s: Floats
    running_head_m: Floats
    running_state: Ints
    meetings: Ints
    alone_flow_m3s: Floats
    alone_head_m: Floats
    alone_state: Ints
    alone_power_w: Floats
    alone_npshr_m: Floats
    converged: Bools
    steps: int


@dataclass(frozen=True, kw_only=True)
class Question:
    """What the arrays are solved for.

    flow_m3s : of one pump at duty, > 0 [m3/s]
    head_m : at duty, > 0 [m]
    system : asked for the total flow
    running : greatest number of pumps running, >= 1 [-]
    density_kg_m3 : of the liquid [kg/m3]
    """

    flow_m3s: float
    head_m: float
    system: SystemCurve
    running: int
    density_kg_m3: float


def solve(
    catalogue: Catalogue, question: Question, speeds_rpm: Sequence[float], poles: Sequence[int]
) -> Solved:
    """Trim every impeller at every speed to the duty and meet it with the system.

    catalogue : packed
    question : duty and system
    speeds_rpm : (s,) each > 0 [rev/min]
    poles : (s,) of the motor at each speed [-]
    returns : impellers × speeds candidates, speeds running fastest
    """
    impeller = np.repeat(np.arange(len(catalogue.impellers)), len(speeds_rpm))
    speed = np.tile(np.asarray(speeds_rpm, dtype=np.float64), len(catalogue.impellers))
    pole = np.tile(np.asarray(poles, dtype=np.intp), len(catalogue.impellers))
    parts = [
        _solve_slice(
            catalogue,
            question,
            impeller[start : start + SLICE],
            speed[start : start + SLICE],
            pole[start : start + SLICE],
        )
        for start in range(0, len(impeller), SLICE)
    ]
    return parts[0] if len(parts) == 1 else _joined(parts)


def _joined(parts: Sequence[Solved]) -> Solved:
    joined: dict[str, Any] = {"steps": max(part.steps for part in parts)}
    for name in (field.name for field in fields(Solved) if field.name != "steps"):
        joined[name] = np.concatenate([getattr(part, name) for part in parts], axis=-1)
    return Solved(**joined)


def _solve_slice(
    catalogue: Catalogue, question: Question, impeller: Ints, speed: Floats, poles: Ints
) -> Solved:
    trim = _trim(catalogue, question, impeller, speed)
    parts: dict[str, Any] = {}
    mixed = trim.lower != trim.upper
    for group in (np.flatnonzero(~mixed), np.flatnonzero(mixed)):
        if group.size:
            curves = _curves(catalogue, impeller[group], speed[group], trim.taken(group))
            for name, values in _figures(curves, question).items():
                if name not in parts:
                    shape = (*values.shape[:-1], len(impeller))
                    parts[name] = np.empty(shape, dtype=values.dtype)
                parts[name][..., group] = values
    flow = question.flow_m3s
    fit = np.where(
        flow > parts["end_flow_m3s"],
        Fit.BEYOND_END,
        np.where(flow < parts["start_flow_m3s"], Fit.BEFORE_START, trim.fit),
    )
    parts["converged"] &= trim.converged
    return Solved(
        impeller=impeller,
        poles=poles,
        speed_rpm=speed,
        fit=fit,
        diameter_mm=trim.diameter_mm,
        lower=trim.lower,
        upper=trim.upper,
        share=trim.share,
        steps=trim.steps,
        **parts,
    )


@dataclass(frozen=True, eq=False)
class _Trim:
    """Diameters found: arrays as in `Solved`."""

    diameter_mm: Floats
    fit: Ints
    lower: Ints
    upper: Ints
    share: Floats
    converged: Bools
    steps: int

    def taken(self, at: Ints) -> "_Trim":
        return _Trim(
            self.diameter_mm[at],
            self.fit[at],
            self.lower[at],
            self.upper[at],
            self.share[at],
            self.converged[at],
            self.steps,
        )


@dataclass(frozen=True, eq=False)
class _Carried:
    """Head at the duty's flow of curves carried to a diameter by the trim law."""

    rows: Cubics
    tested_mm: Floats
    flow: Floats
    flow_power: Floats
    head_power: Floats

    def head(self, diameter_mm: Floats) -> Floats:
        log = np.log(diameter_mm / self.tested_mm)
        flow = self.flow * np.exp(-self.flow_power * log)
        return np.exp(self.head_power * log) * self.rows.held(flow)


def _trim(catalogue: Catalogue, question: Question, impeller: Ints, speed: Floats) -> _Trim:
    """Find the diameter at which each impeller's head at the duty's flow is the duty's."""
    ratio = speed / catalogue.reference_rpm[impeller]
    flow, head = question.flow_m3s / ratio, question.head_m / ratio**2
    first, count = catalogue.first[impeller], catalogue.count[impeller]
    least, most = catalogue.diameter_min_mm[impeller], catalogue.diameter_max_mm[impeller]
    below = np.zeros(impeller.shape, dtype=np.intp)
    for test in range(int(count.max())):
        at = first + np.minimum(test, count - 1)
        makes = catalogue.head.rows(at).held(flow)
        below += (test < count) & (makes <= head)
    lower = first + np.maximum(below - 1, 0)
    upper = first + np.minimum(below, count - 1)
    tested = catalogue.test_diameter_mm
    low = np.clip(np.where(below == 0, least, tested[lower]), least, most)
    high = np.clip(np.where(below == count, most, tested[upper]), least, most)

    def carried(rows: Ints, at: Ints) -> _Carried:
        return _Carried(
            catalogue.head.rows(rows[at]),
            tested[rows[at]],
            flow[at],
            catalogue.flow_exponent[impeller[at]],
            catalogue.head_exponent[impeller[at]],
        )

    diameter = np.empty(impeller.shape)
    fit = np.empty(impeller.shape, dtype=np.intp)
    converged = np.empty(impeller.shape, dtype=bool)
    steps = 0
    mixed = lower != upper
    for group in (np.flatnonzero(~mixed), np.flatnonzero(mixed)):
        if not group.size:
            continue
        one = carried(lower, group)
        two = carried(upper, group) if mixed[group[0]] else None
        spare = _spare_head(one, two, head[group])
        found = bracketed_root(spare, low[group], high[group], relative=1e-14)
        missed = np.isnan(found.x)
        too_much = missed & (spare(low[group]) > 0.0)
        diameter[group] = np.where(missed, np.where(too_much, low[group], high[group]), found.x)
        fit[group] = np.where(missed, np.where(too_much, 2, 1), 0)
        converged[group] = found.converged | missed
        steps = max(steps, found.steps)
    gap = np.where(mixed, tested[upper] - tested[lower], 1.0)
    share = np.where(mixed, (diameter - tested[lower]) / gap, 0.0)
    return _Trim(diameter, fit, lower, upper, share, converged, steps)


def _spare_head(one: _Carried, two: _Carried | None, head: Floats) -> Any:
    if two is None:
        return lambda d: one.head(d) - head
    gap = two.tested_mm - one.tested_mm

    def mixed(d: Floats) -> Floats:
        share = (d - one.tested_mm) / gap
        return np.asarray((1.0 - share) * one.head(d) + share * two.head(d) - head)

    return mixed


@dataclass(frozen=True, eq=False)
class _Curves:
    """Trimmed curves at their speed, one a row."""

    head: Cubics
    efficiency: Cubics
    npshr: Cubics
    trim: _Trim


def _curves(catalogue: Catalogue, impeller: Ints, speed: Floats, trim: _Trim) -> _Curves:
    speed_ratio = speed / catalogue.reference_rpm[impeller]

    def carried(test: Ints) -> tuple[Cubics, Cubics, Cubics]:
        ratio = trim.diameter_mm / catalogue.test_diameter_mm[test]
        along = ratio ** catalogue.flow_exponent[impeller] * speed_ratio
        up = ratio ** catalogue.head_exponent[impeller] * speed_ratio**2
        kept = 1.0 - catalogue.efficiency_loss[impeller] * (1.0 - ratio)
        return (
            catalogue.head.rows(test).scaled(along, up),
            catalogue.efficiency.rows(test).scaled(along, kept),
            catalogue.npshr.rows(test).scaled(speed_ratio, speed_ratio**2),
        )

    head, efficiency, npshr = carried(trim.lower)
    if (trim.lower != trim.upper).any():
        other = carried(trim.upper)
        head = head.mixed(other[0], trim.share)
        efficiency = efficiency.mixed(other[1], trim.share)
        npshr = npshr.mixed(other[2], trim.share)
    return _Curves(head, efficiency, npshr, trim)


def _figures(curves: _Curves, question: Question) -> dict[str, Any]:
    head, efficiency = curves.head, curves.efficiency
    rho = question.density_kg_m3
    duty = np.full(head.last.shape, question.flow_m3s)
    bep_flow, bep_efficiency = efficiency.peaks()
    at_duty, eta = head.at(duty), efficiency.at(duty)
    shutoff = head.values[:, 0] + np.maximum(0.0, -head.slopes[:, 0]) * head.low / 2.0
    power_flow, power_max = _highest_power(head, efficiency, bep_flow, rho)
    inside = head.inside
    falling = (np.diff(head.values, axis=1) < 0.0) | ~inside[:, 1:]
    running = [meet(head, question.system, count + 1) for count in range(question.running)]
    alone = meet(head, question.system.low, 1)
    lone_flow = np.where(alone.state == Alone.BEYOND_END, head.high, alone.flow_m3s)
    lone_head = head.at(lone_flow)
    return {
        "head_m": at_duty,
        "spare_head_m": head.held(duty) - question.head_m,
        "efficiency": eta,
        "power_w": shaft_power(duty, at_duty, eta, rho),
        "npshr_m": curves.npshr.at(duty),
        "start_flow_m3s": head.low,
        "end_flow_m3s": head.high,
        "bep_flow_m3s": bep_flow,
        "bep_efficiency": bep_efficiency,
        "bep_head_m": head.held(bep_flow),
        "shutoff_head_m": shutoff,
        "head_max_m": np.maximum(shutoff, np.where(inside, head.values, -np.inf).max(axis=1)),
        "stable": falling.all(axis=1),
        "power_max_w": power_max,
        "power_max_flow_m3s": power_flow,
        "running_flow_m3s": np.stack([meeting.flow_m3s for meeting in running]),
        "running_head_m": np.stack([head.at(meeting.flow_m3s) for meeting in running]),
        "running_state": np.stack([meeting.state for meeting in running]),
        "meetings": np.stack([meeting.meetings for meeting in running]),
        "alone_flow_m3s": lone_flow,
        "alone_head_m": lone_head,
        "alone_state": alone.state,
        "alone_power_w": shaft_power(lone_flow, lone_head, efficiency.at(lone_flow), rho),
        "alone_npshr_m": curves.npshr.at(lone_flow),
        "converged": np.all([alone.converged, *(m.converged for m in running)], axis=0),
    }


def _highest_power(
    head: Cubics, efficiency: Cubics, bep_flow: Floats, density: float
) -> tuple[Floats, Floats]:
    """Highest power at the knots and four places inside each piece, from 15 % of best flow."""
    flow, made = head.sampled()
    _, eta = efficiency.sampled()
    counts = np.isfinite(flow) & (flow >= 0.15 * bep_flow[:, None]) & (eta > 0.0)
    flow = np.where(counts, flow, 0.0)
    power = shaft_power(flow, made, np.where(counts, eta, 1.0), density)
    at = np.argmax(power, axis=1)[:, None]
    return np.take_along_axis(flow, at, 1)[:, 0], np.take_along_axis(power, at, 1)[:, 0]


@dataclass(frozen=True, eq=False)
class Met:
    """Where rows of pumps meet a system.

    flow_m3s : (n,) of one pump, at the greatest flow; NaN when they do not meet [m3/s]
    state : (n,) an Alone [-]
    meetings : (n,) changes of sign along the knots [-]
    converged : (n,)
    """

    flow_m3s: Floats
    state: Ints
    meetings: Ints
    converged: Bools


def meet(head: Cubics, system: SystemCurve, running: int) -> Met:
    """Meet rows of like pumps with a system.

    head : of one pump, a row each [m]
    system : asked for the total flow
    running : pumps running, >= 1 [-]
    returns : the meeting at the greatest flow
    """
    inside = head.inside
    flow = np.where(inside, head.knots, 0.0)
    above = (head.values > system.head(running * flow)) & inside
    width = head.knots.shape[1]
    piece = width - 1 - np.argmax(above[:, ::-1], axis=1)
    none, beyond = ~above.any(axis=1), piece == head.last
    solvable = ~(none | beyond)
    at = np.flatnonzero(solvable)
    found, settled = np.full(piece.shape, np.nan), np.ones(piece.shape, dtype=bool)
    found[at], settled[at] = (
        head.rows(at)
        .pieces(piece[at])
        .falls_to(lambda q: (system.head(running * q), running * system.slope(running * q)))
    )
    changes = (above[:, 1:] != above[:, :-1]) & inside[:, 1:]
    return Met(
        found,
        np.where(none, Alone.TOO_LITTLE_HEAD, np.where(beyond, Alone.BEYOND_END, Alone.MEETS)),
        np.count_nonzero(changes, axis=1),
        settled,
    )
