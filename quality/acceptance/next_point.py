"""Which reading to take next on the bed, and when enough is enough.

Readings are wanted, in this order, where the verdict cannot be given without them, where the grade
asks for more of them, where the curve is widest open about the guarantee point, and at the ends of
the curve. When the verdict is near a limit, repeating helps only as long as scatter, not the
instruments, makes it unsure.
"""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from quality.acceptance.evidence import Outcome
from quality.acceptance.grades import Guarantee, Tolerances
from quality.acceptance.propagation import DeviationUncertainty
from quality.acceptance.units import SI_UNITS, Unit
from quality.acceptance.verdicts import PerformanceVerdict

FIRST = (1.0, 0.9, 1.1, 0.95, 1.05)
"""Flows over the guaranteed flow that a test begins with, while nothing is known yet."""
SPAN = (0.0, 1.3)
"""Flows over the guaranteed flow that a whole curve reaches over (common practice)."""
WIDEST = 0.3
"""A gap between neighbouring readings wider than this share of the guaranteed flow is filled."""


@dataclass(frozen=True, kw_only=True)
class NextReading:
    """What to do next.

    enough : nothing more is needed
    flow_m3s : to set at rated speed, None when enough [m3/s]
    sentence : why
    caution : what to mind there, empty for nothing
    """

    enough: bool
    flow_m3s: float | None
    sentence: str
    caution: str = ""


SHUT = "The pump heats up at the shut valve: limit the time, and never run it dry."


def next_reading(
    verdict: PerformanceVerdict | None,
    flows_m3s: Sequence[float],
    guarantee: Guarantee,
    tolerances: Tolerances,
    *,
    uncertainty: DeviationUncertainty | None = None,
    whole_curve: bool = True,
    reach_m3s: float | None = None,
    units: Mapping[str, Unit] = SI_UNITS,
) -> NextReading:
    """The reading to take next.

    verdict : on the readings so far, None while they make no curve yet
    flows_m3s : of the readings so far, at rated speed [m3/s]
    guarantee : the guarantee point
    tolerances : of grade or contract
    uncertainty : of the deviations so far, None when it is not known
    whole_curve : the contract wants the curve from shut valve to run-out
    reach_m3s : largest flow that the bed or the contract allows, None without such a limit [m3/s]
    units : for the sentence
    returns : where to go and why, or that it is enough
    """
    unit = {**SI_UNITS, **units}["flow_m3s"]
    rated = guarantee.flow_m3s
    highest = SPAN[1] * rated if reach_m3s is None else min(SPAN[1] * rated, reach_m3s)
    taken = sorted(flows_m3s)
    if verdict is None or len(taken) < 2:
        return _first(taken, guarantee, unit)
    for missing in verdict.missing:
        flow = _in_widest_gap(taken, missing.lowest_m3s, missing.highest_m3s)
        return _at(flow, missing.sentence, unit)
    if near := _near_a_limit(verdict, uncertainty):
        return (
            _at(rated, near, unit)
            if "repeat" in near
            else NextReading(enough=True, flow_m3s=None, sentence=near)
        )
    if whole_curve:
        if taken[0] > 0.02 * rated:
            return _at(0.0, "The curve wants its point at the shut valve.", unit, SHUT)
        if taken[-1] < highest * 0.98:
            return _at(highest, "The curve wants a point near run-out.", unit)
        before, after = max(
            itertools.pairwise(taken), key=lambda pair: (pair[1] - pair[0], -pair[0])
        )
        if after - before > WIDEST * rated:
            return _at(
                (before + after) / 2,
                f"The widest gap lies between {unit.show(before)} and {unit.show(after)}.",
                unit,
            )
    return NextReading(
        enough=True,
        flow_m3s=None,
        sentence=(
            f"{len(taken)} readings are enough: the test is judged "
            f"({verdict.outcome.value}) and the curve is covered."
        ),
    )


def _first(taken: Sequence[float], guarantee: Guarantee, unit: Unit) -> NextReading:
    for share in FIRST:
        flow = share * guarantee.flow_m3s
        if all(abs(flow - other) > 0.02 * guarantee.flow_m3s for other in taken):
            return _at(flow, "Begin about the guarantee point.", unit)
    return _at(guarantee.flow_m3s, "Begin about the guarantee point.", unit)


def _at(flow: float, why: str, unit: Unit, caution: str = "") -> NextReading:
    where = "at the shut valve" if flow == 0 else f"at {unit.show(flow)}"
    return NextReading(
        enough=False,
        flow_m3s=flow,
        sentence=f"Take the next reading {where}. {why}",
        caution=caution,
    )


def _in_widest_gap(taken: Sequence[float], low: float, high: float) -> float:
    """The flow within a range that lies farthest from every reading."""
    if high <= low:
        return low
    inside = [flow for flow in taken if low <= flow <= high]
    marks = [low, *inside, high]
    # An end of the range is open unless a reading stands on it, so it counts in full.
    best, widest = (low + high) / 2, -1.0
    for i, (before, after) in enumerate(itertools.pairwise(marks)):
        first, last = i == 0, i == len(marks) - 2
        if first and inside and before not in taken:
            at, gap = before, (after - before)
        elif last and inside and after not in taken:
            at, gap = after, (after - before)
        else:
            at, gap = (before + after) / 2, (after - before) / 2
        if gap > widest + 1e-12:
            best, widest = at, gap
    return best


def _near_a_limit(verdict: PerformanceVerdict, uncertainty: DeviationUncertainty | None) -> str:
    """What to do about a deciding quantity that lies inside its uncertainty of the limit."""
    if uncertainty is None or verdict.outcome is Outcome.NOT_JUDGED:
        return ""
    for quantity in verdict.quantities:
        expanded = uncertainty.expanded(quantity.quantity)
        if not quantity.decides or quantity.margin is None or expanded is None:
            continue
        if abs(quantity.margin) >= expanded:
            continue
        i = ("flow", "head", "efficiency", "power").index(quantity.quantity)
        systematic, random = uncertainty.systematic[i], uncertainty.random[i]
        name = quantity.quantity.capitalize()
        if random > systematic:
            return (
                f"{name} lies {100 * abs(quantity.margin):.2f} % from its limit, inside the "
                f"uncertainty of {100 * expanded:.2f} %, most of it scatter: repeat readings "
                "there."
            )
        return (
            f"{name} lies {100 * abs(quantity.margin):.2f} % from its limit, inside the "
            f"uncertainty of {100 * expanded:.2f} %, most of it of the instruments: more readings "
            "do not make it surer, better instruments would. It is enough."
        )
    return ""
