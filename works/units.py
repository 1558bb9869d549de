"""Units at the edge: what a customer writes becomes SI, and SI is shown in the customer's unit.

Inside the program everything is SI (speed stays in rev/min); here alone `pint` converts. Figures
are taken with a decimal point or a decimal comma; one that could mean two things, such as 1.000,
is refused, as a factor of a thousand in a flow is worse than a question.
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from functools import cache

import pint

from works.formats import number

_registry: pint.UnitRegistry[float] = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


class Kind(StrEnum):
    """What sort of quantity a field takes."""

    FLOW = "flow"
    HEAD = "head"
    PRESSURE = "pressure"
    POWER = "power"
    TEMPERATURE = "temperature"
    LENGTH = "length"
    DIAMETER = "diameter"
    MASS = "mass"
    DENSITY = "density"
    VISCOSITY = "viscosity"
    SPEED = "speed"
    DURATION = "duration"


@dataclass(frozen=True)
class Unit:
    """One unit offered for a kind.

    key : stands in forms and addresses
    label : shown
    pint_name : how pint spells it
    also : other spellings that people type
    """

    key: str
    label: str
    pint_name: str
    also: tuple[str, ...] = ()


# The first unit of each kind is the one offered; the second member is what is stored.
_UNITS: dict[Kind, tuple[str, tuple[Unit, ...]]] = {
    Kind.FLOW: (
        "meter ** 3 / second",
        (
            Unit("m3h", "m³/h", "meter ** 3 / hour", ("m3/h", "cbm/h", "cmh")),
            Unit("ls", "L/s", "liter / second", ("l/sec", "lps")),
            Unit("m3s", "m³/s", "meter ** 3 / second", ("m3/s",)),
            Unit("lmin", "L/min", "liter / minute", ("lpm",)),
            Unit("usgpm", "US gpm", "gallon / minute", ("usgpm", "us gal/min")),
            Unit("impgpm", "imp. gpm", "imperial_gallon / minute", ("igpm", "imp gpm")),
        ),
    ),
    Kind.HEAD: (
        "meter",
        (Unit("m", "m", "meter", ("mlc", "mwc")), Unit("ft", "ft", "foot", ("feet",))),
    ),
    Kind.PRESSURE: (
        "pascal",
        (
            Unit("bar", "bar", "bar"),
            Unit("kpa", "kPa", "kilopascal"),
            Unit("mpa", "MPa", "megapascal", ("n/mm2", "n/mm²")),
            Unit("psi", "psi", "psi", ("lbf/in2",)),
            Unit("kgfcm2", "kgf/cm²", "kilogram_force / centimeter ** 2", ("kgf/cm2", "kg/cm2")),
        ),
    ),
    Kind.POWER: (
        "watt",
        (
            Unit("kw", "kW", "kilowatt"),
            Unit("w", "W", "watt"),
            Unit("hp", "hp", "horsepower", ("bhp",)),
            Unit("ps", "PS", "metric_horsepower", ("cv", "metric hp")),
        ),
    ),
    Kind.TEMPERATURE: (
        "kelvin",
        (
            Unit("c", "°C", "degree_Celsius", ("c", "celsius")),
            Unit("f", "°F", "degree_Fahrenheit", ("f", "fahrenheit")),
            Unit("k", "K", "kelvin"),
        ),
    ),
    Kind.LENGTH: (
        "meter",
        (
            Unit("m", "m", "meter"),
            Unit("mm", "mm", "millimeter"),
            Unit("ft", "ft", "foot", ("feet",)),
            Unit("in", "in", "inch", ('"', "inch", "inches")),
            Unit("km", "km", "kilometer"),
        ),
    ),
    Kind.DIAMETER: (
        "millimeter",
        (
            Unit("mm", "mm", "millimeter"),
            Unit("in", "in", "inch", ('"', "inch", "inches")),
            Unit("m", "m", "meter"),
        ),
    ),
    Kind.MASS: (
        "kilogram",
        (
            Unit("kg", "kg", "kilogram"),
            Unit("t", "t", "metric_ton", ("tonne", "tonnes")),
            Unit("lb", "lb", "pound", ("lbs",)),
        ),
    ),
    Kind.DENSITY: (
        "kilogram / meter ** 3",
        (
            Unit("kgm3", "kg/m³", "kilogram / meter ** 3", ("kg/m3",)),
            Unit("kgl", "kg/L", "kilogram / liter", ("kg/dm3", "kg/dm³")),
            Unit("gcm3", "g/cm³", "gram / centimeter ** 3", ("g/cm3",)),
            Unit("lbft3", "lb/ft³", "pound / foot ** 3", ("lb/ft3",)),
        ),
    ),
    Kind.VISCOSITY: (
        "meter ** 2 / second",
        (
            Unit("mm2s", "mm²/s", "millimeter ** 2 / second", ("mm2/s",)),
            Unit("cst", "cSt", "centistokes"),
            Unit("m2s", "m²/s", "meter ** 2 / second", ("m2/s",)),
        ),
    ),
    Kind.SPEED: (
        "revolution / minute",
        (Unit("rpm", "rev/min", "revolution / minute", ("r/min",)),),
    ),
    Kind.DURATION: (
        "second",
        (
            Unit("h", "h", "hour", ("hours",)),
            Unit("min", "min", "minute", ("minutes",)),
            Unit("d", "d", "day", ("days",)),
            Unit("s", "s", "second", ("seconds",)),
        ),
    ),
}


class QuantityRefused(ValueError):
    """What was typed can't be taken; the sentence says what would be right."""


