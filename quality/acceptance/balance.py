"""Balance of a rotor: permissible residual unbalance, in both planes, and what was achieved.

The quality grade G is the speed of the centre of mass in mm/s at the rotor's speed; from it comes
the permissible unbalance, and from the planes' distances to the centre of mass its share in each.
Acceptance is on the residual unbalance, not on the mass added.
"""

import math
from dataclasses import dataclass

from quality.acceptance.decision import DecisionRule, Limits, Measured, RecordVerdict, judge_record
from quality.acceptance.errors import BadTestRecord, NotANumber
from quality.acceptance.evidence import Certainty, Row

PLANES_ROW = Row(
    standard="ISO 21940-11",
    edition="2016",
    name="permissible unbalance shared between two planes by their distances to the centre of "
    "mass, each between 0.3 and 0.7 of the whole",
    certainty=Certainty.CONFIRMED_2ND,
)
LEAST_SHARE, LARGEST_SHARE = 0.3, 0.7


@dataclass(frozen=True, kw_only=True)
class BalanceGrade:
    """A balance quality grade.

    grade_mm_s : G, > 0 [mm/s]
    row : the standard's row
    """

    grade_mm_s: float
    row: Row


@dataclass(frozen=True, kw_only=True)
class Permissible:
    """Permissible residual unbalance of a rotor.

    eccentricity_um : e_per [µm], the same as g·mm/kg
    unbalance_gmm : U_per of the whole rotor [g mm]
    plane_a_gmm, plane_b_gmm : in the planes A and B [g mm]
    rows : of standards
    """

    eccentricity_um: float
    unbalance_gmm: float
    plane_a_gmm: float
    plane_b_gmm: float
    rows: tuple[Row, ...]


def eccentricity_um(grade_mm_s: float, speed_rpm: float) -> float:
    """Permissible specific unbalance.

    grade_mm_s : G, > 0 [mm/s]
    speed_rpm : highest service speed, > 0 [rev/min]
    returns : e_per [µm]
    source : ISO 21940-11: e_per = 1000·G/ω, ω = 2π·n/60 (published summary)
    """
    return 1000 * grade_mm_s / (2 * math.pi * speed_rpm / 60)


def permissible(
    *,
    mass_kg: float,
    speed_rpm: float,
    grade: BalanceGrade,
    to_a_mm: float,
    to_b_mm: float,
) -> Permissible:
    """Permissible residual unbalance, whole and in two planes.

    mass_kg : of the rotor, > 0 [kg]
    speed_rpm : highest service speed, > 0 [rev/min]
    grade : balance quality
    to_a_mm, to_b_mm : from the centre of mass to the planes A and B, > 0 [mm]
    returns : unbalances
    raises : NotANumber
    source : ISO 21940-11: U_A = U_per·L_B/L, U_B = U_per·L_A/L, each held within 0.3 to 0.7 U_per
    """
    for what, value in (
        ("The rotor's mass", mass_kg),
        ("The rotor's speed", speed_rpm),
        ("The balance grade", grade.grade_mm_s),
        ("The distance to plane A", to_a_mm),
        ("The distance to plane B", to_b_mm),
    ):
        if not (math.isfinite(value) and value > 0):
            raise NotANumber(what=what, value=value, right="above zero")
    eccentricity = eccentricity_um(grade.grade_mm_s, speed_rpm)
    whole = eccentricity * mass_kg
    share = min(max(to_b_mm / (to_a_mm + to_b_mm), LEAST_SHARE), LARGEST_SHARE)
    return Permissible(
        eccentricity_um=eccentricity,
        unbalance_gmm=whole,
        plane_a_gmm=whole * share,
        plane_b_gmm=whole * (1 - share),
        rows=(grade.row, PLANES_ROW),
    )


@dataclass(frozen=True, kw_only=True)
class Plane:
    """One plane of correction.

    radius_mm : of the correction, > 0 [mm]
    initial_gmm : unbalance before correction, None when not kept [g mm]
    residual_gmm : unbalance after correction, None when not measured [g mm]
    uncertainty_gmm : expanded (k = 2), of machine and method [g mm]
    """

    radius_mm: float
    residual_gmm: float | None
    initial_gmm: float | None = None
    uncertainty_gmm: float = 0.0


@dataclass(frozen=True, kw_only=True)
class BalanceVerdict:
    """What balancing came to.

    record : both planes against their limits
    allowed_g : mass at the radius of correction that the limits amount to, planes A and B [g]
    reduced : share of the initial unbalance that was taken out, planes A and B, None if unknown [-]
    """

    record: RecordVerdict
    allowed_g: tuple[float, float]
    reduced: tuple[float | None, float | None]


def judge_balance(
    limits: Permissible,
    a: Plane,
    b: Plane,
    *,
    rule: DecisionRule = DecisionRule.PROVEN,
) -> BalanceVerdict:
    """Residual unbalance against what is permitted, in both planes.

    limits : permissible unbalance
    a, b : as measured
    rule : that decides near a limit
    returns : the verdict
    raises : NotANumber, BadTestRecord
    """
    for name, plane in (("A", a), ("B", b)):
        if not (math.isfinite(plane.radius_mm) and plane.radius_mm > 0):
            raise NotANumber(
                what=f"The radius of plane {name}", value=plane.radius_mm, right="above zero"
            )
        for value in (plane.residual_gmm, plane.initial_gmm):
            if value is not None and value < 0:
                raise BadTestRecord(
                    what=f"Plane {name}", reason=f"an unbalance of {value:g} g·mm is negative"
                )
    record = judge_record(
        [
            Measured(
                limits=Limits(
                    what=f"residual unbalance in plane {name}",
                    unit="g·mm",
                    highest=allowed,
                    rows=limits.rows,
                ),
                value=plane.residual_gmm,
                uncertainty=plane.uncertainty_gmm,
            )
            for name, plane, allowed in (
                ("A", a, limits.plane_a_gmm),
                ("B", b, limits.plane_b_gmm),
            )
        ],
        rule=rule,
    )
    return BalanceVerdict(
        record=record,
        allowed_g=(limits.plane_a_gmm / a.radius_mm, limits.plane_b_gmm / b.radius_mm),
        reduced=(_reduced(a), _reduced(b)),
    )


def _reduced(plane: Plane) -> float | None:
    if not plane.initial_gmm or plane.residual_gmm is None:
        return None
    return 1 - plane.residual_gmm / plane.initial_gmm
