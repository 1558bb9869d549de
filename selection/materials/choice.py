"""One choice of materials, flanges and sealing, put to everything at once."""

from dataclasses import dataclass

from selection.configuration import Flange, PatternWork, Sealing
from selection.materials.casings import (
    CasingResult,
    Pressures,
    contraction_remark,
    rate_casing,
    wall_remark,
)
from selection.materials.castings import CrackTest, HeatTreatment, crack_test, heat_treatment
from selection.materials.data import MaterialData
from selection.materials.joints import FlangeResult, judge_flange
from selection.materials.metals import Metal, metal_of
from selection.materials.nozzles import CasingPattern, heavier
from selection.materials.quantities import checked
from selection.materials.rules import ChosenMetals, evaluate
from selection.materials.sealing import BoxPressure, SealNeeds, box_pressure
from selection.materials.sealing_checks import check_sealing
from selection.materials.service import Service
from selection.materials.verdicts import Severity, Verdict, certainty_of, worst, worst_first
from works.standards import Certainty


@dataclass(frozen=True, kw_only=True)
class MaterialChoice:
    """What a person chose, by codes and designations.

    impeller_ring : None where the impeller's own neck runs in the casing ring
    suction_pipe, discharge_pipe : the customer's flanges; None where not stated
    pipe_metal : code of the customer's flanges; None where not stated
    flush_plan : of API 682, or where the lantern ring gets its water
    seal_static_limit_pa : of the mechanical seal, gauge; None with packing [Pa]
    """

    casing: str
    impeller: str
    ring: str
    shaft: str
    sleeve: str
    impeller_ring: str | None = None
    suction_flange: Flange
    discharge_flange: Flange
    suction_pipe: Flange | None = None
    discharge_pipe: Flange | None = None
    pipe_metal: str | None = None
    sealing: Sealing
    flush_plan: str
    seal_static_limit_pa: float | None = None


@dataclass(frozen=True, kw_only=True)
class ImpellerDuty:
    """What the impeller does.

    head_m : at duty, of one stage, > 0 [m]
    tip_speed_m_s : at the trimmed diameter; None where neither speed nor trim is chosen [m/s]
    crack_test_by_contract : tested at any head
    """

    head_m: float
    tip_speed_m_s: float | None = None
    crack_test_by_contract: bool = False

    def __post_init__(self) -> None:
        checked(self.head_m, quantity="head", unit="m", lowest=0.1, highest=3000.0)
        if self.tip_speed_m_s is not None:
            checked(self.tip_speed_m_s, quantity="tip speed", unit="m/s", lowest=0.0, highest=250.0)


@dataclass(frozen=True, kw_only=True)
class Assessment:
    """Everything said about a choice.

    verdicts : of all topics, heaviest first
    pattern_work : the heavier of both nozzles'
    """

    verdicts: tuple[Verdict, ...]
    casing: CasingResult
    suction: FlangeResult
    discharge: FlangeResult
    box: BoxPressure
    crack_test: CrackTest
    heat_treatment: HeatTreatment
    pattern_work: PatternWork

    @property
    def severity(self) -> Severity:
        """The heaviest verdict's."""
        return worst(self.verdicts)

    @property
    def to_answer(self) -> tuple[Verdict, ...]:
        """Verdicts that stay open until a named person gives a reason."""
        return tuple(v for v in self.verdicts if v.needs_reason and v.overridable)

    @property
    def blocking(self) -> tuple[Verdict, ...]:
        """Verdicts that no reason answers: pressure is not contained."""
        return tuple(v for v in self.verdicts if not v.overridable)

    @property
    def certainty(self) -> Certainty:
        """Of the least sure verdict."""
        return certainty_of(self.verdicts)


