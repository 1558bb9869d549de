"""What stands against a way of sealing: sentences with figure and limit, refusals last.

Only a box pressure above the seal's static limit cannot be overridden: the seal does not hold.
"""

from selection.configuration import Sealing
from selection.materials.metals import Metal
from selection.materials.quantities import BAR_PA, bar_words, celsius_words, pressure
from selection.materials.sealing import (
    CLEAN_WATER,
    OWN_LIQUID,
    PACKING_PLANS,
    BoxPressure,
    SealNeeds,
    SealSettings,
    gritty,
)
from selection.materials.service import Service
from selection.materials.verdicts import Severity, Verdict
from works.standards import Certainty, StandardRow

_TOPIC = "sealing"
_PLACE = "stuffing box"
_TRADE = "trade rule with no single source"
_ANNEX_A = "published summary of API 682 Annex A"


def check_sealing(
    sealing: Sealing,
    flush_plan: str,
    seal_static_limit_pa: float | None,
    sleeve: Metal,
    service: Service,
    needs: SealNeeds,
    box: BoxPressure,
    settings: SealSettings,
    plans: tuple[StandardRow, ...],
) -> tuple[Verdict, ...]:
    """Everything against a way of sealing.

    sealing : chosen
    flush_plan : chosen
    seal_static_limit_pa : of the mechanical seal, gauge; None with packing [Pa]
    sleeve : metal of the shaft sleeve
    service : the liquid
    needs : of the site
    box : pressure in the boxes
    settings : the works' limits
    plans : of API 682
    raises : BadQuantity
    """
    if sealing is Sealing.PACKING:
        found = _packing(flush_plan, sleeve, service, needs, box, settings)
        if seal_static_limit_pa is not None:
            found.append(
                _say(
                    "static limit with packing",
                    Severity.CAUTION,
                    "A static limit of a mechanical seal is given, but packing is chosen: it is "
                    "not used.",
                    needs_reason=False,
                )
            )
    else:
        found = _seal(flush_plan, seal_static_limit_pa, service, needs, box, settings, plans)
    return (
        _say("box pressure", Severity.FITS, box.sentence, needs_reason=False),
        *found,
    )


def _packing(
    flush_plan: str,
    sleeve: Metal,
    service: Service,
    needs: SealNeeds,
    box: BoxPressure,
    settings: SealSettings,
) -> list[Verdict]:
    found = []
    if flush_plan not in PACKING_PLANS:
        found.append(
            _say(
                "lantern ring water",
                Severity.REFUSE,
                f"'{flush_plan}' does not say where the lantern ring gets its water: "
                f"{' or '.join(PACKING_PLANS)}.",
            )
        )
    if needs.leakage_allowed is False:
        found.append(
            _say(
                "packing drips",
                Severity.AVOID,
                "Packing has to drip, some 40 to 60 drops a minute a box, and no leakage is "
                "allowed: a mechanical seal.",
            )
        )
    elif needs.leakage_allowed is None:
        found.append(
            _say(
                "leakage not stated",
                Severity.CAUTION,
                "Whether leakage is allowed is not stated; packing has to drip, some 40 to 60 "
                "drops a minute a box.",
            )
        )
    if needs.unattended:
        found.append(
            _say(
                "packing unattended",
                Severity.AVOID,
                "Nobody is there to adjust the gland: a mechanical seal.",
            )
        )
    if box.highest_pa > settings.packing_box_max_pa:
        found.append(
            _say(
                "packing box pressure",
                Severity.AVOID,
                f"Box pressure {bar_words(box.highest_pa)} is over the "
                f"{bar_words(settings.packing_box_max_pa)} the works packs to.",
            )
        )
    if service.temperature_k > settings.packing_temperature_max_k:
        found.append(
            _say(
                "packing temperature",
                Severity.AVOID,
                f"{celsius_words(service.temperature_k)} is over the "
                f"{celsius_words(settings.packing_temperature_max_k)} the works packs to without "
                "cooling.",
            )
        )
    if box.draws_air and flush_plan == OWN_LIQUID:
        found.append(
            _say(
                "packing draws air",
                Severity.CAUTION,
                f"The box stands at {bar_words(box.lowest_pa)}, below the atmosphere: own liquid "
                "seals only while the pump delivers; clean water is needed to prime.",
            )
        )
    if flush_plan == CLEAN_WATER and not needs.clean_flush_available:
        found.append(
            _say(
                "clean water not at hand",
                Severity.CAUTION,
                "Clean water to the lantern ring is chosen, but the site is not said to have it.",
            )
        )
    if gritty(service, settings):
        found += _packing_in_grit(flush_plan, sleeve, service, box, settings)
    return found


