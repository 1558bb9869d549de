"""How values are shown in sentences: the unit that somebody typed in.

Everything inside is SI. A sentence about a reading only helps when it speaks of the number on the
test sheet, so the caller says which unit each quantity was typed in.
"""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Unit:
    """The unit somebody typed in.

    symbol : as shown
    factor : SI value of one such unit, > 0
    """

    symbol: str
    factor: float

    def show(self, value: float) -> str:
        """A value in this unit, to six figures.

        value : in SI
        returns : number and symbol
        """
        return f"{value / self.factor:.6g} {self.symbol}"


SI_UNITS: Mapping[str, Unit] = {
    "flow_m3s": Unit(symbol="m³/s", factor=1),
    "speed_rpm": Unit(symbol="rev/min", factor=1),
    "head_m": Unit(symbol="m", factor=1),
    "suction_pa": Unit(symbol="Pa", factor=1),
    "discharge_pa": Unit(symbol="Pa", factor=1),
    "shaft_power_w": Unit(symbol="W", factor=1),
    "torque_nm": Unit(symbol="N m", factor=1),
    "electric_power_w": Unit(symbol="W", factor=1),
    "temperature_k": Unit(symbol="K", factor=1),
    "taken_at_s": Unit(symbol="s", factor=1),
}

NAMES: Mapping[str, str] = {
    "flow_m3s": "flow",
    "speed_rpm": "speed",
    "head_m": "head",
    "suction_pa": "suction pressure",
    "discharge_pa": "discharge pressure",
    "shaft_power_w": "shaft power",
    "torque_nm": "torque",
    "electric_power_w": "electric power",
    "temperature_k": "temperature",
    "taken_at_s": "time",
}
