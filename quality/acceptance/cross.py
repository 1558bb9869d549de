"""The tolerance cross: is the guarantee point met in flow and head?

A horizontal bar through the guarantee point is as long as the tolerance on flow, a vertical one as
long as the tolerance on head; the measured head curve has to cut or touch one of them, or both,
as the setting says. A bar that the measured range does not reach far enough to decide is not
judged, unless the other decides it.
"""

from collections.abc import Mapping

import numpy as np

from quality.acceptance.curves import Curve
from quality.acceptance.evidence import Certainty, Outcome, Row, together
from quality.acceptance.grades import Guarantee, Tolerances
from quality.acceptance.units import Unit
from quality.acceptance.verdicts import (
    CrossRule,
    MissingReadings,
    QuantityVerdict,
    Settings,
    judged,
    unread,
)

CROSS_ROW = Row(
    standard="ISO 9906",
    edition="2012",
    clause="evaluation of flow and head",
    name="the measured curve cuts or touches the tolerance cross; the standard's wording for "
    "one bar or both was not seen, so which is used is a setting",
    certainty=Certainty.MEMORY,
)


def bar_outcomes(
    curve: Curve, guarantee: Guarantee, tolerances: Tolerances
) -> tuple[float | None, tuple[float, ...]]:
    """Head at the guaranteed flow, and the flows at the guaranteed head.

    curve : measured head at rated speed
    guarantee : the guarantee point
    tolerances : decide which of several flows at the guaranteed head counts
    returns : head, None outside the measured range [m]; flows, the one that counts first [m3/s]
    """
    flow, head = guarantee.flow_m3s, guarantee.head_m
    at_flow = curve.at(flow) if curve.covers(flow) else None
    crossings = sorted(
        curve.crossings(level=head),
        key=lambda q: (not tolerances.flow.holds(q / flow - 1), abs(q - flow), q),
    )
    return at_flow, tuple(crossings)


def cross(
    curve: Curve,
    guarantee: Guarantee,
    tolerances: Tolerances,
    settings: Settings,
    units: Mapping[str, Unit],
    missing: list[MissingReadings],
) -> tuple[QuantityVerdict, QuantityVerdict]:
    """Both bars of the tolerance cross.

    curve : measured head at rated speed
    guarantee : the guarantee point
    tolerances : how long the bars are
    settings : whether one bar is enough
    units : for the sentences
    missing : readings that the cross still needs are added here
    returns : verdicts on flow and on head
    """
    flow, head = guarantee.flow_m3s, guarantee.head_m
    measured_head, flows = bar_outcomes(curve, guarantee, tolerances)
    vertical: bool | None = None
    if measured_head is not None:
        vertical = tolerances.head.holds(measured_head / head - 1)
    gap = None
    if flows:
        horizontal: bool | None = tolerances.flow.holds(flows[0] / flow - 1)
    else:
        gap = _bar_not_measured(curve, guarantee, tolerances, units)
        horizontal = None if gap is not None else False
    either = settings.cross is CrossRule.EITHER
    spared_by_head = either and vertical is True and horizontal is not True
    # A guaranteed flow outside the measured range is never waved through by the other bar.
    spared_by_flow = either and horizontal is True and vertical is False
    rule = f"tolerance cross, {settings.cross.value}"
    if measured_head is None and not spared_by_flow:
        missing.append(_about_the_guarantee(curve, guarantee, units))
    if gap is not None and not spared_by_head:
        missing.append(gap)
    if measured_head is not None:
        vertical_verdict = judged(
            "head",
            guaranteed=head,
            measured=measured_head,
            at_flow=flow,
            tolerance=tolerances.head,
            decides=not spared_by_flow,
            rule=f"{rule}: vertical bar at the guaranteed flow",
            row=CROSS_ROW,
            unit=units["head_m"],
        )
    else:
        vertical_verdict = unread(
            "head",
            guaranteed=head,
            tolerance=tolerances.head,
            outcome=Outcome.NOT_JUDGED,
            decides=not spared_by_flow,
            rule=f"{rule}: vertical bar at the guaranteed flow",
            row=CROSS_ROW,
            sentence=_about_the_guarantee(curve, guarantee, units).sentence,
        )
    if flows:
        horizontal_verdict = judged(
            "flow",
            guaranteed=flow,
            measured=flows[0],
            at_flow=flows[0],
            tolerance=tolerances.flow,
            decides=not spared_by_head,
            rule=f"{rule}: horizontal bar at the guaranteed head",
            row=CROSS_ROW,
            unit=units["flow_m3s"],
        )
    else:
        says = (
            "The measured curve does not reach the guaranteed head within the tolerance on flow."
            if gap is None
            else gap.sentence
        )
        horizontal_verdict = unread(
            "flow",
            guaranteed=flow,
            tolerance=tolerances.flow,
            outcome=Outcome.FAILED if gap is None else Outcome.NOT_JUDGED,
            decides=not spared_by_head,
            rule=f"{rule}: horizontal bar at the guaranteed head",
            row=CROSS_ROW,
            sentence=says,
        )
    return horizontal_verdict, vertical_verdict


