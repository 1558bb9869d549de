"""The NPSH test: where the head has dropped by 3 %, and whether that keeps the guarantee.

At one flow the suction head is lowered step by step. The head without cavitation is that of the
readings with most suction head; NPSH3 is where the curve through the points has fallen by 3 % of
it. A drop that was never reached only says that NPSH3 lies below the lowest reading.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quality.acceptance import piecewise
from quality.acceptance.errors import CurveTooShort, NotANumber
from quality.acceptance.evidence import Certainty, Outcome, Row
from quality.acceptance.readings import STANDARD_GRAVITY

Floats = NDArray[np.float64]

DROP = 0.03
PLATEAU = 0.01
"""Heads within this share of the highest belong to the part without cavitation (common practice:
a third of the drop looked for)."""
LEAST_ON_PLATEAU = 2

DROP_ROW = Row(
    standard="ISO 9906",
    edition="2012",
    clause="NPSH tests",
    name="NPSH3 is the NPSH at which the head of the first stage has dropped by 3 %",
    certainty=Certainty.CONFIRMED_2ND,
)


@dataclass(frozen=True, kw_only=True)
class NpshPoint:
    """One reading of an NPSH test, at rated speed and one flow.

    number : of the reading
    npsh_m : available at the pump's datum, > 0 [m]
    head_m : total head of the first stage, > 0 [m]
    """

    number: int
    npsh_m: float
    head_m: float


@dataclass(frozen=True, kw_only=True)
class NpshTolerance:
    """How far NPSH required may lie above the guarantee.

    share : of the guarantee [-]
    least_m : or this, whichever is larger [m]
    row : the standard's row
    """

    share: float
    least_m: float
    row: Row

    def allowed(self, guaranteed_m: float) -> float:
        """Highest NPSH required that keeps the guarantee.

        guaranteed_m : > 0 [m]
        returns : [m]
        """
        return guaranteed_m + max(self.share * guaranteed_m, self.least_m)


@dataclass(frozen=True, kw_only=True)
class NpshVerdict:
    """What an NPSH test came to.

    outcome : of the test
    npsh3_m : found, None when the drop was not reached [m]
    below_m : NPSH3 lies below this, None when it was found [m]
    head_m : without cavitation, None when the plateau was not measured [m]
    allowed_m : guarantee with its tolerance, None without a guarantee [m]
    reasons : in sentences, deciding ones first
    rows : of standards used
    """

    outcome: Outcome
    npsh3_m: float | None
    below_m: float | None
    head_m: float | None
    allowed_m: float | None
    reasons: tuple[str, ...]
    rows: tuple[Row, ...]


def npsh_available(
    *,
    suction_pa: float,
    barometer_pa: float,
    vapour_pressure_pa: float,
    density_kg_m3: float,
    gauge_height_m: float,
    velocity_head_m: float,
    gravity_m_s2: float = STANDARD_GRAVITY,
) -> float:
    """NPSH available at the pump's datum from the suction gauge.

    suction_pa : gauge pressure at the tapping [Pa]
    barometer_pa, vapour_pressure_pa : absolute [Pa]
    density_kg_m3 : > 0 [kg/m3]
    gauge_height_m : of the gauge above the datum [m]
    velocity_head_m : at the tapping [m]
    gravity_m_s2 : of the place [m/s2]
    returns : [m]
    source : NPSH = (p_s + p_b − p_v)/ρg + z + v²/2g; Hydraulic Institute engineering data
    """
    pressure = suction_pa + barometer_pa - vapour_pressure_pa
    return pressure / (density_kg_m3 * gravity_m_s2) + gauge_height_m + velocity_head_m


def judge_npsh(
    points: Sequence[NpshPoint],
    *,
    guaranteed_m: float | None,
    tolerance: NpshTolerance,
    drop: float = DROP,
) -> NpshVerdict:
    """NPSH required from the drop of head, against the guarantee.

    points : at rated speed and one flow, in any order
    guaranteed_m : NPSH required, None when it is not guaranteed [m]
    tolerance : of the class
    drop : of head that defines NPSH required [-]
    returns : the verdict; not judged while readings are missing, and says which
    raises : NotANumber, CurveTooShort
    source : ISO 9906:2012, NPSH tests (definition confirmed in a secondary text; tolerance from
        memory)
    """
    for point in points:
        for what, value in (("NPSH", point.npsh_m), ("head", point.head_m)):
            if not (math.isfinite(value) and value > 0):
                raise NotANumber(
                    what=f"The {what} of reading {point.number}", value=value, right="above zero"
                )
    if len({point.npsh_m for point in points}) < 3:
        raise CurveTooShort(needed=3, count=len({point.npsh_m for point in points}))
    ordered = sorted(points, key=lambda p: p.npsh_m)
    npsh, head = _means(ordered)
    allowed = None if guaranteed_m is None else tolerance.allowed(guaranteed_m)
    rows = (DROP_ROW, tolerance.row)
    plateau = _plateau(head)
    if plateau is None:
        return NpshVerdict(
            outcome=Outcome.NOT_JUDGED,
            npsh3_m=None,
            below_m=None,
            head_m=None,
            allowed_m=allowed,
            reasons=(
                f"The head still rises at the highest NPSH of {npsh[-1]:.2f} m: take readings at "
                f"more suction head, until {LEAST_ON_PLATEAU} agree within {PLATEAU:.0%}.",
            ),
            rows=rows,
        )
    level = (1 - drop) * plateau
    found = _drop_at(npsh, head, level)
    if found is None:
        return _never_dropped(npsh, plateau, allowed, rows, drop)
    says = f"The head of {plateau:.2f} m has dropped by {drop:.0%} at an NPSH of {found:.2f} m."
    if allowed is None or guaranteed_m is None:
        outcome, reasons = Outcome.NOT_JUDGED, (says, "NPSH required is not guaranteed.")
    else:
        held = found <= allowed + 1e-9
        outcome = Outcome.PASSED if held else Outcome.FAILED
        reasons = (
            f"NPSH required {found:.2f} m against {guaranteed_m:.2f} m guaranteed and "
            f"{allowed:.2f} m with tolerance; {abs(allowed - found):.2f} m "
            f"{'in hand' if held else 'beyond'}.",
            says,
        )
    return NpshVerdict(
        outcome=outcome,
        npsh3_m=found,
        below_m=None,
        head_m=plateau,
        allowed_m=allowed,
        reasons=reasons,
        rows=rows,
    )


def _means(ordered: Sequence[NpshPoint]) -> tuple[Floats, Floats]:
    """NPSH strictly ascending and head, repeats at one NPSH taken as their mean."""
    npsh = np.array([point.npsh_m for point in ordered])
    head = np.array([point.head_m for point in ordered])
    distinct, group = np.unique(npsh, return_inverse=True)
    return distinct, np.bincount(group, weights=head) / np.bincount(group)


def _plateau(head: Floats) -> float | None:
    """Head without cavitation, None when too few readings show it.

    Readings are taken in from the highest NPSH downwards as long as they agree with those before;
    a plateau of one reading is none. The median is used, because the last one taken in may have
    begun to drop.
    """
    taken = [float(head[-1])]
    for value in head[-2::-1]:
        if abs(float(value) / float(np.median(taken)) - 1) > PLATEAU:
            break
        taken.append(float(value))
    return float(np.median(taken)) if len(taken) >= LEAST_ON_PLATEAU else None


def _drop_at(npsh: Floats, head: Floats, level: float) -> float | None:
    """The highest NPSH at which the head falls to a level, None when it never does."""
    pieces = piecewise.coefficients(npsh, head, piecewise.monotone_slopes(npsh, head))
    pieces[3] -= level
    roots = piecewise.roots(npsh, pieces)
    return max(roots, default=None)


def _never_dropped(
    npsh: Floats, plateau: float, allowed: float | None, rows: tuple[Row, ...], drop: float
) -> NpshVerdict:
    lowest = float(npsh[0])
    proved = allowed is not None and lowest <= allowed + 1e-9
    says = (
        f"The head has not dropped by {drop:.0%} down to an NPSH of {lowest:.2f} m, so NPSH "
        "required lies below that."
    )
    more = (
        "That keeps the guarantee."
        if proved
        else f"Take readings down to {allowed:.2f} m to judge the guarantee."
        if allowed is not None
        else "NPSH required is not guaranteed."
    )
    return NpshVerdict(
        outcome=Outcome.PASSED if proved else Outcome.NOT_JUDGED,
        npsh3_m=None,
        below_m=lowest,
        head_m=plateau,
        allowed_m=allowed,
        reasons=(says, more),
        rows=rows,
    )
