"""A first set of materials, flanges and sealing for a service, each with its reason.

The works' list of offers stands cheapest and readiest first; the first metal that the rules
leave in peace is taken, and those passed over say why. A person changes what they like.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from selection.configuration import Flange, PatternWork, Sealing
from selection.materials.casings import Pressures, rate_casing
from selection.materials.choice import ImpellerDuty, MaterialChoice
from selection.materials.data import MaterialData
from selection.materials.errors import BadFlange, IncompleteData, NoRating
from selection.materials.flanges import allowable_pressure, find
from selection.materials.metals import Metal, Part
from selection.materials.nozzles import CasingPattern, Nozzle, nozzle_work
from selection.materials.quantities import bar_words
from selection.materials.rules import ChosenMetals, evaluate, evaluate_part
from selection.materials.sealing import SealNeeds, box_pressure, suggest_sealing
from selection.materials.service import Service
from selection.materials.verdicts import Severity, Verdict


@dataclass(frozen=True, kw_only=True)
class Why:
    """Why a part got what it got."""

    part: str
    taken: str
    sentence: str


@dataclass(frozen=True, kw_only=True)
class Suggestion:
    """A first choice.

    choice : None where no flange of any rating held serves the pattern
    reasons : one a part, in the order of the choice
    """

    choice: MaterialChoice | None
    reasons: tuple[Why, ...]


def suggest(
    service: Service,
    pressures: Pressures,
    duty: ImpellerDuty,
    pattern: CasingPattern,
    needs: SealNeeds,
    data: MaterialData,
    *,
    seal_static_limit_pa: float | None = None,
    flange_standard: str | None = None,
) -> Suggestion:
    """Suggest a set that the works would offer.

    service : the liquid
    pressures : of the pump in its system
    duty : of the impeller
    pattern : of the casing
    needs : what the site asks of the shaft seal
    data : metals, rules, tables, offers and settings
    seal_static_limit_pa : of the seal the works would fit, gauge [Pa]
    flange_standard : the customer's, as "EN 1092-2"; None for whatever the pattern is made for
    returns : deterministic: ties go to what stands first in the works' list
    raises : IncompleteData where nothing is offered for a part
    """
    casing, why_casing = _casing(service, pressures, pattern, data)
    impeller, why_impeller = _alone(Part.IMPELLER, service, duty, data)
    ring, why_ring = _beside(Part.RING, casing, impeller, service, duty, data)
    sleeve, why_sleeve = _beside(Part.SLEEVE, casing, impeller, service, duty, data)
    shaft, why_shaft = _beside(Part.SHAFT, casing, impeller, service, duty, data)
    box = box_pressure(
        pressures.suction_min_pa,
        pressures.suction_max_pa,
        pressures.differential_max_pa,
        data.seal_settings,
    )
    seal = suggest_sealing(service, needs, box, data.seal_settings)
    reasons = [why_casing, why_impeller, why_ring, why_shaft, why_sleeve]
    flanges = []
    for where, nozzle, pressure_pa in (
        ("suction flange", pattern.suction, pressures.suction_max_pa),
        ("discharge flange", pattern.discharge, pressures.working_max_pa),
    ):
        flange, sentence = suggest_flange(
            nozzle, casing, service.temperature_k, pressure_pa, data, flange_standard
        )
        flanges.append(flange)
        reasons.append(Why(part=where, taken=str(flange or "none"), sentence=sentence))
    reasons.append(
        Why(
            part="sealing",
            taken=f"{seal.sealing}, {seal.flush_plan}",
            sentence=" ".join(reason.sentence for reason in seal.reasons if reason.decides),
        )
    )
    suction, discharge = flanges
    if suction is None or discharge is None:
        return Suggestion(choice=None, reasons=tuple(reasons))
    return Suggestion(
        choice=MaterialChoice(
            casing=casing.code,
            impeller=impeller.code,
            ring=ring.code,
            shaft=shaft.code,
            sleeve=sleeve.code,
            suction_flange=suction,
            discharge_flange=discharge,
            sealing=seal.sealing,
            flush_plan=seal.flush_plan,
            seal_static_limit_pa=seal_static_limit_pa
            if seal.sealing is Sealing.MECHANICAL_SEAL
            else None,
        ),
        reasons=tuple(reasons),
    )


def suggest_flange(
    nozzle: Nozzle,
    metal: Metal,
    temperature_k: float,
    pressure_pa: float,
    data: MaterialData,
    standard: str | None = None,
) -> tuple[Flange | None, str]:
    """The flange that holds the pressure with least pattern work, then least rating.

    nozzle : of the casing pattern
    metal : of the casing
    temperature_k : highest of the liquid [K]
    pressure_pa : highest the flange sees, gauge [Pa]
    data : flange tables
    standard : the customer's; None for any that covers the metal
    returns : None where nothing held serves; and the reason
    """
    order = list(PatternWork)
    best: tuple[tuple[int, int, float], Flange, str] | None = None
    usual_system = find(
        Flange(
            standard=nozzle.drilled_for.standard,
            rating=nozzle.drilled_for.rating,
            nominal=f"DN {nozzle.dn}",
        ),
        data.flanges,
    ).form.system
    for form in data.flanges.forms:
        if metal.family not in form.families or standard not in (None, form.standard):
            continue
        flange = Flange(standard=form.standard, rating=form.rating, nominal=f"DN {nozzle.dn}")
        try:
            rating = allowable_pressure(flange, metal, temperature_k, data.flanges)
        except (BadFlange, NoRating):
            continue  # this size or temperature is not held for it: no candidate
        if rating.pressure_pa < pressure_pa:
            continue
        work = nozzle_work(flange, nozzle, metal, data.flanges)
        if not work.possible:
            continue
        foreign = 0 if form.system is usual_system else 1
        key = (order.index(work.work), foreign, rating.pressure_pa)
        if best is None or key < best[0]:
            best = (key, flange, f"{work.sentence} {rating.sentence}")
    if best is None:
        return None, (
            f"No flange of {standard or 'any standard held'} in {metal.code} carries "
            f"{bar_words(pressure_pa)} on this nozzle, DN {nozzle.dn}."
        )
    return best[1], best[2]


def _casing(
    service: Service, pressures: Pressures, pattern: CasingPattern, data: MaterialData
) -> tuple[Metal, Why]:
    tried = []
    for metal in _offered(Part.CASING, data):
        verdicts = (
            *evaluate_part(data.rules, service, Part.CASING, metal),
            *rate_casing(pattern, metal, service.temperature_k, pressures, data.flanges).verdicts,
        )
        tried.append((metal, verdicts))
    return _first(Part.CASING, tried)


def _alone(
    part: Part, service: Service, duty: ImpellerDuty, data: MaterialData
) -> tuple[Metal, Why]:
    tried = [
        (
            metal,
            evaluate_part(data.rules, service, part, metal, tip_speed_m_s=duty.tip_speed_m_s),
        )
        for metal in _offered(part, data)
    ]
    return _first(part, tried)


def _beside(
    part: Part,
    casing: Metal,
    impeller: Metal,
    service: Service,
    duty: ImpellerDuty,
    data: MaterialData,
) -> tuple[Metal, Why]:
    """Choose a part that touches casing and impeller, with the rules about pairs."""
    others = {p: _offered(p, data)[0] for p in (Part.RING, Part.SHAFT, Part.SLEEVE)}
    rules = [rule for rule in data.rules if part in rule.parts]
    tried = []
    for metal in _offered(part, data):
        metals = {**others, part: metal}
        chosen = ChosenMetals(
            casing=casing,
            impeller=impeller,
            ring=metals[Part.RING],
            shaft=metals[Part.SHAFT],
            sleeve=metals[Part.SLEEVE],
        )
        verdicts = [
            v
            for v in evaluate(rules, service, chosen, tip_speed_m_s=duty.tip_speed_m_s)
            if v.part.split(" / ")[0] == part
        ]
        tried.append((metal, tuple(verdicts)))
    return _first(part, tried)


def _offered(part: Part, data: MaterialData) -> tuple[Metal, ...]:
    offered = data.offered_for(part)
    if not offered:
        raise IncompleteData(
            missing=f"metal offered for a {part}", wanted="a row of the works' offers for it"
        )
    return offered


def _first(part: Part, tried: list[tuple[Metal, tuple[Verdict, ...]]]) -> tuple[Metal, Why]:
    """The first of the lightest, with what spoke against those before it."""
    metal, verdicts = min(tried, key=lambda pair: _weight(pair[1]))
    before = tried[: [m for m, _ in tried].index(metal)]
    own = [v.sentence for v in verdicts if v.severity is not Severity.FITS]
    fits = [v.sentence for v in verdicts if v.severity is Severity.FITS]
    passed = [
        f"{other.code} passed over: {against[0].sentence}" for other, against in before if against
    ]
    words = [*(fits[:1] or [f"{metal.code}: nothing speaks against it."]), *own, *passed]
    return metal, Why(part=str(part), taken=metal.code, sentence=" ".join(words))


def _weight(verdicts: Iterable[Verdict]) -> tuple[int, ...]:
    """How much speaks against: refusals first, then how many of each."""
    ranks = [v.severity for v in verdicts]
    return tuple(ranks.count(s) for s in (Severity.REFUSE, Severity.AVOID, Severity.CAUTION))
