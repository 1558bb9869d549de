"""The hydrostatic test of a casing: how hard, how long, with what, and what it came to.

Test pressure is a factor times the highest working pressure, raised in steps and held for the
time of the rule, the casing dry outside. Water at a flange, a plug or a joint means remaking and
repeating; water through the body of a casting is a major nonconformance, and so is a stud or a
tapped hole that still leaks after it was remade. This verdict is no permission to pressurise.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from quality.acceptance.errors import BadTestRecord, NotANumber
from quality.acceptance.evidence import (
    Certainty,
    Outcome,
    Row,
    distinct,
    least_certain,
)
from quality.acceptance.instruments import Instrument, validity
from quality.acceptance.pressures import BAR, GaugeRange, PressureRule, TestPressure
from quality.acceptance.units import Unit

CRITERION_ROW = Row(
    standard="API 610",
    clause="hydrostatic test",
    name="no visible leakage through the casing or at joints, no permanent deformation; seepage at "
    "temporary closures that does not prevent holding the pressure is allowed",
    certainty=Certainty.CONFIRMED_2ND,
)
TWO_GAUGES_ROW = Row(
    standard="works practice",
    clause="hydrostatic test",
    name="two gauges, which agree within their uncertainty",
    certainty=Certainty.COMMON_PRACTICE,
)
BODY_ROW = Row(
    standard="works practice",
    clause="hydrostatic test",
    name="water through the body of a casting, or a stud or tapped hole that leaks after remaking, "
    "is a major nonconformance",
    certainty=Certainty.COMMON_PRACTICE,
)


class Place(StrEnum):
    """What leaked, as it is marked on the outline."""

    FLANGE = "flange"
    STUD = "stud"
    PLUG = "plug"
    JOINT = "split joint"
    TAPPED_HOLE = "tapped hole"
    TEMPORARY_CLOSURE = "temporary closure"
    BODY = "body"
    CHANGE_OF_SECTION = "change of section"


THROUGH_THE_BODY = {Place.BODY, Place.CHANGE_OF_SECTION}
BODY_AFTER_REMAKING = {Place.STUD, Place.TAPPED_HOLE}
AFTER_REMAKING = " again after remaking, which counts as the body"


class LeakKind(StrEnum):
    """How much came."""

    SWEATING = "sweating"
    DROPS = "drops"
    JET = "jet"


@dataclass(frozen=True, kw_only=True)
class Leak:
    """One leak as seen.

    place : what leaked
    where : on the outline, in words or coordinates
    kind : how much came
    remade : True when the place had been remade before and leaks again
    """

    place: Place
    where: str
    kind: LeakKind = LeakKind.DROPS
    remade: bool = False

    @property
    def through_body(self) -> bool:
        """Water came through the casting, or a thread that remaking did not cure."""
        return self.place in THROUGH_THE_BODY or (self.remade and self.place in BODY_AFTER_REMAKING)


@dataclass(frozen=True, kw_only=True)
class GaugeReading:
    """What one gauge showed.

    gauge : the instrument, its unit bar, Pa, kPa, MPa or psi
    start_pa, end_pa : at the start and the end of the time under pressure, gauge [Pa]
    """

    gauge: Instrument
    start_pa: float
    end_pa: float


@dataclass(frozen=True, kw_only=True)
class PressureRecord:
    """A hydrostatic test as recorded.

    on : the day
    gauges : both, or however many there were
    held_s : time under test pressure [s]
    leaks : as seen
    deformed : permanent deformation was found
    water_temperature_k : None when not read [K]
    chloride_mg_kg : in the test water, None when not measured [mg/kg]
    """

    on: date
    gauges: tuple[GaugeReading, ...]
    held_s: float
    leaks: tuple[Leak, ...] = ()
    deformed: bool = False
    water_temperature_k: float | None = None
    chloride_mg_kg: float | None = None


@dataclass(frozen=True, kw_only=True)
class PressureVerdict:
    """What a hydrostatic test came to.

    outcome : of the test
    major : a major nonconformance has to be opened, and repair is blocked until the buyer's
        written approval is recorded
    repeat : the test has to be done again, once what failed is put right
    required_pa, required_s : what was asked [Pa], [s]
    reasons : in sentences, deciding ones first
    to_do : what follows, in sentences
    rows : of standards used
    """

    outcome: Outcome
    major: bool
    repeat: bool
    required_pa: float
    required_s: float
    reasons: tuple[str, ...]
    to_do: tuple[str, ...]
    rows: tuple[Row, ...]

    @property
    def certainty(self) -> Certainty:
        """The lowest certainty among the rows used."""
        return least_certain(self.rows)


def judge_pressure_test(
    record: PressureRecord,
    *,
    required: TestPressure,
    rule: PressureRule,
    gauge_range: GaugeRange,
    duration_s: float | None = None,
    chloride_limit: tuple[float, Row] | None = None,
    weldable: bool = True,
    unit: Unit = BAR,
) -> PressureVerdict:
    """Judge a hydrostatic test.

    record : as taken
    required : the pressure to test at
    rule : by which the test is done
    gauge_range : how large the gauges must be
    duration_s : the contract's own time, None for the rule's [s]
    chloride_limit : highest chloride of the test water [mg/kg] and its row, for austenitic steel
    weldable : False for metals whose pressure parts are not welded, such as grey iron
    unit : for the sentences
    returns : the verdict; not judged while the test itself does not count
    raises : BadTestRecord, NotANumber
    """
    _check(record)
    asked_s = rule.duration_s if duration_s is None else max(duration_s, rule.duration_s)
    rows = [*required.rows, rule.row, CRITERION_ROW, TWO_GAUGES_ROW, gauge_range.row]
    unfit = [
        *_gauges_unfit(record, required, gauge_range, unit),
        *_not_done(record, required, asked_s, unit),
    ]
    if chloride_limit is not None and record.chloride_mg_kg is not None:
        highest, row = chloride_limit
        rows.append(row)
        if record.chloride_mg_kg > highest:
            unfit.append(
                f"The test water held {record.chloride_mg_kg:g} mg/kg of chloride, above the "
                f"{highest:g} mg/kg allowed for austenitic steel: drain, flush and dry at once."
            )
    failures, to_do, major = _leaks(record, weldable)
    if major:
        rows.append(BODY_ROW)
    lost = [
        f"Gauge {g.gauge.tag} fell from {unit.show(g.start_pa)} to {unit.show(g.end_pa)}, below "
        f"the test pressure of {unit.show(required.pressure_pa)}: the pressure was not held."
        for g in record.gauges
        if g.start_pa >= required.pressure_pa > g.end_pa
    ]
    failures += lost
    outcome = Outcome.FAILED if failures else Outcome.NOT_JUDGED if unfit else Outcome.PASSED
    passed = (
        f"Held for {record.held_s / 60:g} min at {unit.show(required.pressure_pa)} or more, no "
        "leak through the casing or at a joint."
    )
    allowed = [
        f"Seepage at a temporary closure ({leak.where}) did not prevent holding the pressure."
        for leak in record.leaks
        if leak.place is Place.TEMPORARY_CLOSURE
    ]
    return PressureVerdict(
        outcome=outcome,
        major=major,
        repeat=outcome is not Outcome.PASSED,
        required_pa=required.pressure_pa,
        required_s=asked_s,
        reasons=(*failures, *unfit, *(() if failures or unfit else (passed,)), *allowed),
        to_do=tuple(to_do),
        rows=distinct(rows),
    )


def _check(record: PressureRecord) -> None:
    if not record.gauges:
        raise BadTestRecord(what="The pressure test", reason="no gauge was read")
    if not (math.isfinite(record.held_s) and record.held_s > 0):
        raise NotANumber(what="The time under pressure", value=record.held_s, right="above zero")
    for reading in record.gauges:
        for value in (reading.start_pa, reading.end_pa):
            if not (math.isfinite(value) and value >= 0):
                raise NotANumber(
                    what=f"A pressure of gauge {reading.gauge.tag}",
                    value=value,
                    right="zero or more",
                )
    tags = [reading.gauge.tag for reading in record.gauges]
    if len(set(tags)) < len(tags):
        raise BadTestRecord(
            what="The pressure test", reason=f"one gauge stands twice: {', '.join(tags)}"
        )


PASCALS = {"Pa": 1.0, "kPa": 1e3, "bar": 1e5, "MPa": 1e6, "psi": 6894.757}


def _in_pascal(gauge: Instrument, value: float) -> float:
    if gauge.unit not in PASCALS:
        raise BadTestRecord(
            what=f"Gauge {gauge.tag}",
            reason=f"its unit {gauge.unit!r} is no unit of pressure known here; known are "
            f"{', '.join(PASCALS)}",
        )
    return value * PASCALS[gauge.unit]


def _gauges_unfit(
    record: PressureRecord, required: TestPressure, allowed: GaugeRange, unit: Unit
) -> list[str]:
    """Why the gauges prove nothing, or not enough."""
    says = []
    if len(record.gauges) < 2:
        says.append("Only one gauge was read; two are asked, so that one stuck gauge is noticed.")
    for reading in record.gauges:
        gauge = reading.gauge
        state = validity(gauge, record.on)
        if not state.valid:
            says.append(state.sentence)
        top = _in_pascal(gauge, gauge.highest)
        low, high = (
            allowed.lowest * required.pressure_pa,
            allowed.highest * required.pressure_pa,
        )
        if not low * (1 - 1e-9) <= top <= high * (1 + 1e-9):
            ends = f"ends at {unit.show(top)}" if math.isfinite(top) else "has no range on record"
            says.append(
                f"Gauge {gauge.tag} {ends}; it must end between "
                f"{unit.show(low)} and {unit.show(high)}, {allowed.lowest:g} to "
                f"{allowed.highest:g} times the test pressure."
            )
    for one, other in zip(record.gauges, record.gauges[1:], strict=False):
        for when in ("start", "end"):
            a, b = getattr(one, f"{when}_pa"), getattr(other, f"{when}_pa")
            apart = math.hypot(_expanded_pa(one.gauge, a), _expanded_pa(other.gauge, b))
            if abs(a - b) > apart + 1e-6:
                says.append(
                    f"At the {when} gauges {one.gauge.tag} and {other.gauge.tag} differ by "
                    f"{unit.show(abs(a - b))}, more than their uncertainty of {unit.show(apart)}: "
                    "one of them is wrong."
                )
    return says


def _expanded_pa(gauge: Instrument, value_pa: float) -> float:
    factor = _in_pascal(gauge, 1.0)
    return gauge.expanded_at(value_pa / factor) * factor


def _not_done(
    record: PressureRecord, required: TestPressure, asked_s: float, unit: Unit
) -> list[str]:
    """Why the test has not been done as asked."""
    says = [
        f"Gauge {g.gauge.tag} showed {unit.show(g.start_pa)} at the start, below the test pressure "
        f"of {unit.show(required.pressure_pa)}: raise it and start the time again."
        for g in record.gauges
        if g.start_pa < required.pressure_pa
    ]
    if record.held_s < asked_s:
        says.append(
            f"The pressure was held for {record.held_s / 60:g} min; {asked_s / 60:g} min are asked."
        )
    return says


def _leaks(record: PressureRecord, weldable: bool) -> tuple[list[str], list[str], bool]:
    """Failures, what follows from them, and whether one is major."""
    failures: list[str] = []
    to_do: list[str] = []
    through = [leak for leak in record.leaks if leak.through_body]
    at_joints: Sequence[Leak] = [
        leak
        for leak in record.leaks
        if not leak.through_body and leak.place is not Place.TEMPORARY_CLOSURE
    ]
    failures += [
        f"Water through the casting: {leak.kind.value} at {leak.place.value} ({leak.where})"
        f"{'' if leak.place in THROUGH_THE_BODY else AFTER_REMAKING}."
        for leak in through
    ]
    failures += [
        f"{leak.kind.value.capitalize()} at {leak.place.value} ({leak.where}), not through the "
        "body."
        for leak in at_joints
    ]
    if record.deformed:
        failures.append("The casing is permanently deformed.")
    major = bool(through) or record.deformed
    if major:
        to_do.append(
            "Tag the casing and set it apart; open a major nonconformance. No repair before the "
            "buyer has agreed in writing; scrapping and recasting may start at once."
        )
        if not weldable:
            to_do.append("Pressure parts of this metal are not welded.")
    if at_joints:
        to_do.append(
            "Let the pressure down, remake the places that leaked, and repeat the whole test; a "
            "stud or tapped hole that leaks again counts as the body."
        )
    return failures, to_do, major
