"""Readings looked over before they are judged: nothing is dropped, everything odd is said.

A remark that `stops` makes the readings unusable until somebody corrects them; one that `asks`
wants a second look at the instrument or the sheet; one that `tells` is for the record. The
readings themselves stay as they were typed.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from quality.acceptance.errors import AcceptanceError
from quality.acceptance.outliers import Suspect, suspects
from quality.acceptance.readings import MEASURED, Point, Reading, SetUp, points_of
from quality.acceptance.units import NAMES, SI_UNITS, Unit

STUCK_FOR = 3
"""Successive readings of the same value that make an instrument suspect (common practice)."""

FLOW_MUST_MOVE = 0.05
"""Share of the largest flow that must pass before a value that stands still is odd."""


class Weight(StrEnum):
    """How much a remark weighs."""

    STOPS = "stops"
    ASKS = "asks"
    TELLS = "tells"


class Kind(StrEnum):
    """What is odd about readings."""

    NOT_A_NUMBER = "not a number"
    OUT_OF_BOUNDS = "out of bounds"
    MISSING = "missing"
    IMPOSSIBLE = "impossible"
    REPEATED = "repeated"
    UNSORTED = "out of order"
    MIXED = "mixed"
    STUCK = "stuck"
    SWAPPED = "swapped"
    MISTYPED = "mistyped"
    OFF_THE_CURVE = "off the curve"


@dataclass(frozen=True, kw_only=True)
class Remark:
    """One odd thing about the readings.

    kind : what is odd
    weight : whether it stops, asks or tells
    readings : numbers of the lines it is about
    quantity : name of the field, empty when it is about the whole line
    sentence : what, where, and what would be right
    """

    kind: Kind
    weight: Weight
    readings: tuple[int, ...]
    quantity: str
    sentence: str


# The lowest value each quantity may have, and whether that value itself is allowed.
BOUNDS: Mapping[str, tuple[float, bool]] = {
    "flow_m3s": (0.0, True),
    "speed_rpm": (0.0, False),
    "head_m": (0.0, False),
    "shaft_power_w": (0.0, False),
    "torque_nm": (0.0, False),
    "electric_power_w": (0.0, False),
    "temperature_k": (0.0, False),
    "suction_pa": (-101_325.0, True),
    "discharge_pa": (-101_325.0, True),
}

WAYS_TO_HEAD = (("head_m",), ("suction_pa", "discharge_pa"))
WAYS_TO_POWER = (("torque_nm",), ("shaft_power_w",), ("electric_power_w",))
MAY_STAND_STILL = {"suction_pa", "temperature_k", "speed_rpm", "taken_at_s"}


def look_over(
    readings: Sequence[Reading], set_up: SetUp, units: Mapping[str, Unit] = SI_UNITS
) -> tuple[Remark, ...]:
    """Everything odd about the readings of one run, gravest first.

    readings : as typed, in the order taken
    set_up : of the run
    units : what each quantity was typed in, so that sentences and digit slips make sense
    returns : remarks; empty when nothing is odd
    """
    units = {**SI_UNITS, **units}
    found = [*_values(readings, units), *_missing(readings, set_up)]
    whole = not stopping(found)
    impossible = _impossible(readings, set_up) if whole else []
    whole = whole and all(remark.kind is Kind.IMPOSSIBLE for remark in impossible)
    found += [
        *impossible,
        *_repeated(readings),
        *_order(readings),
        *_mixed(readings),
        *_stuck(readings, units),
        *_swapped_gauges(readings, units),
    ]
    if whole:
        found += _off_the_curve(readings, points_of(readings, set_up), units)
    weights = list(Weight)
    return tuple(sorted(found, key=lambda r: (weights.index(r.weight), r.readings)))


def stopping(remarks: Sequence[Remark]) -> tuple[Remark, ...]:
    """The remarks that make readings unusable.

    remarks : of a run
    returns : those of weight `stops`
    """
    return tuple(remark for remark in remarks if remark.weight is Weight.STOPS)


def _values(readings: Sequence[Reading], units: Mapping[str, Unit]) -> list[Remark]:
    """Values that are no numbers or lie beyond what can be."""
    found = []
    for reading in readings:
        for quantity in MEASURED:
            value = getattr(reading, quantity)
            if value is None:
                continue
            lowest, inclusive = BOUNDS.get(quantity, (-math.inf, True))
            if not math.isfinite(value):
                kind, says = Kind.NOT_A_NUMBER, f"is {value}; it must be a number"
            elif value < lowest or (value == lowest and not inclusive):
                limit = units[quantity].show(lowest)
                right = f"{limit} or more" if inclusive else f"above {limit}"
                kind = Kind.OUT_OF_BOUNDS
                says = f"is {units[quantity].show(value)}; it must be {right}"
            elif quantity == "temperature_k" and value < 200:
                kind = Kind.OUT_OF_BOUNDS
                says = (
                    f"is {value:g} K, colder than any liquid on a bed; "
                    "was it typed in degrees Celsius?"
                )
            else:
                continue
            found.append(
                Remark(
                    kind=kind,
                    weight=Weight.STOPS,
                    readings=(reading.number,),
                    quantity=quantity,
                    sentence=f"Reading {reading.number}: {NAMES[quantity]} {says}.",
                )
            )
    return found


def _missing(readings: Sequence[Reading], set_up: SetUp) -> list[Remark]:
    """Readings that cannot give a head, or need something the set-up does not say."""
    found = []
    for reading in readings:
        gauges = reading.suction_pa is not None and reading.discharge_pa is not None
        says = ""
        if reading.head_m is None and not gauges:
            says = "has no head; give the head, or both gauge pressures"
        elif reading.head_m is None and (set_up.suction is None or set_up.discharge is None):
            says = "has gauge pressures, and the set-up does not say where the tappings are"
        elif reading.electric_power_w is not None and set_up.motor is None:
            says = "has electric power, and the set-up does not say the motor's efficiency"
        if says:
            found.append(
                Remark(
                    kind=Kind.MISSING,
                    weight=Weight.STOPS,
                    readings=(reading.number,),
                    quantity="head_m" if "head" in says or "gauge" in says else "electric_power_w",
                    sentence=f"Reading {reading.number} {says}.",
                )
            )
    return found


def _impossible(readings: Sequence[Reading], set_up: SetUp) -> list[Remark]:
    """Points that no pump can reach: an efficiency of one or more, a head of nothing."""
    found = []
    for reading in readings:
        try:
            (point,) = points_of([reading], set_up)
        except AcceptanceError as trouble:  # outside a table of the set-up: said, not swallowed
            says = trouble.sentence
            found.append(_line(Kind.OUT_OF_BOUNDS, Weight.STOPS, reading, says))
            continue
        if point.head_m <= 0:
            says = f"its gauges give a head of {point.head_m:.3g} m; are they swapped?"
            found.append(_line(Kind.IMPOSSIBLE, Weight.STOPS, reading, says))
        elif point.efficiency is not None and point.efficiency >= 1:
            says = (
                f"flow, head and power give an efficiency of {point.efficiency:.0%}; one of the "
                "three is wrong, or in another unit"
            )
            found.append(_line(Kind.IMPOSSIBLE, Weight.STOPS, reading, says + "."))
    return found


def _line(kind: Kind, weight: Weight, reading: Reading, says: str) -> Remark:
    return Remark(
        kind=kind,
        weight=weight,
        readings=(reading.number,),
        quantity="",
        sentence=f"Reading {reading.number}: {says}",
    )


def _repeated(readings: Sequence[Reading]) -> list[Remark]:
    """The same line number twice, or the same line typed twice."""
    found = []
    for i, reading in enumerate(readings):
        for earlier in readings[:i]:
            numbers = (earlier.number, reading.number)
            if reading.number == earlier.number:
                says = f"Two readings are numbered {reading.number}; each needs a number of its own"
                weight = Weight.STOPS
            elif all(
                getattr(reading, quantity) == getattr(earlier, quantity)
                for quantity in MEASURED
                if quantity != "taken_at_s"
            ):
                says = (
                    f"Reading {reading.number} repeats reading {earlier.number} in every value; "
                    "was it typed twice? It counts once until the flow was set anew"
                )
                weight = Weight.ASKS
            else:
                continue
            found.append(
                Remark(
                    kind=Kind.REPEATED,
                    weight=weight,
                    readings=numbers,
                    quantity="",
                    sentence=says + ".",
                )
            )
            break
    return found


def _order(readings: Sequence[Reading]) -> list[Remark]:
    """Flows that go neither up nor down throughout, and times that run backwards."""
    found = []
    rising = falling = True
    for before, after in pairwise(readings):
        rising &= after.flow_m3s >= before.flow_m3s
        falling &= after.flow_m3s <= before.flow_m3s
        if (
            before.taken_at_s is not None
            and after.taken_at_s is not None
            and after.taken_at_s < before.taken_at_s
        ):
            says = (
                f"Reading {after.number} carries an earlier time than reading {before.number} "
                "before it; correct the time or the order."
            )
            both = (before.number, after.number)
            found.append(_pair(Kind.UNSORTED, Weight.ASKS, both, "taken_at_s", says))
    if not (rising or falling):
        numbers = tuple(reading.number for reading in readings)
        says = (
            "The flows were not taken in one direction; the curve is drawn in order of flow, "
            "and the readings stay in the order taken."
        )
        found.append(_pair(Kind.UNSORTED, Weight.TELLS, numbers, "flow_m3s", says))
    return found


def _pair(kind: Kind, weight: Weight, numbers: tuple[int, ...], quantity: str, says: str) -> Remark:
    return Remark(kind=kind, weight=weight, readings=numbers, quantity=quantity, sentence=says)


def _mixed(readings: Sequence[Reading]) -> list[Remark]:
    """Heads or powers that were measured in different ways within one run."""
    found = []
    for what, ways in (("head", WAYS_TO_HEAD), ("power", WAYS_TO_POWER)):
        users = {
            way: tuple(
                r.number for r in readings if all(getattr(r, name) is not None for name in way)
            )
            for way in ways
        }
        used = {way: numbers for way, numbers in users.items() if numbers}
        if len(used) > 1:
            parts = "; ".join(
                f"{' and '.join(NAMES[name] for name in way)} in readings "
                f"{', '.join(map(str, numbers))}"
                for way, numbers in used.items()
            )
            says = f"The {what} comes in more than one way: {parts}. Use one way for the run."
            lines = tuple(sorted({n for group in used.values() for n in group}))
            found.append(_pair(Kind.MIXED, Weight.ASKS, lines, "", says))
    powered = tuple(
        r.number for r in readings if any(getattr(r, way[0]) is not None for way in WAYS_TO_POWER)
    )
    if powered and len(powered) < len(readings):
        without = tuple(r.number for r in readings if r.number not in powered)
        says = (
            f"Readings {', '.join(map(str, without))} have no power, the others have; "
            "efficiency and power are drawn through the others only."
        )
        found.append(_pair(Kind.MIXED, Weight.ASKS, without, "", says))
    return found


def _stuck(readings: Sequence[Reading], units: Mapping[str, Unit]) -> list[Remark]:
    """An instrument that shows the same while the pump moves on."""
    found = []
    largest = max((r.flow_m3s for r in readings if math.isfinite(r.flow_m3s)), default=0.0)
    for quantity in MEASURED:
        if quantity in MAY_STAND_STILL:
            continue
        for run in _runs(readings, quantity):
            flows = [r.flow_m3s for r in run]
            moved = max(flows) - min(flows) > FLOW_MUST_MOVE * largest
            others = any(
                len({getattr(r, other) for r in run}) > 1
                for other in ("head_m", "discharge_pa")
                if other != quantity
            )
            if len(run) >= STUCK_FOR and (others if quantity == "flow_m3s" else moved):
                numbers = tuple(r.number for r in run)
                value = units[quantity].show(getattr(run[0], quantity))
                says = (
                    f"{NAMES[quantity].capitalize()} stands at {value} in readings "
                    f"{numbers[0]} to {numbers[-1]} while the pump moved on; is the instrument "
                    "stuck, or its valve shut?"
                )
                found.append(_pair(Kind.STUCK, Weight.ASKS, numbers, quantity, says))
    speeds = {r.speed_rpm for r in readings}
    if len(readings) >= STUCK_FOR + 1 and len(speeds) == 1:
        says = (
            f"The speed is {readings[0].speed_rpm:g} rev/min in every reading; a motor slips "
            "with load, so was it measured at each?"
        )
        numbers = tuple(r.number for r in readings)
        found.append(_pair(Kind.STUCK, Weight.TELLS, numbers, "speed_rpm", says))
    return found


def _runs(readings: Sequence[Reading], quantity: str) -> list[list[Reading]]:
    """Stretches of successive readings with the same value of a quantity."""
    runs: list[list[Reading]] = []
    for reading in readings:
        value = getattr(reading, quantity)
        if value is None or not math.isfinite(reading.flow_m3s):
            continue
        if runs and getattr(runs[-1][-1], quantity) == value:
            runs[-1].append(reading)
        else:
            runs.append([reading])
    return runs


def _swapped_gauges(readings: Sequence[Reading], units: Mapping[str, Unit]) -> list[Remark]:
    """A suction gauge that shows more than the discharge gauge."""
    found = []
    for reading in readings:
        suction, discharge = reading.suction_pa, reading.discharge_pa
        if suction is None or discharge is None or suction < discharge:
            continue
        says = (
            f"Reading {reading.number}: suction shows {units['suction_pa'].show(suction)} and "
            f"discharge {units['discharge_pa'].show(discharge)}; are the two swapped?"
        )
        found.append(_pair(Kind.SWAPPED, Weight.ASKS, (reading.number,), "suction_pa", says))
    return found


def _off_the_curve(
    readings: Sequence[Reading], points: Sequence[Point], units: Mapping[str, Unit]
) -> list[Remark]:
    """Values that leave the smooth curve of the others, and what they may have been meant as."""
    quantities: list[tuple[str, Callable[[Point], float | None]]] = [
        ("head_m", lambda p: p.head_m),
        ("shaft_power_w", lambda p: p.shaft_power_w),
    ]
    found = []
    for quantity, value in quantities:
        with_value = [p for p in points if value(p) is not None]
        typed = _typed_as(readings, quantity)
        found += [
            _suspicion(suspect, quantity, units)
            for suspect in suspects(
                numbers=[p.number for p in with_value],
                flows=[p.flow_m3s for p in with_value],
                values=[float(value(p) or 0.0) for p in with_value],
                speeds=[p.speed_rpm for p in with_value],
                power=2 if quantity == "head_m" else 3,
                unit_factor=units[typed].factor if typed == quantity else None,
            )
        ]
    return found


def _typed_as(readings: Sequence[Reading], quantity: str) -> str:
    """The field a quantity was typed in, so that its digits can be looked at."""
    if quantity == "head_m":
        return "head_m" if all(r.head_m is not None for r in readings) else "discharge_pa"
    return "shaft_power_w" if all(r.shaft_power_w is not None for r in readings) else "torque_nm"


def _suspicion(suspect: Suspect, quantity: str, units: Mapping[str, Unit]) -> Remark:
    unit, name = units[quantity], NAMES[quantity]
    says = (
        f"Reading {suspect.number}: {name} {unit.show(suspect.value)} lies "
        f"{abs(suspect.value / suspect.expected - 1):.0%} "
        f"{'above' if suspect.value > suspect.expected else 'below'} the curve of the others, "
        f"which give about {suspect.expected / unit.factor:.3g} {unit.symbol}"
    )
    kind = Kind.OFF_THE_CURVE
    numbers: tuple[int, ...] = (suspect.number,)
    if suspect.swapped_with is not None:
        kind, numbers = Kind.SWAPPED, (suspect.number, suspect.swapped_with)
        says += f"; exchanged with reading {suspect.swapped_with} both would fit"
    elif suspect.meant is not None:
        kind = Kind.MISTYPED
        says += f"; was {unit.show(suspect.meant)} meant ({suspect.slip})?"
    sentence = says if says.endswith("?") else says + "."
    return _pair(kind, Weight.ASKS, numbers, quantity, sentence)