def assess(
    choice: MaterialChoice,
    service: Service,
    pressures: Pressures,
    duty: ImpellerDuty,
    pattern: CasingPattern,
    needs: SealNeeds,
    data: MaterialData,
) -> Assessment:
    """Put a choice to the rules, the ratings, the pattern and the seal.

    choice : of a person
    service : the liquid
    pressures : of the pump in its system
    duty : of the impeller
    pattern : of the casing
    needs : what the site asks of the shaft seal
    data : metals, rules, tables and settings
    raises : UnknownMetal, WrongPart, BadFlange, BadQuantity: the question was wrong
    """
    chosen = chosen_metals(choice, data)
    pipe = None if choice.pipe_metal is None else metal_of(choice.pipe_metal, data.metals)
    casing = rate_casing(pattern, chosen.casing, service.temperature_k, pressures, data.flanges)
    suction, discharge = (
        judge_flange(
            where,
            flange,
            nozzle,
            chosen.casing,
            mate,
            pipe,
            service.temperature_k,
            pressures,
            data.flanges,
        )
        for where, flange, nozzle, mate in (
            ("suction", choice.suction_flange, pattern.suction, choice.suction_pipe),
            ("discharge", choice.discharge_flange, pattern.discharge, choice.discharge_pipe),
        )
    )
    box = box_pressure(
        pressures.suction_min_pa,
        pressures.suction_max_pa,
        pressures.differential_max_pa,
        data.seal_settings,
    )
    sealing = check_sealing(
        choice.sealing,
        choice.flush_plan,
        choice.seal_static_limit_pa,
        chosen.sleeve,
        service,
        needs,
        box,
        data.seal_settings,
        data.seal_plans,
    )
    crack = crack_test(
        chosen.impeller,
        duty.head_m,
        threshold_m=data.crack_test_head_m,
        wanted_by_contract=duty.crack_test_by_contract,
    )
    verdicts = (
        *evaluate(data.rules, service, chosen, tip_speed_m_s=duty.tip_speed_m_s),
        *casing.verdicts,
        *wall_remark(pattern, chosen.casing, data.wall_strengths),
        *contraction_remark(pattern, chosen.casing, data.contraction),
        *suction.verdicts,
        *discharge.verdicts,
        *sealing,
        *_foundry(chosen, crack),
    )
    return Assessment(
        verdicts=worst_first(verdicts),
        casing=casing,
        suction=suction,
        discharge=discharge,
        box=box,
        crack_test=crack,
        heat_treatment=heat_treatment(chosen.casing),
        pattern_work=heavier(suction.work.work, discharge.work.work),
    )


def chosen_metals(choice: MaterialChoice, data: MaterialData) -> ChosenMetals:
    """Look the codes of a choice up.

    choice : of a person
    data : with the metals
    raises : UnknownMetal, WrongPart
    """

    def found(code: str) -> Metal:
        return metal_of(code, data.metals)

    return ChosenMetals(
        casing=found(choice.casing),
        impeller=found(choice.impeller),
        ring=found(choice.ring),
        shaft=found(choice.shaft),
        sleeve=found(choice.sleeve),
        impeller_ring=None if choice.impeller_ring is None else found(choice.impeller_ring),
    )


def _foundry(chosen: ChosenMetals, crack: CrackTest) -> tuple[Verdict, ...]:
    """What the foundry and the inspection plan have to know, as sentences of the choice."""
    heat = heat_treatment(chosen.casing)
    agreed = crack.wanted and crack.acceptance.startswith("to be agreed")
    return (
        Verdict(
            rule="crack test of the impeller",
            topic="foundry",
            part="impeller",
            metal=chosen.impeller.code,
            severity=Severity.CAUTION if agreed else Severity.FITS,
            sentence=" ".join((crack.sentence, *(crack.remarks if agreed else ()))),
            source=crack.source,
            certainty=crack.certainty,
            needs_reason=False,
        ),
        Verdict(
            rule="heat treatment of the casing",
            topic="foundry",
            part="casing",
            metal=chosen.casing.code,
            severity=Severity.FITS,
            sentence=heat.sentence,
            source="the metals' list",
            certainty=heat.certainty,
            needs_reason=False,
        ),
    )
