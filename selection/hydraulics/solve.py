"""Best trim and operating points of a whole catalogue at once, as arrays.

For every impeller at every speed: the diameter that meets the duty, found on the impeller's own
curves between its limits, and then everything the checks ask of the trimmed pump. Work is done
in slices of a fixed number of candidates, so memory stays bounded and time grows in proportion.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from selection.hydraulics.catalogue import Catalogue
from selection.hydraulics.curves import shaft_power
from selection.hydraulics.door import GRAVITY, Bools, Floats, Ints
from selection.hydraulics.many import Cubics, Marks
from selection.hydraulics.question import Alone, Fit, Pairs, Question
from selection.hydraulics.system import SystemCurve
from selection.hydraulics.trim import Trims, best_trims, kernels, settled_trims

SLICE = 4096  # candidates worked on at once


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


def solve(
    catalogue: Catalogue,
    question: Question,
    pairs: Pairs,
    diameter_mm: Floats | None = None,
) -> Solved:
    """Trim impellers at their speeds to the duty and meet them with the system.

    catalogue : packed
    question : duty and system
    pairs : impellers and speeds asked
    diameter_mm : (n,) diameters that are settled; None seeks the trim [mm]
    returns : a candidate a pair
    """
    parts = []
    for start in range(0, len(pairs.impeller), SLICE):
        part = slice(start, start + SLICE)
        settled = None if diameter_mm is None else diameter_mm[part]
        parts.append(
            _solve_slice(
                catalogue,
                question,
                pairs.impeller[part],
                pairs.speed_rpm[part],
                pairs.poles[part],
                settled,
            )
        )
    return parts[0] if len(parts) == 1 else _joined(parts)


def _joined(parts: Sequence[Solved]) -> Solved:
    return Solved(
        **{
            field.name: np.concatenate([getattr(part, field.name) for part in parts], axis=-1)
            for field in fields(Solved)
        }
    )


def _solve_slice(
    catalogue: Catalogue,
    question: Question,
    impeller: Ints,
    speed: Floats,
    poles: Ints,
    diameter: Floats | None,
) -> Solved:
    if diameter is None:
        trim = best_trims(catalogue, question, impeller, speed)
    else:
        trim = settled_trims(catalogue, impeller, diameter)
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
        **parts,
    )


@dataclass(frozen=True, eq=False)
class _Curves:
    """Trimmed curves at their speed, one a row, and their figures."""

    head: Cubics
    efficiency: Cubics
    npshr: Cubics
    marks: Marks


def _curves(catalogue: Catalogue, impeller: Ints, speed: Floats, trim: Trims) -> _Curves:
    speed_ratio = speed / catalogue.reference_rpm[impeller]

    def factors(test: Ints) -> tuple[Floats, Floats, Floats]:
        ratio = trim.diameter_mm / catalogue.test_diameter_mm[test]
        log = np.log(ratio)
        along = np.exp(catalogue.flow_exponent[impeller] * log) * speed_ratio
        up = np.exp(catalogue.head_exponent[impeller] * log) * speed_ratio**2
        return along, up, 1.0 - catalogue.efficiency_loss[impeller] * (1.0 - ratio)

    def carried(test: Ints) -> tuple[Cubics, Cubics, Cubics]:
        along, up, kept = factors(test)
        return (
            catalogue.head.rows(test).scaled(along, up),
            catalogue.efficiency.rows(test).scaled(along, kept),
            catalogue.npshr.rows(test).scaled(speed_ratio, speed_ratio**2),
        )

    head, efficiency, npshr = carried(trim.lower)
    if not (trim.lower != trim.upper).any():
        marks = catalogue.marks.stretched(trim.lower, *factors(trim.lower))
        return _Curves(head, efficiency, npshr, marks)
    other = carried(trim.upper)
    head = head.mixed(other[0], trim.share)
    efficiency = efficiency.mixed(other[1], trim.share)
    return _Curves(head, efficiency, npshr.mixed(other[2], trim.share), Marks.of(head, efficiency))


def _figures(curves: _Curves, question: Question) -> dict[str, Any]:
    head, efficiency, marks = curves.head, curves.efficiency, curves.marks
    rho = question.density_kg_m3
    duty = np.full(head.last.shape, question.flow_m3s)
    at_duty, eta = head.at(duty), efficiency.at(duty)
    held = np.where(np.isnan(at_duty), head.held(duty), at_duty)
    running = [meet(head, question.system, count + 1) for count in range(question.running)]
    lone = running[0]
    if question.system.has_band:
        lone = meet(head, question.system.low, 1)
    lone_flow = np.where(lone.state == Alone.BEYOND_END, marks.end_flow, lone.flow_m3s)
    lone_head = head.at(lone_flow)
    return {
        "head_m": at_duty,
        "spare_head_m": held - question.head_m,
        "efficiency": eta,
        "power_w": shaft_power(duty, at_duty, eta, rho),
        "npshr_m": curves.npshr.at(duty),
        "start_flow_m3s": marks.start_flow,
        "end_flow_m3s": marks.end_flow,
        "bep_flow_m3s": marks.bep_flow,
        "bep_efficiency": marks.bep_efficiency,
        "bep_head_m": marks.bep_head,
        "shutoff_head_m": marks.shutoff_head,
        "head_max_m": marks.head_max,
        "stable": marks.stable,
        "power_max_w": rho * GRAVITY * marks.power_shape,
        "power_max_flow_m3s": marks.power_flow,
        "running_flow_m3s": np.stack([met.flow_m3s for met in running]),
        # Where they meet, the pump makes what the system asks.
        "running_head_m": np.stack(
            [question.system.head((count + 1) * met.flow_m3s) for count, met in enumerate(running)]
        ),
        "running_state": np.stack([met.state for met in running]),
        "meetings": np.stack([met.meetings for met in running]),
        "alone_flow_m3s": lone_flow,
        "alone_head_m": lone_head,
        "alone_state": lone.state,
        "alone_power_w": shaft_power(lone_flow, lone_head, efficiency.at(lone_flow), rho),
        "alone_npshr_m": curves.npshr.at(lone_flow),
        "converged": np.all([lone.converged, *(met.converged for met in running)], axis=0),
    }


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
    flat = np.ones(head.last.shape)
    return Met(
        *kernels().meet(
            head.knots,
            head.values,
            head.slopes,
            head.last,
            flat * system.static_m,
            flat * (system.coefficient * running**system.exponent),
            flat * system.exponent,
        )
    )
