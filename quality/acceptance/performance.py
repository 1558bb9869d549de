"""The verdict on a performance test at its guarantee point.

Readings are looked over, brought to rated speed and judged: flow and head by the tolerance cross,
efficiency or power along the line through the origin. Both signed deviations of the cross are
always reported. What was not measured is not judged, and the verdict says which readings are
missing.
"""

from collections.abc import Mapping, Sequence

import numpy as np

from quality.acceptance.cross import cross, cross_outcome, too_few
from quality.acceptance.curves import curve_through
from quality.acceptance.efficiency_line import along_the_line
from quality.acceptance.errors import NoReadings, UnusableReadings
from quality.acceptance.evidence import Outcome, distinct, together
from quality.acceptance.grades import Guarantee, Tolerances
from quality.acceptance.rated_speed import RatedPoints, SpeedLimits, bring_to_rated
from quality.acceptance.readings import Point, Reading, SetUp, points_of
from quality.acceptance.remarks import Remark, look_over, stopping
from quality.acceptance.units import SI_UNITS, Unit
from quality.acceptance.verdicts import (
    MissingReadings,
    PerformanceVerdict,
    QuantityVerdict,
    Settings,
)


def judge_readings(
    readings: Sequence[Reading],
    set_up: SetUp,
    guarantee: Guarantee,
    tolerances: Tolerances,
    *,
    limits: SpeedLimits,
    settings: Settings | None = None,
    units: Mapping[str, Unit] = SI_UNITS,
) -> PerformanceVerdict:
    """Look the readings over, bring them to rated speed and judge them.

    readings : as typed, in the order taken
    set_up : of the run
    guarantee : what is guaranteed
    tolerances : limits of grade or contract
    limits : permitted ranges of speed
    settings : how the house judges
    units : in which values were typed, for the sentences
    returns : the verdict, with every remark on the readings
    raises : NoReadings, UnusableReadings, SpeedOutsidePermittedRange
    """
    if not readings:
        raise NoReadings(needed=tolerances.points.needed)
    remarks = look_over(readings, set_up, units)
    if stops := stopping(remarks):
        raise UnusableReadings(
            count=len({number for remark in stops for number in remark.readings}),
            reasons=" ".join(remark.sentence for remark in stops),
            remarks=stops,
        )
    return judge(
        points_of(readings, set_up),
        guarantee,
        tolerances,
        limits=limits,
        settings=settings,
        remarks=remarks,
        units=units,
    )


def judge(
    points: Sequence[Point],
    guarantee: Guarantee,
    tolerances: Tolerances,
    *,
    limits: SpeedLimits,
    settings: Settings | None = None,
    remarks: Sequence[Remark] = (),
    units: Mapping[str, Unit] = SI_UNITS,
) -> PerformanceVerdict:
    """Judge points at test speed against a guarantee.

    points : of the pump, at test speed
    guarantee : what is guaranteed
    tolerances : limits of grade or contract
    limits : permitted ranges of speed
    settings : how the house judges
    remarks : on the readings, kept with the verdict
    units : for the sentences
    returns : the verdict
    raises : NoReadings, NonPositiveSpeed, SpeedOutsidePermittedRange, CurveTooShort
    source : ISO 9906:2012, evaluation of the guarantee point (secondary texts)
    """
    settings = settings or Settings()
    shown = {**SI_UNITS, **units}
    rated = bring_to_rated(
        points,
        rated_speed_rpm=guarantee.speed_rpm,
        rated_density_kg_m3=guarantee.density_kg_m3,
        limits=limits,
    )
    head = curve_through("head", rated.flow, rated.head, settings.pieces)
    missing: list[MissingReadings] = []
    quantities = list(cross(head, guarantee, tolerances, settings, shown, missing))
    quantities += along_the_line(head, rated, guarantee, tolerances, settings, shown, missing)
    count = too_few(head, guarantee, tolerances, shown)
    outcome = together(
        [
            cross_outcome(quantities[0], quantities[1], settings),
            *(q.outcome for q in quantities[2:]),
        ]
    )
    reasons = [q.sentence for q in sorted(quantities, key=_deciding)]
    if count is not None:
        if settings.minimum_points:
            missing.insert(0, count)
            outcome = Outcome.NOT_JUDGED
            reasons.insert(0, count.sentence)
        else:
            reasons.append(count.sentence)
    rows = distinct([*(r for q in quantities for r in q.rows), *rated.rows, tolerances.points.row])
    shut = head.lowest <= 1e-6 * head.highest
    return PerformanceVerdict(
        outcome=outcome,
        quantities=tuple(quantities),
        tolerances=tolerances,
        settings=settings,
        points=rated,
        missing=tuple(missing),
        remarks=tuple(remarks),
        reasons=(*reasons, *rated.sentences, f"Curve for judgement: {settings.pieces.value}."),
        rows=rows,
        best_efficiency=_best_efficiency(rated, settings),
        shutoff_head_m=float(head.value[0]) if shut else None,
    )


def _deciding(verdict: QuantityVerdict) -> tuple[int, int]:
    order = [Outcome.FAILED, Outcome.NOT_JUDGED, Outcome.PASSED]
    return (0 if verdict.decides else 1, order.index(verdict.outcome))


def _best_efficiency(rated: RatedPoints, settings: Settings) -> tuple[float, float] | None:
    read = np.isfinite(rated.efficiency)
    if len(np.unique(rated.flow[read])) < 3:
        return None
    curve = curve_through("efficiency", rated.flow[read], rated.efficiency[read], settings.pieces)
    return curve.peak()
