"""What a rule's condition may look at: a fixed list, each with its words, unit and reader."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from selection.materials.metals import Metal, hardness_gap_hb
from selection.materials.service import Service


@dataclass(frozen=True, kw_only=True)
class Situation:
    """What a condition may look at.

    metal, other : of the part and of the part it touches, if the rule is about two
    tip_speed_m_s : of the impeller; None where no speed is chosen yet [m/s]
    """

    service: Service
    metal: Metal
    other: Metal | None
    tip_speed_m_s: float | None


class Scope(StrEnum):
    """What a property belongs to."""

    SERVICE = "service"
    METAL = "metal"
    PAIR = "pair"


Reader = Callable[[Situation], float | bool | None]


@dataclass(frozen=True)
class Property:
    """Something a condition may compare.

    words : how a sentence names it
    unit : of its value and of thresholds
    columns : of the metals' list it rests on, for the certainty of the verdict
    ask : a value not stated needs a reason, not only a remark
    flag : yes or no instead of a number
    """

    name: str
    words: str
    unit: str
    read: Reader
    scope: Scope = Scope.SERVICE
    columns: tuple[str, ...] = ()
    ask: bool = True
    flag: bool = False

    def __reduce__(self) -> tuple[Callable[[str], "Property"], tuple[str]]:
        """Travel to another process by name: readers are functions of this module."""
        return named, (self.name,)


def _flag(name: str, words: str, read: Callable[[Service], bool]) -> Property:
    return Property(name, words, "", lambda s: read(s.service), flag=True)


def _excess(situation: Situation) -> float | None:
    limit = situation.metal.tip_speed_m_s
    if situation.tip_speed_m_s is None or limit is None:
        return None
    return situation.tip_speed_m_s - limit


def _gap(situation: Situation) -> float | None:
    return None if situation.other is None else hardness_gap_hb(situation.metal, situation.other)


def _softer(situation: Situation) -> float | None:
    one = situation.metal.hardness_low_hb
    other = None if situation.other is None else situation.other.hardness_low_hb
    return None if one is None or other is None else min(one, other)


def _nobler(situation: Situation) -> float | None:
    one = situation.metal.potential_mv
    other = None if situation.other is None else situation.other.potential_mv
    return None if one is None or other is None else one - other


_HB = ("hardness_low_hb", "hardness_high_hb")
_ALL = (
    Property("temperature_c", "temperature", "°C", lambda s: s.service.temperature_c),
    Property("chloride_ppm", "chloride content", "mg/kg", lambda s: s.service.chloride_ppm),
    Property("ph", "pH", "", lambda s: s.service.ph),
    Property("sand_ppm", "sand content", "mg/kg", lambda s: s.service.sand_ppm),
    Property(
        "free_chlorine_ppm",
        "free chlorine",
        "mg/kg",
        lambda s: s.service.free_chlorine_ppm,
        ask=False,
    ),
    Property(
        "saturation_index",
        "Langelier saturation index",
        "",
        lambda s: s.service.saturation_index,
        ask=False,
    ),
    Property("tip_speed_m_s", "tip speed", "m/s", lambda s: s.tip_speed_m_s, ask=False),
    _flag("hydrogen_sulphide", "hydrogen sulphide", lambda s: s.hydrogen_sulphide),
    _flag("ammonia", "ammonia", lambda s: s.ammonia),
    _flag("stagnant", "standing full between runs", lambda s: s.stagnant),
    _flag("drinking_water", "drinking water", lambda s: s.drinking_water),
    _flag("zinc_free", "zinc-free bronze called for", lambda s: s.zinc_free),
    Property(
        "zinc_pct", "zinc content", "%", lambda s: s.metal.zinc_pct, Scope.METAL, ("zinc_pct",)
    ),
    Property("pren", "PREN", "", lambda s: s.metal.pren_low, Scope.METAL, ("pren_low",)),
    Property(
        "hardness_hb",
        "highest hardness",
        "HB",
        lambda s: s.metal.hardness_high_hb,
        Scope.METAL,
        ("hardness_high_hb",),
    ),
    Property(
        "tip_speed_excess_m_s",
        "tip speed over the metal's own limit",
        "m/s",
        _excess,
        Scope.METAL,
        ("tip_speed_m_s",),
        ask=False,
    ),
    Property("hardness_gap_hb", "sure difference of hardness", "HB", _gap, Scope.PAIR, _HB),
    Property("softer_hardness_hb", "hardness of the softer one", "HB", _softer, Scope.PAIR, _HB),
    Property(
        "nobler_by_mv",
        "potential over that of the larger part",
        "mV",
        _nobler,
        Scope.PAIR,
        ("potential_mv",),
    ),
)
PROPERTIES: Mapping[str, Property] = {p.name: p for p in _ALL}


def named(name: str) -> Property:
    """The property of that name.

    name : one of PROPERTIES
    """
    return PROPERTIES[name]
