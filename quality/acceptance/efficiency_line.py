"""Efficiency and power, read where the line from the origin meets the measured curve.

The straight line from no flow and no head through the guarantee point is the system that the
guarantee point lies on. Where it meets the measured head curve the pump would run, and there its
efficiency or power is compared with the guarantee.
"""

from collections.abc import Mapping

import numpy as np

from quality.acceptance.curves import Curve, curve_through, nearest
from quality.acceptance.evidence import Certainty, Outcome, Row
from quality.acceptance.grades import Guarantee, Tolerance, Tolerances
from quality.acceptance.rated_speed import RatedPoints
from quality.acceptance.readings import Floats
from quality.acceptance.units import Unit
from quality.acceptance.verdicts import (
    MissingReadings,
    QuantityVerdict,
    Settings,
    judged,
    unread,
)

LINE_ROW = Row(
    standard="ISO 9906",
    edition="2012",
    clause="evaluation of efficiency and power",
    name="read where the line from the origin through the guarantee point meets the measured "
    "head curve; whether grades E and U use another flow was not confirmed, one line serves all",
    certainty=Certainty.CONFIRMED_2ND,
)

BEYOND, BELOW = (1.05, 1.2), (0.8, 0.95)
"""Where to look for the line beyond an end of the curve, as shares of the flow at that end."""
RULE = "line from the origin through the guarantee point, read on the measured curve"


def along_the_line(
    head: Curve,
    rated: RatedPoints,
    guarantee: Guarantee,
    tolerances: Tolerances,
    settings: Settings,
    units: Mapping[str, Unit],
    missing: list[MissingReadings],
) -> list[QuantityVerdict]:
    """Efficiency and power where the line from the origin meets the head curve.

    head : measured at rated speed
    rated : points at rated speed
    guarantee : with efficiency, power, both or neither
    tolerances : the limits
    settings : the curve to judge by
    units : for the sentences
    missing : readings that are still needed are added here
    returns : a verdict for each that is guaranteed
    """
    asked: list[tuple[str, float, Tolerance | None, Floats, Unit]] = []
    if guarantee.efficiency is not None:
        percent = Unit(symbol="%", factor=0.01)
        limit = tolerances.efficiency
        asked.append(("efficiency", guarantee.efficiency, limit, rated.efficiency, percent))
    if guarantee.power_w is not None:
        kind = units["shaft_power_w"]
        asked.append(("power", guarantee.power_w, tolerances.power, rated.power, kind))
    if not asked:
        return []
    line = guarantee.head_m / guarantee.flow_m3s
    meets = nearest(head.crossings(slope=line), guarantee.flow_m3s)
    read = np.isfinite(rated.power)
    verdicts = []
    for name, guaranteed, tolerance, values, unit in asked:
        why = _unreadable(name, meets, head, rated, tolerance, guarantee, units, missing)
        if why or meets is None or tolerance is None:
            verdicts.append(
                unread(
                    name,
                    guaranteed=guaranteed,
                    tolerance=tolerance,
                    outcome=Outcome.NOT_JUDGED,
                    decides=True,
                    rule=RULE,
                    row=LINE_ROW,
                    sentence=f"{name.capitalize()} is not judged: {why}",
                )
            )
            continue
        curve = curve_through(name, rated.flow[read], values[read], settings.pieces)
        verdicts.append(
            judged(
                name,
                guaranteed=guaranteed,
                measured=curve.at(meets),
                at_flow=meets,
                tolerance=tolerance,
                decides=True,
                rule=RULE,
                row=LINE_ROW,
                unit=unit,
            )
        )
    return verdicts


def _unreadable(
    name: str,
    meets: float | None,
    head: Curve,
    rated: RatedPoints,
    tolerance: Tolerance | None,
    guarantee: Guarantee,
    units: Mapping[str, Unit],
    missing: list[MissingReadings],
) -> str:
    """Why a quantity cannot be read off, empty when it can."""
    unit = units["flow_m3s"]
    if tolerance is None:
        return f"neither the grade nor the contract gives a tolerance on {name}."
    if meets is None:
        line = guarantee.head_m / guarantee.flow_m3s
        beyond = head.value[-1] > line * head.highest
        end, way = (head.highest, "above") if beyond else (head.lowest, "below")
        says = (
            "the line from the origin through the guarantee point does not meet the measured head "
            f"curve, which ends at {unit.show(end)}; take a reading {way} that flow."
        )
        low, high = BEYOND if beyond else BELOW
        missing.append(
            MissingReadings(count=1, lowest_m3s=low * end, highest_m3s=high * end, sentence=says)
        )
        return says
    read = np.isfinite(rated.power)
    flows = rated.flow[read]
    if len(np.unique(flows)) < 2 or not flows.min() <= meets <= flows.max():
        says = (
            f"it has to be read at {unit.show(meets)}, and power was not measured on both sides "
            "of that flow."
        )
        missing.append(MissingReadings(count=1, lowest_m3s=meets, highest_m3s=meets, sentence=says))
        return says
    if not rated.efficiency_holds:
        return (
            "the speed lay too far from rated speed for efficiency to be taken as unchanged; "
            "agree a correction, or repeat the test nearer to rated speed."
        )
    return ""
