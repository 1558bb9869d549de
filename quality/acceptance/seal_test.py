"""The leakage test of mechanical seals on the assembled pump.

The pressure is the lowest of the highest pressure in the box, the seal's static limit and the
rating of the weakest part. Packing leaks by design and is not tested. The test comes after the
performance test, and again whenever the seal has been disturbed.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from quality.acceptance.errors import BadTestRecord, NotANumber, TestNotAllowed
from quality.acceptance.evidence import Certainty, Outcome, Row, distinct, least_certain
from quality.acceptance.instruments import Instrument, validity
from quality.acceptance.units import Unit
from selection.configuration import Configuration, Sealing

BAR = Unit(symbol="bar", factor=1e5)

PRESSURE_ROW = Row(
    standard="works practice",
    clause="seal leakage test",
    name="pressure is the lowest of the highest box pressure, the seal's static limit and the "
    "weakest part's rating",
    certainty=Certainty.COMMON_PRACTICE,
)
CRITERION_ROW = Row(
    standard="works practice",
    clause="seal leakage test",
    name="no visible leakage at the seal, unless the contract allows drops; after the performance "
    "test and whenever the seal has been disturbed",
    certainty=Certainty.COMMON_PRACTICE,
)
USUAL_DURATION_S = 600.0
"""Ten minutes under pressure where the contract says nothing [s]; common practice."""


@dataclass(frozen=True, kw_only=True)
class SealPressure:
    """The pressure to test seals at and what sets it.

    pressure_pa : gauge [Pa]
    set_by : which of the limits is the lowest
    sentence : all limits in words
    """

    pressure_pa: float
    set_by: str
    sentence: str


@dataclass(frozen=True, kw_only=True)
class SealRecord:
    """A seal leakage test as recorded.

    on : the day
    gauge : that was read, its unit bar or Pa
    start_pa, end_pa : gauge pressures [Pa]
    held_s : time under pressure [s]
    drops_per_min : at each seal, named by its side [1/min]
    """

    on: date
    gauge: Instrument
    start_pa: float
    end_pa: float
    held_s: float
    drops_per_min: Mapping[str, float]


@dataclass(frozen=True, kw_only=True)
class SealVerdict:
    """What a seal leakage test came to.

    outcome : of the test
    required_pa, required_s : what was asked [Pa], [s]
    reasons : in sentences
    rows : used
    """

    outcome: Outcome
    required_pa: float
    required_s: float
    reasons: tuple[str, ...]
    rows: tuple[Row, ...]

    @property
    def certainty(self) -> Certainty:
        """The lowest certainty among the rows used."""
        return least_certain(self.rows)


def seal_pressure(
    configuration: Configuration, ratings_pa: Mapping[str, float], *, unit: Unit = BAR
) -> SealPressure:
    """The pressure to test the seals of a pump at.

    configuration : the pump as chosen
    ratings_pa : of the parts under this pressure, by name, > 0, gauge [Pa]
    unit : for the sentence
    returns : the lowest of all limits
    raises : TestNotAllowed with packing, BadTestRecord without the seal's limit, NotANumber
    """
    if configuration.sealing is not Sealing.MECHANICAL_SEAL:
        raise TestNotAllowed(
            test="A seal leakage test",
            reason="the pump has gland packing, which leaks by design; only mechanical seals are "
            "tested",
        )
    if configuration.seal_static_limit_pa is None:
        raise BadTestRecord(
            what="The seal leakage test",
            reason="the choice does not say the seal's static pressure limit; ask its maker",
        )
    if not ratings_pa:
        raise BadTestRecord(
            what="The seal leakage test",
            reason="no part's pressure rating was given; the weakest part may set the pressure",
        )
    limits = {
        "highest box pressure": configuration.box_pressure_max_pa,
        "seal's static limit": configuration.seal_static_limit_pa,
        **{f"rating of {part}": rating for part, rating in ratings_pa.items()},
    }
    for what, value in limits.items():
        if not (math.isfinite(value) and value > 0):
            raise NotANumber(what=f"The {what}", value=value, right="above zero")
    set_by = min(limits, key=lambda name: (limits[name], name))
    words = "; ".join(f"{what} {unit.show(value)}" for what, value in limits.items())
    return SealPressure(
        pressure_pa=limits[set_by],
        set_by=set_by,
        sentence=f"Test at {unit.show(limits[set_by])}, the {set_by}; limits: {words}.",
    )


def judge_seal_test(
    record: SealRecord,
    *,
    required: SealPressure,
    performance_test_done: bool,
    duration_s: float = USUAL_DURATION_S,
    allowed_drops_per_min: float = 0.0,
    unit: Unit = BAR,
) -> SealVerdict:
    """Judge a seal leakage test.

    record : as taken
    required : the pressure to test at
    performance_test_done : the pump has had its performance test and was not opened since
    duration_s : least time under pressure [s]
    allowed_drops_per_min : by the contract, at each seal [1/min]
    unit : for the sentences
    returns : the verdict; not judged while the test itself does not count
    raises : TestNotAllowed before the performance test, BadTestRecord, NotANumber
    """
    if not performance_test_done:
        raise TestNotAllowed(
            test="A seal leakage test",
            reason="the performance test comes first: running may disturb the seal",
        )
    for what, value in (
        ("The pressure at the start", record.start_pa),
        ("The pressure at the end", record.end_pa),
        ("The time under pressure", record.held_s),
        *((f"The drops at the {side}", drops) for side, drops in record.drops_per_min.items()),
    ):
        if not (math.isfinite(value) and value >= 0):
            raise NotANumber(what=what, value=value, right="zero or more")
    if not record.drops_per_min:
        raise BadTestRecord(
            what="The seal leakage test", reason="no seal was looked at; give each side's drops"
        )
    unfit = []
    state = validity(record.gauge, record.on)
    if not state.valid:
        unfit.append(state.sentence)
    if record.start_pa < required.pressure_pa:
        unfit.append(
            f"The test began at {unit.show(record.start_pa)}, below the "
            f"{unit.show(required.pressure_pa)} asked."
        )
    if record.held_s < duration_s:
        unfit.append(
            f"The pressure was held for {record.held_s / 60:g} min; {duration_s / 60:g} min are "
            "asked."
        )
    failures = [
        f"{drops:g} drops a minute at the {side}; {allowed_drops_per_min:g} are allowed."
        for side, drops in record.drops_per_min.items()
        if drops > allowed_drops_per_min
    ]
    if record.start_pa >= required.pressure_pa > record.end_pa:
        failures.append(
            f"The pressure fell to {unit.show(record.end_pa)}, below the "
            f"{unit.show(required.pressure_pa)} asked."
        )
    over = max(record.start_pa, record.end_pa)
    notes = []
    if over > required.pressure_pa * 1.05:
        notes.append(
            f"The pressure stood at {unit.show(over)}, above the {required.set_by}: look the seal "
            "and that part over before the pump is used."
        )
    outcome = Outcome.FAILED if failures else Outcome.NOT_JUDGED if unfit else Outcome.PASSED
    passed = [] if failures or unfit else ["No leakage beyond what is allowed."]
    return SealVerdict(
        outcome=outcome,
        required_pa=required.pressure_pa,
        required_s=duration_s,
        reasons=(*failures, *unfit, *passed, *notes),
        rows=distinct([PRESSURE_ROW, CRITERION_ROW]),
    )
