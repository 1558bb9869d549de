"""Noise of a pump on the bed: A-weighted levels at positions around it, background taken out.

Levels are averaged by energy, corrected for the background and for the room, and stated as sound
pressure at the measuring distance and as sound power. Too loud a background makes the level an
upper bound only, which is said.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from quality.acceptance.decision import Decision, DecisionRule, Limits, decide
from quality.acceptance.errors import BadTestRecord, NotANumber
from quality.acceptance.evidence import Row, contract_row, distinct

REFERENCE_AREA_M2 = 1.0


@dataclass(frozen=True, kw_only=True)
class NoiseRules:
    """Values of the standard.

    least_difference_db : to the background, below which the level is an upper bound [dB]
    no_correction_db : difference from which nothing is taken off [dB]
    largest_room_db : correction for the room, above which the place does not do [dB]
    reproducibility_db : standard deviation of the method [dB]
    rows : of the standard
    """

    least_difference_db: float
    no_correction_db: float
    largest_room_db: float
    reproducibility_db: float
    rows: tuple[Row, ...]


@dataclass(frozen=True, kw_only=True)
class NoiseResult:
    """Noise of one pump.

    pressure_db : A-weighted sound pressure level on the measuring surface [dB]
    power_db : A-weighted sound power level [dB]
    background_db : correction taken off for the background [dB]
    room_db : correction taken off for the room [dB]
    upper_bound : the background was too loud, so that the levels are upper bounds
    decision : against the guaranteed sound pressure, None without one
    reasons : in sentences
    rows : of standards used
    """

    pressure_db: float
    power_db: float
    background_db: float
    room_db: float
    upper_bound: bool
    decision: Decision | None
    reasons: tuple[str, ...]
    rows: tuple[Row, ...]


def energy_mean(levels_db: Sequence[float]) -> float:
    """Mean of levels by energy.

    levels_db : (n,) [dB]
    returns : [dB]
    source : L = 10·lg(1/n · Σ 10^(0.1 L_i)), ISO 3744
    """
    return 10 * math.log10(sum(10 ** (level / 10) for level in levels_db) / len(levels_db))


def box_surface(length_m: float, width_m: float, height_m: float, distance_m: float) -> float:
    """Area of the box around a pump on a reflecting floor.

    length_m, width_m, height_m : of the reference box, > 0 [m]
    distance_m : of the measuring surface from it, > 0 [m]
    returns : [m2]
    source : ISO 3744, S = 4(ab + bc + ca) with half sides a, b and height c (from memory)
    """
    a, b, c = length_m / 2 + distance_m, width_m / 2 + distance_m, height_m + distance_m
    return 4 * (a * b + b * c + c * a)


def background_correction(difference_db: float, rules: NoiseRules) -> tuple[float, bool]:
    """What is taken off a level for the background.

    difference_db : level with the pump less level without it [dB]
    rules : of the standard
    returns : correction [dB], and whether the result is an upper bound only
    source : K1 = −10·lg(1 − 10^(−0.1 ΔL)), ISO 3744 (limits from memory)
    """
    if difference_db > rules.no_correction_db:
        return 0.0, False
    used = max(difference_db, rules.least_difference_db)
    return -10 * math.log10(1 - 10 ** (-used / 10)), difference_db < rules.least_difference_db


def judge_noise(
    levels_db: Sequence[float],
    background_db: Sequence[float],
    *,
    surface_m2: float,
    room_db: float,
    rules: NoiseRules,
    guaranteed_db: float | None = None,
    rule: DecisionRule = DecisionRule.SIMPLE,
) -> NoiseResult:
    """Noise from levels around the pump.

    levels_db : (n,) A-weighted, with the pump running [dB]
    background_db : (n,) at the same positions, without it; one value holds for all [dB]
    surface_m2 : of the measuring surface, > 0 [m2]
    room_db : correction for the room, >= 0 [dB]
    rules : of the standard
    guaranteed_db : highest sound pressure level, None when it is not guaranteed [dB]
    rule : that decides near the limit
    returns : levels and the decision
    raises : BadTestRecord, NotANumber
    source : ISO 3744, engineering method over a reflecting plane (limits from memory)
    """
    if not levels_db:
        raise BadTestRecord(what="The noise record", reason="no position was measured")
    if len(background_db) not in (1, len(levels_db)):
        raise BadTestRecord(
            what="The noise record",
            reason=f"{len(levels_db)} positions have {len(background_db)} background levels; give "
            "one each, or one for all",
        )
    for what, value, least in (
        ("A level", min(*levels_db, *background_db), 0.0),
        ("The measuring surface", surface_m2, 1e-9),
        ("The correction for the room", room_db, 0.0),
    ):
        if not (math.isfinite(value) and value >= least):
            raise NotANumber(what=what, value=value, right="a positive number")
    measured, behind = energy_mean(levels_db), energy_mean(background_db)
    correction, bound = background_correction(measured - behind, rules)
    pressure = measured - correction - room_db
    reasons = [
        f"Mean level {measured:.1f} dB, {measured - behind:.1f} dB above the background: "
        f"{correction:.1f} dB taken off for it and {room_db:.1f} dB for the room."
    ]
    if bound:
        reasons.append(
            f"The background is nearer than {rules.least_difference_db:g} dB, so the level is an "
            "upper bound: it can show that a limit is kept, not that it is broken."
        )
    if room_db > rules.largest_room_db:
        reasons.append(
            f"A room correction above {rules.largest_room_db:g} dB does not suit this method."
        )
    decision = None
    if guaranteed_db is not None:
        limits = Limits(
            what="sound pressure level",
            unit="dB(A)",
            highest=guaranteed_db,
            rows=(contract_row(f"sound pressure level at most {guaranteed_db:g} dB(A)"),),
        )
        decision = decide(limits, pressure, expanded=2 * rules.reproducibility_db, rule=rule)
        reasons.insert(0, decision.sentence)
    return NoiseResult(
        pressure_db=pressure,
        power_db=pressure + 10 * math.log10(surface_m2 / REFERENCE_AREA_M2),
        background_db=correction,
        room_db=room_db,
        upper_bound=bound,
        decision=decision,
        reasons=tuple(reasons),
        rows=distinct([*rules.rows, *(decision.limits.rows if decision else ())]),
    )