class Unreadable(QuantityRefused):
    """No figure in it."""

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(f"“{text}” is no figure that can be read. Write it like 12.5 or 12,5.")


class Ambiguous(QuantityRefused):
    """One mark before three digits: thousands or decimals?"""

    def __init__(self, text: str, whole: str, decimals: str) -> None:
        self.text = text
        as_thousands = whole + decimals
        short = decimals.rstrip("0") or "0"
        as_decimal = f"{whole}.{short}" if len(short) < 3 else f"{whole}.{decimals}0"
        super().__init__(
            f"“{text}” can be read in two ways. Write {as_thousands} for the large figure or "
            f"{as_decimal} for the small one."
        )


class UnknownUnit(QuantityRefused):
    """A unit that this quantity isn't measured in here."""

    def __init__(self, unit: str, kind: Kind) -> None:
        self.unit = unit
        self.kind = kind
        offered = ", ".join(each.label for each in units(kind))
        super().__init__(f"“{unit}” is no unit of {kind} known here. Use one of {offered}.")


class UnitsDisagree(QuantityRefused):
    """One unit typed behind the figure, another one chosen beside it."""

    def __init__(self, typed: Unit, chosen: Unit) -> None:
        self.typed = typed
        self.chosen = chosen
        super().__init__(
            f"The figure ends in {typed.label}, but {chosen.label} is chosen beside it. "
            f"Choose {typed.label} or leave the unit out of the figure."
        )


class BelowAbsoluteZero(QuantityRefused):
    """A temperature that can't be."""

    def __init__(self, text: str, unit: Unit) -> None:
        super().__init__(
            f"{text} {unit.label} is below absolute zero. Check the sign and the unit."
        )


def units(kind: Kind) -> tuple[Unit, ...]:
    """Units offered for a kind, the usual one first."""
    return _UNITS[kind][1]


def unit(kind: Kind, key: str) -> Unit:
    """The unit with this key.

    raises : UnknownUnit
    """
    for each in units(kind):
        if each.key == key:
            return each
    raise UnknownUnit(key, kind)


_SPACES = (
    " \N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}\N{THIN SPACE}'\N{RIGHT SINGLE QUOTATION MARK}"
)
_POWER = r"[eE][+-]?[0-9]{1,2}"
_FIGURE = re.compile(rf"(?P<sign>[+-]?)(?P<digits>[0-9.,]*[0-9][.,]?)(?P<power>{_POWER})?")
_GROUPED = re.compile(rf"[0-9]{{1,3}}(?:[{_SPACES}][0-9]{{3}})+(?![0-9])")
_FIGURE_AND_UNIT = re.compile(
    rf"(?P<figure>[-+−]?[0-9.,{_SPACES}]*[0-9][.,]?(?:{_POWER})?)\s*"
    r"(?P<tail>[^\d\s.,+\-].*)"
)


def parse_number(text: str) -> Decimal:
    """Read a figure as people write it.

    text : decimal point or comma; thousands parted by spaces, apostrophes, points or commas
    returns : the figure [-]
    raises : Unreadable, or Ambiguous for one mark followed by three digits (1.000)
    """
    written = text.strip()
    bare = written.replace("\N{MINUS SIGN}", "-")
    bare = _GROUPED.sub(lambda found: re.sub(rf"[{_SPACES}]", "", found[0]), bare)
    found = _FIGURE.fullmatch(bare)
    if not found:
        raise Unreadable(written)
    mantissa = _plain(found["digits"], written)
    return Decimal(found["sign"] + mantissa + (found["power"] or ""))


