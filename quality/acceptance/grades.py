"""What a contract holds a pump to: guarantee, grade and tolerances.

A grade is a row of a standard; the contract may name its own tolerances instead, and pumps of
little power have wider ones by a rule of their own. All three end as the same `Tolerances`, each
limit with the row that gave it. Tolerances are shares of the guaranteed value, not percent.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from quality.acceptance.errors import BadGuarantee, BadTolerance, UnknownGrade
from quality.acceptance.evidence import Row, contract_row
from quality.acceptance.readings import STANDARD_GRAVITY


@dataclass(frozen=True, kw_only=True)
class PointsRow:
    """How many readings a guarantee point needs about it.

    needed : least number of readings at different flows, >= 1 [-]
    lowest, highest : of their flows over the guaranteed flow [-]
    row : the standard's row
    """

    needed: int
    lowest: float
    highest: float
    row: Row


@dataclass(frozen=True, kw_only=True)
class GradeRow:
    """One acceptance grade of one edition, as the tables have it.

    standard, edition, grade : e.g. ISO 9906, 2012, 2B
    flow_minus, flow_plus : how far below and above the guaranteed flow, >= 0 [-]
    head_minus, head_plus : the same for head, >= 0 [-]
    power_plus : how far power may lie above, None when the grade does not say [-]
    efficiency_minus : how far efficiency may lie below, as a share of the guarantee, >= 0 [-]
    points : readings needed about the guarantee point
    measuring_class : whose instrument limits apply, "1" or "2"
    row : the standard's row
    """

    standard: str
    edition: str
    grade: str
    flow_minus: float
    flow_plus: float
    head_minus: float
    head_plus: float
    power_plus: float | None
    efficiency_minus: float
    points: PointsRow
    measuring_class: str
    row: Row


@dataclass(frozen=True, kw_only=True)
class SmallPowerRow:
    """The wider tolerances of pumps of little power.

    limit_w : shaft power up to which the rule holds [W]
    flow, head : both ways, >= 0 [-]
    efficiency_base, efficiency_slope : efficiency_minus = slope · (1 − P/limit) + base [-]
    power_base : power_plus = √(power_base² + efficiency_minus²) [-]
    row, efficiency_row : the standard's rows, for flow and head and for efficiency and power
    """

    limit_w: float
    flow: float
    head: float
    efficiency_base: float
    efficiency_slope: float
    power_base: float
    row: Row
    efficiency_row: Row


@dataclass(frozen=True, kw_only=True)
class Tolerance:
    """How far a quantity may lie from its guarantee.

    minus : below, >= 0, None when below is without limit [-]
    plus : above, >= 0, None when above is without limit [-]
    row : where it comes from
    """

    minus: float | None
    plus: float | None
    row: Row

    def holds(self, deviation: float) -> bool:
        """Whether a deviation lies within, the limits included.

        deviation : measured over guaranteed, less one [-]
        returns : True within
        """
        return self.margin(deviation) >= -1e-12

    def margin(self, deviation: float) -> float:
        """Distance to the nearer limit, negative beyond it.

        deviation : measured over guaranteed, less one [-]
        returns : distance as a share of the guarantee; infinite without any limit [-]
        """
        below = math.inf if self.minus is None else deviation + self.minus
        above = math.inf if self.plus is None else self.plus - deviation
        return min(below, above)


@dataclass(frozen=True, kw_only=True)
class Tolerances:
    """All limits of one guarantee.

    flow, head : the bars of the cross
    power, efficiency : None when neither grade nor contract limits it
    points : readings needed about the guarantee point
    measuring_class : whose instrument limits apply
    name : of the grade or agreement, for the sheet
    """

    flow: Tolerance
    head: Tolerance
    power: Tolerance | None
    efficiency: Tolerance | None
    points: PointsRow
    measuring_class: str
    name: str


@dataclass(frozen=True, kw_only=True)
class OwnTolerances:
    """Tolerances that the contract itself writes down; what it leaves out stays with the grade.

    flow_minus, flow_plus, head_minus, head_plus : >= 0, None to keep the grade's [-]
    power_plus, efficiency_minus : >= 0, None to keep the grade's [-]
    """

    flow_minus: float | None = None
    flow_plus: float | None = None
    head_minus: float | None = None
    head_plus: float | None = None
    power_plus: float | None = None
    efficiency_minus: float | None = None

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if value is not None and not 0 <= value < 1:
                raise BadTolerance(
                    quantity=name.replace("_", " "),
                    value=value,
                    right="a share from 0 to below 1 (0.05 for 5 %)",
                )


@dataclass(frozen=True, kw_only=True)
class Guarantee:
    """What the contract guarantees of one pump.

    flow_m3s, head_m : the guarantee point, > 0 [m3/s], [m]
    speed_rpm : at which it is guaranteed, > 0 [rev/min]
    density_kg_m3 : of the liquid contracted, > 0 [kg/m3]
    efficiency : above 0 and below 1, None when not guaranteed [-]
    power_w : into the shaft, None when not guaranteed [W]
    npshr_m : at the guaranteed flow, None when not guaranteed [m]
    """

    flow_m3s: float
    head_m: float
    speed_rpm: float
    density_kg_m3: float
    efficiency: float | None = None
    power_w: float | None = None
    npshr_m: float | None = None

    def __post_init__(self) -> None:
        for quantity, value, unit in (
            ("flow", self.flow_m3s, "m³/s"),
            ("head", self.head_m, "m"),
            ("speed", self.speed_rpm, "rev/min"),
            ("density", self.density_kg_m3, "kg/m³"),
            ("power", self.power_w, "W"),
            ("NPSH required", self.npshr_m, "m"),
        ):
            if value is not None and not (math.isfinite(value) and value > 0):
                raise BadGuarantee(quantity=quantity, value=value, unit=unit, right="above zero")
        if self.efficiency is not None and not 0 < self.efficiency < 1:
            raise BadGuarantee(
                quantity="efficiency",
                value=self.efficiency,
                unit="as a share",
                right="above 0 and below 1",
            )

    @property
    def shaft_power_w(self) -> float | None:
        """Power at the guarantee point, guaranteed or from the efficiency [W]."""
        if self.power_w is not None:
            return self.power_w
        if self.efficiency is None:
            return None
        hydraulic = self.density_kg_m3 * STANDARD_GRAVITY * self.flow_m3s * self.head_m
        return hydraulic / self.efficiency


def find_grade(rows: Iterable[GradeRow], *, standard: str, edition: str, grade: str) -> GradeRow:
    """The row of one grade of one edition; editions are never mixed.

    rows : of the tables
    standard, edition, grade : as the contract names them
    returns : the row
    raises : UnknownGrade, with the grades there are of that edition
    """
    table = [row for row in rows if row.standard == standard and row.edition == edition]
    for row in table:
        if row.grade == grade:
            return row
    raise UnknownGrade(
        grade=grade,
        standard=standard,
        edition=edition,
        known=", ".join(row.grade for row in table) or "none of this edition",
    )


def tolerances_for(
    grade: GradeRow,
    guarantee: Guarantee,
    *,
    small_power: SmallPowerRow | None = None,
    shaft_power_w: float | None = None,
    own: OwnTolerances | None = None,
) -> Tolerances:
    """The limits that hold for one guarantee.

    grade : the contract's grade
    guarantee : what is guaranteed
    small_power : the rule for pumps of little power, None when the contract excludes it
    shaft_power_w : at the guarantee point when neither power nor efficiency is guaranteed [W]
    own : the contract's own tolerances, which go before everything else
    returns : limits, each with its row
    source : ISO 9906:2012, 4.4; small power 4.4.2
    """
    flow = Tolerance(minus=grade.flow_minus, plus=grade.flow_plus, row=grade.row)
    head = Tolerance(minus=grade.head_minus, plus=grade.head_plus, row=grade.row)
    power = (
        None
        if grade.power_plus is None
        else Tolerance(minus=None, plus=grade.power_plus, row=grade.row)
    )
    efficiency: Tolerance | None = Tolerance(minus=grade.efficiency_minus, plus=None, row=grade.row)
    name = f"{grade.standard}:{grade.edition} grade {grade.grade}"
    drawn = guarantee.shaft_power_w if shaft_power_w is None else shaft_power_w
    if small_power is not None and drawn is not None and drawn <= small_power.limit_w:
        lost = (
            small_power.efficiency_slope * (1 - drawn / small_power.limit_w)
            + small_power.efficiency_base
        )
        flow = Tolerance(minus=small_power.flow, plus=small_power.flow, row=small_power.row)
        head = Tolerance(minus=small_power.head, plus=small_power.head, row=small_power.row)
        efficiency = Tolerance(minus=lost, plus=None, row=small_power.efficiency_row)
        power = Tolerance(
            minus=None,
            plus=math.hypot(small_power.power_base, lost),
            row=small_power.efficiency_row,
        )
        name += f", rule for shaft power up to {small_power.limit_w / 1000:g} kW"
    if own is not None and any(value is not None for value in vars(own).values()):
        flow = _own(flow, "flow", own.flow_minus, own.flow_plus) or flow
        head = _own(head, "head", own.head_minus, own.head_plus) or head
        power = _own(power, "power", None, own.power_plus)
        efficiency = _own(efficiency, "efficiency", own.efficiency_minus, None)
        name = f"the contract's own tolerances, else {name}"
    return Tolerances(
        flow=flow,
        head=head,
        power=power,
        efficiency=efficiency,
        points=grade.points,
        measuring_class=grade.measuring_class,
        name=name,
    )


def _own(
    grade: Tolerance | None, quantity: str, minus: float | None, plus: float | None
) -> Tolerance | None:
    """The grade's tolerance with the contract's own limits put over it."""
    if minus is None and plus is None:
        return grade
    kept_minus = None if grade is None else grade.minus
    kept_plus = None if grade is None else grade.plus
    low = kept_minus if minus is None else minus
    high = kept_plus if plus is None else plus
    words = " / ".join(
        f"{sign}{share:.4g} %"
        for sign, share in (
            ("−", None if low is None else 100 * low),
            ("+", None if high is None else 100 * high),
        )
        if share is not None
    )
    return Tolerance(minus=low, plus=high, row=contract_row(f"tolerance on {quantity} {words}"))
