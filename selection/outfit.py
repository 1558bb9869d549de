"""Materials, flanges and sealing of a candidate: its rows and pressures put to the rules."""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from selection.configuration import Configuration, Flange, PatternWork, Rotation, Sealing
from selection.hydraulics.candidates import Candidate
from selection.hydraulics.door import GRAVITY
from selection.hydraulics.duty import USUAL_RULES, Duty
from selection.hydraulics.pressure import hydrostatic_pressures, working_pressure
from selection.materials.casings import Pressures
from selection.materials.choice import Assessment, ImpellerDuty, MaterialChoice, assess
from selection.materials.data import MaterialData, shipped
from selection.materials.metals import Family
from selection.materials.nozzles import CasingPattern, CasingRating, FlangeMade, Nozzle
from selection.materials.sealing import SealNeeds
from selection.materials.service import Service
from selection.materials.suggestion import Suggestion, suggest
from selection.models import Impeller, Pattern, PatternState, PumpSize
from works.errors import Refusal

GREY_IRON_KG_M3 = 7200.0
FLANGE_WORDS = re.compile(r"^(?P<standard>.+) (?P<rating>(?:PN|Class) \d+)$")


class BadFlangeWords(Refusal):
    """A flange of the pattern register that cannot be read."""

    status = 422

    def __init__(self, *, words: str, pattern: str) -> None:
        self.words, self.pattern = words, pattern
        super().__init__(
            f"Pattern {pattern} is registered as made for {words!r}, which is no flange: write "
            "standard and rating, such as EN 1092-2 PN 16 or ASME B16.1 Class 125."
        )


def material_data() -> MaterialData:
    """Metals, rules, flange tables and settings in force."""
    return shipped()


def flange_made(words: str, pattern: str) -> FlangeMade:
    """Read standard and rating.

    raises : BadFlangeWords
    """
    found = FLANGE_WORDS.match(words.strip())
    if found is None:
        raise BadFlangeWords(words=words, pattern=pattern)
    return FlangeMade(standard=found["standard"], rating=found["rating"])


def casing_pattern(size: PumpSize) -> CasingPattern:
    """What the register says of a casing's pattern.

    raises : BadFlangeWords
    """
    pattern = size.pattern
    usual = flange_made(pattern.drilled_for, pattern.number)
    blanks = tuple(flange_made(words, pattern.number) for words in pattern.blanks_for)
    most = pattern.rating_max_pa or size.allowable_pressure_pa

    def nozzle(dn: int) -> Nozzle:
        return Nozzle(dn=dn, drilled_for=usual, blanks_for=blanks, rating_max_pa=most)

    return CasingPattern(
        number=pattern.number,
        suction=nozzle(size.suction_dn),
        discharge=nozzle(size.discharge_dn),
        ratings=tuple(
            CasingRating(family=Family(family), pressure_pa=pressure)
            for family, pressure in sorted(size.ratings.items())
        ),
        made_for=Family(pattern.made_for) if pattern.made_for else None,
        contraction_pct=pattern.contraction_percent,
        wall_mm=pattern.wall_mm,
    )


def pressures_of(candidate: Candidate, duty: Duty) -> Pressures:
    """The pump's pressures in its system, gauge."""
    highest = duty.suction.highest_pressure_pa(duty.liquid)
    lowest_level = duty.suction.worst.level_m
    lowest = min(
        highest,
        duty.suction.surface_pa
        - duty.suction.air_pa
        + (lowest_level - duty.suction.loss_m) * duty.liquid.density_kg_m3 * GRAVITY,
    )
    working = float(
        working_pressure(
            highest, candidate.shutoff_head_m, duty.liquid.density_kg_m3, USUAL_RULES.tolerances
        )
    )
    return Pressures(
        suction_min_pa=lowest,
        suction_max_pa=highest,
        differential_max_pa=working - highest,
        working_max_pa=working,
        test_pa=hydrostatic_pressures(working).chosen_pa,
    )


def impeller_duty(candidate: Candidate) -> ImpellerDuty:
    """Head and tip speed of the trimmed impeller."""
    return ImpellerDuty(
        head_m=candidate.head_m,
        tip_speed_m_s=math.pi * candidate.diameter_mm / 1000.0 * candidate.speed_rpm / 60.0,
    )


@dataclass(frozen=True)
class Outfit:
    """A candidate with the metals, flanges and sealing in question.

    suggestion : what the works would offer and why; None where a set was wanted, since finding
        one takes longer than judging one
    """

    choice: MaterialChoice | None
    suggestion: Suggestion | None
    assessment: Assessment | None
    pressures: Pressures