def _plain(digits: str, written: str) -> str:
    """The digits with one decimal point at most."""
    marks = re.findall(r"[.,]", digits)
    kinds = set(marks)
    if len(marks) == 1:
        whole, _, decimals = digits.partition(marks[0])
        grouped = len(decimals) == 3 and 1 <= len(whole) <= 3 and not whole.startswith("0")
        if grouped:
            raise Ambiguous(written, whole, decimals)
        return f"{whole or '0'}.{decimals or '0'}"
    if not marks:
        return digits
    if len(kinds) == 1:  # 1.234.567: only thousands can come more than once
        whole, decimals, part = digits, "", marks[0]
    else:
        part, last = marks[0], marks[-1]
        if marks.count(last) != 1:
            raise Unreadable(written)
        whole, _, decimals = digits.rpartition(last)
    groups = whole.split(part)
    if (
        len(kinds) > 2
        or not groups[0]
        or len(groups[0]) > 3
        or any(len(g) != 3 for g in groups[1:])
    ):
        raise Unreadable(written)
    return "".join(groups) + (f".{decimals}" if decimals else "")


def parse(text: str, kind: Kind, key: str) -> float:
    """Read a figure in a unit and give it in SI.

    text : the figure, the unit may stand behind it if it is the chosen one
    key : of the unit chosen beside it
    returns : [SI of the kind; mm for a diameter, rev/min for a speed]
    raises : Unreadable, Ambiguous, UnknownUnit, UnitsDisagree, BelowAbsoluteZero
    """
    chosen = unit(kind, key)
    figure, typed = _part(text, kind)
    if typed is not None and typed != chosen:
        raise UnitsDisagree(typed, chosen)
    value = to_si(float(parse_number(figure)), kind, key)
    if kind is Kind.TEMPERATURE and value < 0:
        raise BelowAbsoluteZero(figure, chosen)
    return value


def _part(text: str, kind: Kind) -> tuple[str, Unit | None]:
    """Part a figure from a unit written behind it."""
    written = text.strip()
    found = _FIGURE_AND_UNIT.fullmatch(written)
    if not found:
        return written, None
    wanted = _spelling(found["tail"])
    for each in units(kind):
        if wanted in {_spelling(name) for name in (each.key, each.label, *each.also)}:
            return found["figure"].strip(), each
    raise UnknownUnit(found["tail"], kind)


def _spelling(name: str) -> str:
    return re.sub(r"[\s.]", "", name).replace("³", "3").replace("²", "2").casefold()


@cache
def _line(kind: Kind, key: str) -> tuple[float, float]:
    """Slope and offset from a unit to SI, from pint."""
    base = _UNITS[kind][0]
    name = unit(kind, key).pint_name
    zero = float(_registry.Quantity(0.0, name).to(base).magnitude)
    one = float(_registry.Quantity(1.0, name).to(base).magnitude)
    if zero == 0.0:
        return one, 0.0
    # the difference of two offset temperatures loses digits; a large step keeps them
    far = float(_registry.Quantity(900.0, name).to(base).magnitude)
    return (far - zero) / 900.0, zero


def to_si(value: float, kind: Kind, key: str) -> float:
    """value : in the unit `key`; returns it in SI (mm for a diameter, rev/min for a speed)."""
    slope, offset = _line(kind, key)
    return value * slope + offset


def from_si(value: float, kind: Kind, key: str) -> float:
    """value : in SI (mm for a diameter, rev/min for a speed); returns it in the unit `key`."""
    slope, offset = _line(kind, key)
    return (value - offset) / slope


def entry_text(value: float, kind: Kind, key: str) -> str:
    """A stored quantity as one would type it: six significant figures, a decimal point."""
    shown = from_si(value, kind, key)
    text = f"{shown:.6g}"
    if "e" in text:
        text = f"{Decimal(text):f}"
    whole, _, decimals = text.partition(".")
    if len(decimals) == 3 and 1 <= len(whole.lstrip("-")) <= 3 and whole.lstrip("-") != "0":
        return f"{text}0"  # or the field would refuse its own figure as ambiguous
    return text


def shown(value: float, kind: Kind, key: str, digits: int | None = None) -> str:
    """A stored quantity in a customer's unit with the unit behind it."""
    return f"{number(from_si(value, kind, key), digits)}\N{NO-BREAK SPACE}{unit(kind, key).label}"
