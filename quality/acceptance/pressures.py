"""How hard and how long a casing is tested, and how the pressure is raised.

Test pressure is a factor times the highest working pressure, or what a rule or the contract asks
beyond that. It is raised in steps with a look at each, nobody near while it rises.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from quality.acceptance.errors import NoSuchRow, NotANumber
from quality.acceptance.evidence import Row, contract_row
from quality.acceptance.units import Unit

BAR = Unit(symbol="bar", factor=1e5)

CAUTIONS = (
    "Vent all air before raising pressure; never test with gas.",
    "Relief valve fitted and set, full bolting of the contract, no bolt tightened under pressure.",
    "Raise the pressure in steps; stand clear of plugs and blanks; no touching while it rises.",
    "This sheet is no permission to pressurise; the works' own permit is, and local "
    "pressure-equipment rules govern.",
)


@dataclass(frozen=True, kw_only=True)
class PressureRule:
    """How a hydrostatic test is done by one rule.

    name : of the rule
    factor : test pressure over the highest working pressure, >= 1 [-]
    duty_factor : or over the pressure at duty, whichever is higher; None when not asked [-]
    least_pa : never below, 0 without such a limit [Pa]
    duration_s : least time under pressure, > 0 [s]
    over_w, up_to_w : driver powers it holds for, over and up to [W]
    row, factor_row : the standard's row, for the time and for the factor
    """

    name: str
    factor: float
    duty_factor: float | None
    least_pa: float
    duration_s: float
    row: Row
    factor_row: Row
    over_w: float = 0.0
    up_to_w: float = math.inf


@dataclass(frozen=True, kw_only=True)
class GaugeRange:
    """How large a gauge has to be for the pressure it shows.

    lowest, highest : upper end of its range over the test pressure [-]
    row : where it comes from
    """

    lowest: float
    highest: float
    row: Row


@dataclass(frozen=True, kw_only=True)
class TestPressure:
    """The pressure to test at and why.

    pressure_pa : gauge [Pa]
    rows : that gave it
    sentence : the sum in words
    """

    pressure_pa: float
    rows: tuple[Row, ...]
    sentence: str
    __test__ = False


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step of raising the pressure.

    pressure_pa : gauge [Pa]
    hold_s : how long to wait there [s]
    look : what is done meanwhile
    """

    pressure_pa: float
    hold_s: float
    look: str


def find_rule(
    rules: Sequence[PressureRule], name: str, *, driver_power_w: float | None = None
) -> PressureRule:
    """The rule a contract names, of the band that the driver's power falls in.

    rules : of the tables
    name : the beginning of its name, as "HI 14.6"
    driver_power_w : for rules whose time depends on it [W]
    returns : the rule
    raises : NoSuchRow
    """
    named = [rule for rule in rules if rule.name.casefold().startswith(name.casefold())]
    for rule in named:
        whole = rule.over_w == 0 and math.isinf(rule.up_to_w)
        if whole or (driver_power_w is not None and rule.over_w < driver_power_w <= rule.up_to_w):
            return rule
    raise NoSuchRow(
        table="The table of hydrostatic rules",
        what=name if named == [] else f"{name} without the driver's power",
        covers=", ".join(rule.name for rule in (named or rules)),
    )


def pressure_to_test(
    rule: PressureRule,
    *,
    working_pressure_max_pa: float,
    duty_pressure_pa: float | None = None,
    contract_pa: float | None = None,
    unit: Unit = BAR,
) -> TestPressure:
    """The pressure to test at: the highest of what rule and contract ask.

    rule : by which the test is done
    working_pressure_max_pa : highest suction pressure and shut-off head together, gauge, > 0 [Pa]
    duty_pressure_pa : at the duty point, for rules that ask for it, gauge [Pa]
    contract_pa : the contract's own test pressure, None when it names none, gauge [Pa]
    unit : for the sentence
    returns : pressure, rows and the sum in words
    raises : NotANumber
    """
    if not (math.isfinite(working_pressure_max_pa) and working_pressure_max_pa > 0):
        raise NotANumber(
            what="The highest working pressure", value=working_pressure_max_pa, right="above zero"
        )
    asked = [
        (
            rule.factor * working_pressure_max_pa,
            f"{rule.factor:g} × the highest working pressure of "
            f"{unit.show(working_pressure_max_pa)}",
            rule.factor_row,
        )
    ]
    if rule.duty_factor is not None and duty_pressure_pa is not None:
        asked.append(
            (
                rule.duty_factor * duty_pressure_pa,
                f"{rule.duty_factor:g} × the pressure at duty of {unit.show(duty_pressure_pa)}",
                rule.row,
            )
        )
    if rule.least_pa:
        asked.append((rule.least_pa, f"never below {unit.show(rule.least_pa)}", rule.row))
    if contract_pa is not None:
        words = f"{unit.show(contract_pa)} by the contract"
        asked.append((contract_pa, words, contract_row(f"hydrostatic test pressure {words}")))
    pressure, words, row = max(asked, key=lambda a: a[0])
    return TestPressure(
        pressure_pa=pressure,
        rows=(row,),
        sentence=f"Test at {unit.show(pressure)}: {words}, the highest of what is asked.",
    )


def step_plan(
    pressure_pa: float, working_pressure_max_pa: float, duration_s: float
) -> tuple[Step, ...]:
    """How to raise the pressure, in steps with a look at each.

    pressure_pa : to test at, gauge, > 0 [Pa]
    working_pressure_max_pa : gauge, > 0 [Pa]
    duration_s : under test pressure [s]
    returns : steps in order, the last one down to nothing
    source : common practice
    """
    working = min(working_pressure_max_pa, pressure_pa)
    between = (working + pressure_pa) / 2
    return (
        Step(pressure_pa=0.0, hold_s=0.0, look="fill, vent all air, look for drops"),
        Step(pressure_pa=working / 2, hold_s=120.0, look="look from a distance; stop at any leak"),
        Step(pressure_pa=working, hold_s=300.0, look="look all round; note sweating"),
        Step(pressure_pa=between, hold_s=60.0, look="stand clear"),
        Step(pressure_pa=pressure_pa, hold_s=duration_s, look="hold; read both gauges"),
        Step(pressure_pa=working, hold_s=300.0, look="look closely, wipe dry, look again"),
        Step(pressure_pa=0.0, hold_s=0.0, look="let down slowly, vent, drain"),
    )
