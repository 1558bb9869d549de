"""Measured values against their limits: one way for every dimension, clearance or run-out.

The decision rule stands with each value. One that lies inside the uncertainty of its limit is
neither passed nor failed: it is measured again with a better instrument, or put to the buyer.
"""

from dataclasses import dataclass
from typing import Any

from quality.acceptance.decision import Decision, Limits, Measured, judge_record
from quality.acceptance.errors import BadTestRecord
from quality.acceptance.instruments import Instrument
from quality.judging.verdict import Judged, judged


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

    raises : AcceptanceError for values without limits, of an instrument not named or of another
        unit than its instrument's
    """
    by_tag = {instrument.tag: instrument for instrument in inputs.instruments}
    verdict = judge_record([_measured(value, by_tag) for value in inputs.values])
    return judged(
        verdict.outcome,
        reasons=verdict.reasons,
        rows=verdict.rows,
        values=[_kept(decision) for decision in verdict.decisions],
    )


def _measured(value: Value, instruments: dict[str, Instrument]) -> Measured:
    if value.instrument not in instruments:
        raise BadTestRecord(
            what=value.what,
            reason=f"instrument {value.instrument!r} is not one of this record's",
        )
    return Measured(
        limits=Limits(what=value.what, unit=value.unit, lowest=value.lowest, highest=value.highest),
        value=value.measured,
        instrument=instruments[value.instrument],
    )


def _kept(decision: Decision) -> dict[str, Any]:
    return {
        "what": decision.limits.what,
        "unit": decision.limits.unit,
        "lowest": decision.limits.lowest,
        "highest": decision.limits.highest,
        "measured": decision.value,
        "instrument": decision.instrument,
        "uncertainty": decision.expanded,
        "stand": str(decision.stand),
        "rule": str(decision.rule),
    }
