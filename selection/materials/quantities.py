"""Figures at the door and in sentences: checked once, written one way."""

import math

from selection.materials.errors import BadQuantity

ZERO_CELSIUS_K = 273.15
BAR_PA = 1e5
PSI_PA = 6894.757  # pound-force per square inch [Pa], ISO 80000-4


def checked(
    value: float, *, quantity: str, unit: str, lowest: float, highest: float, hint: str = ""
) -> float:
    """Give a figure back, or say what is wrong with it.

    value : the figure [any]
    quantity : its name in a sentence
    unit : of value, lowest and highest
    lowest : allowed [any]
    highest : allowed [any]
    hint : what was perhaps mistaken
    raises : BadQuantity
    """
    if not math.isfinite(value) or not lowest <= value <= highest:
        raise BadQuantity(
            quantity=quantity,
            value=value,
            unit=unit,
            lowest=lowest,
            highest=highest,
            hint=hint,
        )
    return float(value)


def celsius(temperature_k: float) -> float:
    """Convert to the scale of the tables, free of the crumbs of binary subtraction.

    temperature_k : absolute [K]
    returns : [°C]
    """
    return round(temperature_k - ZERO_CELSIUS_K, 9)


def bar_words(pressure_pa: float) -> str:
    """A gauge pressure as a sentence says it: bar, two decimals at most.

    pressure_pa : gauge [Pa]
    """
    return f"{round(pressure_pa / BAR_PA, 2):g} bar"


def celsius_words(temperature_k: float) -> str:
    """A temperature as a sentence says it.

    temperature_k : absolute [K]
    """
    return f"{round(celsius(temperature_k), 1):g} °C"


def pressure(value_pa: float, quantity: str, *, lowest: float = -BAR_PA) -> float:
    """Check a gauge pressure.

    value_pa : gauge [Pa]
    quantity : its name in a sentence
    lowest : allowed; a vacuum by default [Pa]
    raises : BadQuantity
    """
    return checked(
        value_pa,
        quantity=quantity,
        unit="Pa",
        lowest=lowest,
        highest=1e8,
        hint="Pressures are gauge, in pascal: 1 bar is 100000 Pa.",
    )


def temperature(value_k: float, quantity: str = "temperature of the liquid") -> float:
    """Check the temperature of a liquid.

    value_k : absolute [K]
    quantity : its name in a sentence
    raises : BadQuantity
    """
    return checked(
        value_k,
        quantity=quantity,
        unit="K",
        lowest=253.15,
        highest=573.15,
        hint="Temperatures are absolute: 20 °C is 293.15 K.",
    )