def cross_outcome(flow: QuantityVerdict, head: QuantityVerdict, settings: Settings) -> Outcome:
    """What both bars come to together.

    flow, head : verdicts on the horizontal and the vertical bar
    settings : whether one bar is enough
    returns : the outcome of the cross
    """
    both = [flow.outcome, head.outcome]
    if settings.cross is CrossRule.BOTH:
        return together(both)
    if head.outcome is Outcome.NOT_JUDGED:
        return Outcome.NOT_JUDGED
    if Outcome.PASSED in both:
        return Outcome.PASSED
    return Outcome.NOT_JUDGED if Outcome.NOT_JUDGED in both else Outcome.FAILED


def _about_the_guarantee(
    curve: Curve, guarantee: Guarantee, units: Mapping[str, Unit]
) -> MissingReadings:
    """The guaranteed flow lies outside what was measured."""
    unit, flow = units["flow_m3s"], guarantee.flow_m3s
    side = "above" if curve.highest < flow else "below"
    reach = curve.highest if side == "above" else curve.lowest
    return MissingReadings(
        count=1,
        lowest_m3s=flow,
        highest_m3s=1.1 * flow if side == "above" else flow,
        sentence=(
            f"The guaranteed flow of {unit.show(flow)} lies outside the measured range, which ends "
            f"at {unit.show(reach)} at rated speed; take at least one reading at or {side} it."
        ),
    )


def _bar_not_measured(
    curve: Curve, guarantee: Guarantee, tolerances: Tolerances, units: Mapping[str, Unit]
) -> MissingReadings | None:
    """The part of the horizontal bar that no reading covers, None when it is covered."""
    flow, head, unit = guarantee.flow_m3s, guarantee.head_m, units["flow_m3s"]
    low = flow * (1 - (tolerances.flow.minus or 0.0))
    high = flow * (1 + (tolerances.flow.plus or 0.0))
    # All measured heads lie on one side of the guaranteed head, since nothing crosses it.
    if curve.value[-1] > head and not curve.covers(high) and curve.highest < high:
        return MissingReadings(
            count=1,
            lowest_m3s=high,
            highest_m3s=high,
            sentence=(
                f"The guaranteed head is not reached up to {unit.show(curve.highest)}; to judge "
                f"the flow at that head, take readings up to {unit.show(high)} at rated speed."
            ),
        )
    if curve.value[0] < head and not curve.covers(low) and curve.lowest > low:
        return MissingReadings(
            count=1,
            lowest_m3s=low,
            highest_m3s=low,
            sentence=(
                f"The head stays below the guarantee down to {unit.show(curve.lowest)}; to judge "
                f"the flow at that head, take readings down to {unit.show(low)} at rated speed."
            ),
        )
    return None


def too_few(
    curve: Curve, guarantee: Guarantee, tolerances: Tolerances, units: Mapping[str, Unit]
) -> MissingReadings | None:
    """Readings still needed about the guarantee point.

    curve : measured head at rated speed
    guarantee : the guarantee point
    tolerances : how many are needed, and where
    units : for the sentence
    returns : how many and where, None when there are enough
    """
    rule, unit = tolerances.points, units["flow_m3s"]
    low, high = rule.lowest * guarantee.flow_m3s, rule.highest * guarantee.flow_m3s
    slack = 1e-9 * guarantee.flow_m3s
    there = int(np.count_nonzero((curve.flow >= low - slack) & (curve.flow <= high + slack)))
    if there >= rule.needed:
        return None
    short = rule.needed - there
    return MissingReadings(
        count=short,
        lowest_m3s=low,
        highest_m3s=high,
        sentence=(
            f"{there} of the {rule.needed} readings that are required between {unit.show(low)} "
            f"and {unit.show(high)} at rated speed were taken; take {short} more there, at flows "
            "that differ."
        ),
    )