def suggestion_for(
    candidate: Candidate, duty: Duty, service: Service, size: PumpSize, needs: SealNeeds
) -> Suggestion:
    """The set that the works would offer, with reasons.

    raises : BadFlangeWords; MaterialsError
    """
    return suggest(
        service,
        pressures_of(candidate, duty),
        impeller_duty(candidate),
        casing_pattern(size),
        needs,
        material_data(),
        seal_static_limit_pa=size.seal_static_limit_pa,
    )


def outfit(
    candidate: Candidate,
    duty: Duty,
    service: Service,
    size: PumpSize,
    needs: SealNeeds,
    wanted: MaterialChoice | None,
) -> Outfit:
    """Judge the wanted set, or the set that the works would offer.

    raises : BadFlangeWords; MaterialsError for a metal or flange that is none
    """
    suggestion = None if wanted else suggestion_for(candidate, duty, service, size, needs)
    choice = suggestion.choice if suggestion else wanted
    pressures = pressures_of(candidate, duty)
    assessment = None
    if choice is not None:
        assessment = assess(
            choice,
            service,
            pressures,
            impeller_duty(candidate),
            casing_pattern(size),
            needs,
            material_data(),
        )
    return Outfit(choice, suggestion, assessment, pressures)


def wanted_choice(picked: Mapping[str, Any], size: PumpSize) -> MaterialChoice:
    """The set as picked on the desk."""
    sealing = Sealing(picked["sealing"])
    limit = size.seal_static_limit_pa if sealing is Sealing.MECHANICAL_SEAL else None
    return MaterialChoice(
        casing=picked["casing"],
        impeller=picked["impeller"],
        ring=picked["ring"],
        shaft=picked["shaft"],
        sleeve=picked["sleeve"],
        suction_flange=flange_words(picked["suction_flange"], size.suction_dn),
        discharge_flange=flange_words(picked["discharge_flange"], size.discharge_dn),
        sealing=sealing,
        flush_plan=picked["flush_plan"],
        seal_static_limit_pa=limit,
    )


def flange_words(words: str, dn: int) -> Flange:
    """A flange of a nozzle's own size from standard and rating."""
    made = flange_made(words, "asked for")
    return Flange(standard=made.standard, rating=made.rating, nominal=f"DN {dn}")


def impeller_pattern_work(pattern: Pattern) -> PatternWork:
    """What the impeller's pattern needs before it may be used."""
    return {
        PatternState.FIT: PatternWork.NONE,
        PatternState.NEEDS_REPAIR: PatternWork.MODIFY,
        PatternState.WITHDRAWN: PatternWork.NEW,
    }[PatternState(pattern.state)]


def configuration(
    candidate: Candidate,
    impeller: Impeller,
    choice: MaterialChoice,
    assessment: Assessment,
    pressures: Pressures,
    rotation: Rotation,
    *,
    motor_special: bool,
) -> Configuration:
    """What is handed to the apps above."""
    size = impeller.size
    metals = material_data().metals
    # Weights of the register are for grey iron; a casting in another metal weighs by its density.
    by_density = (metals[choice.casing].density_kg_m3 or GREY_IRON_KG_M3) / GREY_IRON_KG_M3
    return Configuration(
        size=size.name,
        casing_pattern=size.pattern.number,
        impeller_pattern=impeller.pattern.number,
        casing_pattern_work=assessment.pattern_work,
        impeller_pattern_work=impeller_pattern_work(impeller.pattern),
        casing_metal=choice.casing,
        impeller_metal=choice.impeller,
        ring_metal=choice.ring,
        shaft_metal=choice.shaft,
        sleeve_metal=choice.sleeve,
        casing_heat_treated=assessment.heat_treatment.needed,
        crack_test=assessment.crack_test.wanted,
        impeller_diameter_mm=candidate.diameter_mm,
        speed_rpm=candidate.speed_rpm,
        rotation=rotation,
        duty_flow_m3s=candidate.flow_m3s,
        duty_head_m=candidate.head_m,
        efficiency=candidate.efficiency,
        npshr_m=candidate.npshr_m,
        shutoff_head_m=candidate.shutoff_head_m,
        motor_rating_w=candidate.motor_w,
        motor_poles=candidate.poles,
        motor_special=motor_special,
        suction_flange=choice.suction_flange,
        discharge_flange=choice.discharge_flange,
        sealing=choice.sealing,
        flush_plan=choice.flush_plan,
        suction_pressure_max_pa=pressures.suction_max_pa,
        working_pressure_max_pa=pressures.working_max_pa,
        test_pressure_pa=pressures.test_pa,
        box_pressure_max_pa=assessment.box.highest_pa,
        seal_static_limit_pa=choice.seal_static_limit_pa,
        casing_mass_kg=size.casing_mass_kg * by_density,
        impeller_mass_kg=impeller.mass_kg,
        pump_mass_kg=size.pump_mass_kg,
    )
