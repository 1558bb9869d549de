"""Vibration at the bearing housings: which zone, and whether the factory limit is kept.

Zones and limits depend on how much hangs on the pump (category) and on its power; the factory limit
also on whether the test point lies in the preferred or the allowable operating region.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from quality.acceptance.decision import DecisionRule, Limits, Measured, RecordVerdict, judge_record
from quality.acceptance.errors import BadTestRecord, NoSuchRow
from quality.acceptance.evidence import Row


class Category(StrEnum):
    """How much hangs on the pump."""

    HIGH = "I"
    GENERAL = "II"


class Region(StrEnum):
    """Where on its curve the pump ran."""

    PREFERRED = "preferred region"
    ALLOWABLE = "allowable region"


@dataclass(frozen=True, kw_only=True)
class VibrationLimit:
    """One limit of r.m.s. velocity.

    category : "I" or "II"
    over_w, up_to_w : power over and up to; `up_to_w` is infinite in the upper band [W]
    boundary : as the table names it
    velocity_mm_s : r.m.s., 10 to 1000 Hz [mm/s]
    row : the standard's row
    """

    category: str
    over_w: float
    up_to_w: float
    boundary: str
    velocity_mm_s: float
    row: Row


@dataclass(frozen=True, kw_only=True)
class VibrationVerdict:
    """Vibration of one pump.

    record : every position against the factory limit
    zone : A, B, C or D of the worst position
    worst : position with the largest velocity
    sentence : the zone in words
    """

    record: RecordVerdict
    zone: str
    worst: str
    sentence: str


MEANINGS = {
    "A": "as newly commissioned pumps",
    "B": "fit for long-term running",
    "C": "not fit for long-term running",
    "D": "severe enough to do damage",
}


def judge_vibration(
    velocities_mm_s: Mapping[str, float],
    table: Sequence[VibrationLimit],
    *,
    category: Category,
    power_w: float,
    region: Region,
    uncertainty_share: float = 0.0,
    rule: DecisionRule = DecisionRule.SIMPLE,
) -> VibrationVerdict:
    """Vibration readings against the zones and the factory limit.

    velocities_mm_s : r.m.s. by position and direction, >= 0 [mm/s]
    table : of the standard
    category : how much hangs on the pump
    power_w : of the pump, > 0 [W]
    region : where on its curve it ran
    uncertainty_share : expanded (k = 2), of the reading [-]
    rule : that decides near a limit
    returns : the verdict
    raises : BadTestRecord, NoSuchRow
    source : ISO 10816-7:2009, Table A.1 (from memory)
    """
    if not velocities_mm_s:
        raise BadTestRecord(what="The vibration record", reason="no position was measured")
    for position, velocity in velocities_mm_s.items():
        if not (math.isfinite(velocity) and velocity >= 0):
            raise BadTestRecord(
                what=f"Vibration at {position}", reason=f"{velocity:g} mm/s cannot be"
            )

    def limit(boundary: str) -> VibrationLimit:
        for row in table:
            in_band = row.over_w < power_w <= row.up_to_w
            if row.category == category and row.boundary == boundary and in_band:
                return row
        raise NoSuchRow(
            table="The table of vibration limits",
            what=f"{boundary}, category {category}, {power_w:g} W",
            covers=", ".join(sorted({row.boundary for row in table})),
        )

    accept = limit(f"factory acceptance, {region.value}")
    bounds = [("A", limit("zone A/B")), ("B", limit("zone B/C")), ("C", limit("zone C/D"))]
    record = judge_record(
        [
            Measured(
                limits=Limits(
                    what=f"vibration at {position}",
                    unit="mm/s",
                    highest=accept.velocity_mm_s,
                    rows=(accept.row,),
                ),
                value=velocity,
                uncertainty=uncertainty_share * velocity,
            )
            for position, velocity in velocities_mm_s.items()
        ],
        rule=rule,
    )
    worst = max(velocities_mm_s, key=lambda p: (velocities_mm_s[p], p))
    largest = velocities_mm_s[worst]
    zone = next((name for name, row in bounds if largest <= row.velocity_mm_s), "D")
    return VibrationVerdict(
        record=record,
        zone=zone,
        worst=worst,
        sentence=(
            f"Zone {zone} ({MEANINGS[zone]}): {largest:.2g} mm/s at {worst}; boundaries "
            f"{', '.join(f'{row.velocity_mm_s:g}' for _, row in bounds)} mm/s."
        ),
    )
