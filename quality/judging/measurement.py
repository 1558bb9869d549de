"""Measured values against their limits: one way for every dimension, clearance or run-out.

The decision rule is said with each value: inside the limits by more than the instrument's
uncertainty passes, outside by more than it fails, and in between the value is inside the
uncertainty of the limit, which is said and left to the engineer.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from quality.acceptance.errors import BadTestRecord
from quality.acceptance.evidence import Certainty, Outcome, Row, together
from quality.acceptance.instruments import Instrument
from quality.judging.verdict import Judged, judged

DECISION_ROW = Row(
    standard="ISO 14253-1",
    name="conformity is proved inside the limits reduced by the uncertainty of measurement, "
    "non-conformity outside the limits widened by it",
    certainty=Certainty.MEMORY,
)


class Stand(StrEnum):
    """Where a value stands towards its limits."""

    WITHIN = "within"
    OUTSIDE = "outside"
    UNCERTAIN = "inside the uncertainty of the limit"


@dataclass(frozen=True, kw_only=True)
class Value:
    """One measured value.

    what : the characteristic, as the drawing names it
    unit : of all figures
    lowest, highest : limits, None where there is none; at least one
    measured : [unit]
    instrument : tag of the one used, one of the record's
    """

    what: str
    unit: str
    lowest: float | None
    highest: float | None
    measured: float
    instrument: str


@dataclass(frozen=True, kw_only=True)
class MeasurementInputs:
    """Everything that the verdict of a measured record is computed from."""

    values: tuple[Value, ...]
    instruments: tuple[Instrument, ...]


def judge_measurement(inputs: MeasurementInputs) -> Judged:
    """Judge every value against its limits.

    raises : AcceptanceError for values without limits or of an instrument not named
    """
    if not inputs.values:
        raise BadTestRecord(what="The measured record", reason="no value was given")
    by_tag = {instrument.tag: instrument for instrument in inputs.instruments}
    stands = [_stand(value, by_tag) for value in inputs.values]
    outcome = together(
        {
            Stand.WITHIN: Outcome.PASSED,
            Stand.OUTSIDE: Outcome.FAILED,
            Stand.UNCERTAIN: Outcome.NOT_JUDGED,
        }[stand]
        for stand, _ in stands
    )
    worst_first = [Stand.OUTSIDE, Stand.UNCERTAIN, Stand.WITHIN]
    decided = sorted(
        zip(inputs.values, stands, strict=True), key=lambda pair: worst_first.index(pair[1][0])
    )
    reasons = [
        f"{value.what}: {value.measured:g} {value.unit}, {_limits(value)}; {stand} "
        f"(uncertainty {u:.2g} {value.unit})."
        for value, (stand, u) in decided
    ]
    return judged(
        outcome,
        reasons=reasons,
        rows=[DECISION_ROW],
        values=[
            {
                "what": value.what,
                "unit": value.unit,
                "lowest": value.lowest,
                "highest": value.highest,
                "measured": value.measured,
                "instrument": value.instrument,
                "uncertainty": u,
                "stand": str(stand),
            }
            for value, (stand, u) in zip(inputs.values, stands, strict=True)
        ],
    )


def _stand(value: Value, instruments: dict[str, Instrument]) -> tuple[Stand, float]:
    """Where a value stands, and the expanded uncertainty of it in its unit."""
    if value.lowest is None and value.highest is None:
        raise BadTestRecord(what=value.what, reason="it has no limit to be judged against")
    low = -math.inf if value.lowest is None else value.lowest
    high = math.inf if value.highest is None else value.highest
    if low > high:
        raise BadTestRecord(
            what=value.what, reason=f"its lowest limit {low:g} lies above its highest {high:g}"
        )
    if value.instrument not in instruments:
        raise BadTestRecord(
            what=value.what,
            reason=f"instrument {value.instrument!r} is not one of this record's",
        )
    u = instruments[value.instrument].expanded_at(value.measured)
    if low + u <= value.measured <= high - u:
        return Stand.WITHIN, u
    if value.measured < low - u or value.measured > high + u:
        return Stand.OUTSIDE, u
    return Stand.UNCERTAIN, u


def _limits(value: Value) -> str:
    if value.lowest is None:
        return f"at most {value.highest:g} {value.unit}"
    if value.highest is None:
        return f"at least {value.lowest:g} {value.unit}"
    return f"{value.lowest:g} to {value.highest:g} {value.unit}"
