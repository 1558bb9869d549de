"""The liquid and how the pump stands in it."""

from dataclasses import dataclass
from enum import StrEnum

from selection.materials.quantities import celsius, checked, temperature


class Liquid(StrEnum):
    """Kinds of liquid that the suitability table knows."""

    CLEAN_FRESH = "clean fresh water"
    RAW_RIVER = "raw river water"
    SEA = "sea water"
    BRACKISH = "brackish water"
    HOT = "hot water"
    CONDENSATE = "condensate"
    EFFLUENT = "sewage effluent"
    FIRE = "fire water"
    CHLORINATED = "chlorinated water"


@dataclass(frozen=True, kw_only=True)
class Service:
    """What the metals have to live in. None means not stated, and rules then say so.

    liquid : kind
    temperature_k : highest of the liquid [K]
    chloride_ppm : dissolved chloride, the yearly maximum [mg/kg]
    ph : at the temperature of the sample [-]
    sand_ppm : sand and silt by weight, the highest continuous [mg/kg]
    free_chlorine_ppm : [mg/kg]
    saturation_index : Langelier index, below 0 for soft, aggressive water [-]
    hydrogen_sulphide, ammonia : present
    stagnant : stands full for days between runs
    drinking_water : for people to drink
    zinc_free : the contract calls for zinc-free bronze
    """

    liquid: Liquid
    temperature_k: float
    chloride_ppm: float | None = None
    ph: float | None = None
    sand_ppm: float | None = None
    free_chlorine_ppm: float | None = None
    saturation_index: float | None = None
    hydrogen_sulphide: bool = False
    ammonia: bool = False
    stagnant: bool = False
    drinking_water: bool = False
    zinc_free: bool = False

    def __post_init__(self) -> None:
        temperature(self.temperature_k)
        for value, quantity, unit, lowest, highest in (
            (self.chloride_ppm, "chloride content", "mg/kg", 0.0, 200_000.0),
            (self.ph, "pH", "", 0.0, 14.0),
            (self.sand_ppm, "sand content", "mg/kg", 0.0, 700_000.0),
            (self.free_chlorine_ppm, "free chlorine", "mg/kg", 0.0, 10_000.0),
            (self.saturation_index, "Langelier saturation index", "", -10.0, 10.0),
        ):
            if value is not None:
                checked(value, quantity=quantity, unit=unit, lowest=lowest, highest=highest)

    @property
    def temperature_c(self) -> float:
        """Highest temperature of the liquid [°C]."""
        return celsius(self.temperature_k)
