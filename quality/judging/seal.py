"""The leakage test of mechanical seals, after the performance test."""

from dataclasses import dataclass

from quality.acceptance.seal_test import (
    USUAL_DURATION_S,
    SealPressure,
    SealRecord,
    judge_seal_test,
    seal_pressure,
)
from quality.judging.verdict import Judged, judged
from selection.configuration import Configuration


@dataclass(frozen=True, kw_only=True)
class SealInputs:
    """Everything that the verdict of a seal test is computed from.

    required : the pressure to test at and what sets it
    performance_test_done : the pump has had its performance test and was not opened since
    """

    required: SealPressure
    record: SealRecord
    performance_test_done: bool
    duration_s: float = USUAL_DURATION_S
    allowed_drops_per_min: float = 0.0


def seal_pressure_asked(configuration: Configuration) -> SealPressure:
    """The pressure to test the seals of a pump at: the lowest of all limits.

    The casing is rated for its highest working pressure; no part of it sees more.
    raises : AcceptanceError with packing, or without the seal's own limit
    """
    return seal_pressure(configuration, {"the casing": configuration.working_pressure_max_pa})


def judge_seal(inputs: SealInputs) -> Judged:
    """Judge a seal leakage test.

    raises : AcceptanceError when the test may not be recorded or contradicts itself
    """
    verdict = judge_seal_test(
        inputs.record,
        required=inputs.required,
        performance_test_done=inputs.performance_test_done,
        duration_s=inputs.duration_s,
        allowed_drops_per_min=inputs.allowed_drops_per_min,
    )
    return judged(
        verdict.outcome,
        reasons=verdict.reasons,
        rows=verdict.rows,
        required_pa=verdict.required_pa,
        required_s=verdict.required_s,
        required=inputs.required.sentence,
    )
