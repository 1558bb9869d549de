"""Gland packing or mechanical seal: box pressure, reasons, flush plan.

A double-suction pump's boxes see suction pressure and a little more. In a lift they stand below
the atmosphere and draw air unless they are sealed with water. Limits are common practice and
settings of the works, but for a seal's static limit, which its maker gives.
"""

from dataclasses import dataclass

from selection.configuration import Sealing
from selection.materials.quantities import bar_words, celsius_words, checked, pressure
from selection.materials.service import Service

OWN_LIQUID = "own liquid to the lantern ring"
CLEAN_WATER = "clean water to the lantern ring"
PACKING_PLANS = (OWN_LIQUID, CLEAN_WATER)


@dataclass(frozen=True, kw_only=True)
class SealSettings:
    """The works' own limits, common practice.

    box_share : share of the differential pressure that leaks to the boxes, 0 to 1 [-]
    packing_box_max_pa : highest box pressure of packing, gauge [Pa]
    packing_temperature_max_k : highest temperature of packing without cooling [K]
    hot_from_k : from here a seal wants cooling [K]
    grit_from_ppm : from here a box wants a clean flush [mg/kg]
    hard_sleeve_hb : 50 HRC is about 475 HB [HB]
    """

    box_share: float = 0.05
    packing_box_max_pa: float = 10e5
    packing_temperature_max_k: float = 378.15
    hot_from_k: float = 353.15
    grit_from_ppm: float = 50.0
    hard_sleeve_hb: float = 475.0

    def __post_init__(self) -> None:
        checked(self.box_share, quantity="box share", unit="", lowest=0.0, highest=1.0)
        pressure(self.packing_box_max_pa, "highest box pressure of packing", lowest=0.0)


@dataclass(frozen=True, kw_only=True)
class SealNeeds:
    """What the site asks of the shaft seal.

    leakage_allowed : drops may run to a drain; None where not stated
    unattended : nobody adjusts a gland for weeks
    clean_flush_available : clean water above box pressure is at hand
    """

    leakage_allowed: bool | None = None
    unattended: bool = False
    clean_flush_available: bool = False


@dataclass(frozen=True, kw_only=True)
class BoxPressure:
    """Pressure in the stuffing boxes, gauge.

    lowest_pa, highest_pa : estimate [Pa]
    """

    lowest_pa: float
    highest_pa: float
    sentence: str

    @property
    def draws_air(self) -> bool:
        """The box stands below the atmosphere at some time."""
        return self.lowest_pa < 0.0


@dataclass(frozen=True, kw_only=True)
class Reason:
    """Why one way of sealing, or another."""

    for_sealing: Sealing
    sentence: str
    decides: bool


@dataclass(frozen=True, kw_only=True)
class SealSuggestion:
    """What the works would offer, and why."""

    sealing: Sealing
    flush_plan: str
    reasons: tuple[Reason, ...]


def box_pressure(
    suction_min_pa: float,
    suction_max_pa: float,
    differential_max_pa: float,
    settings: SealSettings,
) -> BoxPressure:
    """Estimate the pressure in the boxes of a double-suction pump.

    suction_min_pa : lowest at the suction flange, gauge [Pa]
    suction_max_pa : highest at the suction flange, gauge [Pa]
    differential_max_pa : shut-off, >= 0 [Pa]
    settings : share of it that leaks to the boxes
    returns : suction pressure, and the share of the differential at the top
    raises : BadQuantity
    source : boxes see suction pressure and a little more, common practice
    """
    low = pressure(suction_min_pa, "lowest suction pressure")
    high = pressure(suction_max_pa, "highest suction pressure", lowest=low)
    differential = pressure(differential_max_pa, "differential pressure", lowest=0.0)
    top = high + settings.box_share * differential
    return BoxPressure(
        lowest_pa=low,
        highest_pa=top,
        sentence=(
            f"Box pressure {bar_words(low)} to {bar_words(top)}: suction pressure, and at the top "
            f"{settings.box_share:.0%} of {bar_words(differential)}."
        ),
    )


def suggest_sealing(
    service: Service, needs: SealNeeds, box: BoxPressure, settings: SealSettings
) -> SealSuggestion:
    """Packing or mechanical seal, with the reasons for each.

    service : the liquid
    needs : of the site
    box : pressure in the boxes
    settings : the works' limits
    returns : a mechanical seal where anything decides for it, otherwise packing
    source : common practice of the trade
    """
    seal = Sealing.MECHANICAL_SEAL
    reasons = [
        Reason(for_sealing=seal, sentence=sentence, decides=True)
        for told, sentence in (
            (needs.leakage_allowed is False, "No leakage is allowed."),
            (service.drinking_water, "Drinking water: nothing should drip or be drawn in."),
            (needs.unattended, "Nobody is there to adjust a gland."),
            (
                service.temperature_k > settings.packing_temperature_max_k,
                f"{celsius_words(service.temperature_k)} is over the "
                f"{celsius_words(settings.packing_temperature_max_k)} of packing.",
            ),
            (
                box.highest_pa > settings.packing_box_max_pa,
                f"Box pressure {bar_words(box.highest_pa)} is over the "
                f"{bar_words(settings.packing_box_max_pa)} of packing.",
            ),
        )
        if told
    ]
    chosen = seal if reasons else Sealing.PACKING
    reasons.append(
        Reason(
            for_sealing=Sealing.PACKING,
            sentence="Packing tolerates shaft movement and is replaced in the field; it needs to "
            "drip, some 40 to 60 drops a minute a box.",
            decides=chosen is Sealing.PACKING,
        )
    )
    return SealSuggestion(
        sealing=chosen,
        flush_plan=suggest_plan(chosen, service, needs, box, settings),
        reasons=tuple(reasons),
    )


def suggest_plan(
    sealing: Sealing,
    service: Service,
    needs: SealNeeds,
    box: BoxPressure,
    settings: SealSettings,
) -> str:
    """Flush plan of API 682, or where the lantern ring gets its water.

    sealing : chosen
    service : the liquid
    needs : of the site
    box : pressure in the boxes
    settings : the works' limits
    source : API 682 Annex A as published: 11 by default, 31 or 32 for dirty liquids, 23 for hot
        water; packing: common practice
    """
    dirty = gritty(service, settings)
    if sealing is Sealing.PACKING:
        wants_clean = dirty or (box.draws_air and needs.clean_flush_available)
        return CLEAN_WATER if wants_clean else OWN_LIQUID
    if dirty:
        return "32" if needs.clean_flush_available else "31"
    if service.temperature_k >= settings.hot_from_k:
        return "23"
    return "11"


def seal_test_pressure_pa(
    box: BoxPressure, seal_static_limit_pa: float, weakest_part_pa: float
) -> float:
    """Pressure of the seal leakage test after the performance test.

    box : pressure in the boxes
    seal_static_limit_pa : of the mechanical seal, gauge, > 0 [Pa]
    weakest_part_pa : rating of the weakest part under pressure, gauge, > 0 [Pa]
    returns : the lowest of the three, gauge [Pa]
    raises : BadQuantity
    source : common practice
    """
    limit = pressure(seal_static_limit_pa, "static limit of the seal", lowest=1.0)
    weakest = pressure(weakest_part_pa, "rating of the weakest part", lowest=1.0)
    return min(box.highest_pa, limit, weakest)


def gritty(service: Service, settings: SealSettings) -> bool:
    """Whether the boxes want a clean flush.

    service : the liquid
    settings : the works' limits
    """
    return service.sand_ppm is not None and service.sand_ppm > settings.grit_from_ppm