def _packing_in_grit(
    flush_plan: str,
    sleeve: Metal,
    service: Service,
    box: BoxPressure,
    settings: SealSettings,
) -> list[Verdict]:
    found = []
    sand = f"Sand {service.sand_ppm:g} mg/kg, over {settings.grit_from_ppm:g}"
    if flush_plan == OWN_LIQUID:
        found.append(
            _say(
                "grit under packing",
                Severity.AVOID,
                f"{sand}: own liquid carries grit under the packing; clean water at 0.7 to "
                f"1.5 bar above box pressure, that is up to "
                f"{bar_words(box.highest_pa + 1.5 * BAR_PA)}.",
            )
        )
    hardness = sleeve.hardness_high_hb
    if hardness is None or hardness < settings.hard_sleeve_hb:
        stated = "of unstated hardness" if hardness is None else f"at most {hardness:g} HB"
        found.append(
            _say(
                "soft sleeve under packing",
                Severity.CAUTION,
                f"{sand}: sleeve in {sleeve.code} is {stated}; coated or hardened to 50 HRC "
                f"(about {settings.hard_sleeve_hb:g} HB) it lasts longer.",
            )
        )
    return found


def _seal(
    flush_plan: str,
    limit_pa: float | None,
    service: Service,
    needs: SealNeeds,
    box: BoxPressure,
    settings: SealSettings,
    plans: tuple[StandardRow, ...],
) -> list[Verdict]:
    found = [_static_limit(limit_pa, box)]
    meanings = {row.text("plan"): row for row in plans}
    if flush_plan not in meanings:
        found.append(
            _say(
                "unknown flush plan",
                Severity.REFUSE,
                f"Plan '{flush_plan}' is not held; there are: {', '.join(meanings)}.",
                source="API 682",
            )
        )
        return found
    row = meanings[flush_plan]
    found.append(
        _say(
            "flush plan",
            Severity.FITS,
            f"Plan {flush_plan}: {row.text('meaning')}{'; ' if row.note else ''}{row.note}.",
            source=row.cited,
            certainty=row.certainty,
            needs_reason=False,
        )
    )
    if gritty(service, settings) and flush_plan not in ("31", "32", "53A", "54"):
        found.append(
            _say(
                "grit at the seal",
                Severity.AVOID,
                f"Sand {service.sand_ppm:g} mg/kg, over {settings.grit_from_ppm:g}, and plan "
                f"{flush_plan}: dirty liquids want plan 31 or 32, and faces of silicon carbide.",
                source=_ANNEX_A,
                certainty=Certainty.CONFIRMED_2ND,
            )
        )
    if flush_plan == "32" and not needs.clean_flush_available:
        found.append(
            _say(
                "clean flush not at hand",
                Severity.AVOID,
                f"Plan 32 needs clean liquid above {bar_words(box.highest_pa)}, and the site is "
                "not said to have it.",
            )
        )
    if service.temperature_k >= settings.hot_from_k and flush_plan in ("11", "13", "31"):
        found.append(
            _say(
                "hot seal",
                Severity.CAUTION,
                f"{celsius_words(service.temperature_k)} and plan {flush_plan}: hot water wants "
                "plan 23, or 21 with a cooler.",
                source=_ANNEX_A,
                certainty=Certainty.CONFIRMED_2ND,
            )
        )
    if box.draws_air and flush_plan == "13":
        found.append(
            _say(
                "seal draws air",
                Severity.CAUTION,
                f"The box stands at {bar_words(box.lowest_pa)}, below the atmosphere; plan "
                f"{flush_plan} lowers it further: the faces may run dry.",
            )
        )
    return found


def _static_limit(limit_pa: float | None, box: BoxPressure) -> Verdict:
    if limit_pa is None:
        return _say(
            "static limit not stated",
            Severity.REFUSE,
            "The seal's static limit is not stated: ask its maker; box pressure reaches "
            f"{bar_words(box.highest_pa)}.",
            source="the seal's maker",
        )
    pressure(limit_pa, "static limit of the seal", lowest=1.0)
    holds = box.highest_pa <= limit_pa
    return _say(
        "static limit",
        Severity.FITS if holds else Severity.REFUSE,
        f"Box pressure reaches {bar_words(box.highest_pa)}, the seal's static limit is "
        f"{bar_words(limit_pa)}"
        + ("." if holds else ": another seal or a lower suction pressure."),
        source="the seal's maker",
        needs_reason=not holds,
        overridable=holds,
    )


def _say(
    rule: str,
    severity: Severity,
    sentence: str,
    *,
    source: str = _TRADE,
    certainty: Certainty = Certainty.COMMON_PRACTICE,
    needs_reason: bool = True,
    overridable: bool = True,
) -> Verdict:
    return Verdict(
        rule=rule,
        topic=_TOPIC,
        part=_PLACE,
        severity=severity,
        sentence=sentence,
        source=source,
        certainty=certainty,
        needs_reason=needs_reason,
        overridable=overridable,
    )
