"""From the desk's form to the computation's question and back to what a page shows.

No formula stands here: it gathers what was typed, asks `selection.hydraulics` and
`selection.materials`, and hands their answers on.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.utils.datastructures import MultiValueDict

from selection.errors import DutyIncomplete, EmptyCatalogue, NoSuchCandidate
from selection.forms.duty import MAIN_FITTINGS, RUNS, Carries, DutyForm, SystemBy
from selection.hydraulics.candidates import Candidate, Candidates, search
from selection.hydraulics.chart_data import ChartData, chart_data
from selection.hydraulics.duty import Duty
from selection.hydraulics.liquid import Liquid, sea_water, water
from selection.hydraulics.pipes import Pipe, PipeSystem, bore_of
from selection.hydraulics.suction import Suction
from selection.hydraulics.system import SystemCurve, through_points
from selection.materials.service import Liquid as LiquidKind
from selection.materials.service import Service
from selection.models import Study
from selection.queries.catalogue import packed_catalogue


def form_of(study: Study) -> DutyForm:
    """The desk's form bound to what the study keeps."""
    return form_from(study.inputs)


def form_from(inputs: Mapping[str, list[str]]) -> DutyForm:
    """The desk's form bound to inputs as a study or a choice keeps them."""
    data: MultiValueDict[str, str] = MultiValueDict(inputs)
    return DutyForm(data)


def cleaned_inputs(study: Study) -> dict[str, Any]:
    """The study's inputs, checked.

    raises : DutyIncomplete, naming the fields
    """
    form = form_of(study)
    if not form.is_valid():
        raise DutyIncomplete(study=study.title, fields=[form.name_of(name) for name in form.errors])
    return form.cleaned_data


def liquid_of(cleaned: Mapping[str, Any]) -> Liquid:
    """The liquid's figures from its kind and temperature."""
    kelvin = float(cleaned["temperature"])
    if LiquidKind(cleaned["liquid"]) is LiquidKind.SEA:
        return sea_water(kelvin)
    return water(kelvin)


def service_of(cleaned: Mapping[str, Any]) -> Service:
    """What the metals have to live in."""
    return Service(
        liquid=LiquidKind(cleaned["liquid"]),
        temperature_k=float(cleaned["temperature"]),
        chloride_ppm=cleaned["chloride_ppm"],
        ph=cleaned["ph"],
        sand_ppm=cleaned["sand_ppm"],
        free_chlorine_ppm=cleaned["free_chlorine_ppm"],
        saturation_index=cleaned["saturation_index"],
        hydrogen_sulphide=cleaned["hydrogen_sulphide"],
        ammonia=cleaned["ammonia"],
        stagnant=cleaned["stagnant"],
        drinking_water=cleaned["drinking_water"],
        zinc_free=cleaned["zinc_free"],
    )


def system_of(cleaned: Mapping[str, Any], liquid: Liquid) -> SystemCurve:
    """The system's curve for the total flow of all running.

    raises : HydraulicsError for points or pipes that make no system
    """
    static = float(cleaned["static_head"])
    low, high = cleaned["static_low"], cleaned["static_high"]
    if cleaned["system_by"] == SystemBy.PIPES:
        laid = [run for run in RUNS if cleaned[f"length_{run}"] is not None]
        one = 1.0 / cleaned["pumps"]
        pipes = PipeSystem(
            runs=tuple(_pipe(cleaned, run) for run in laid),
            shares=tuple(one if cleaned[f"carries_{run}"] == Carries.ONE else 1.0 for run in laid),
            static_m=static,
            static_low_m=low,
            static_high_m=high,
            density_kg_m3=liquid.density_kg_m3,
            kinematic_viscosity_m2s=liquid.kinematic_viscosity_m2s,
        )
        return pipes.fitted(cleaned["flow"] * cleaned["pumps"])
    first = (cleaned["first_flow"], cleaned["first_head"])
    if first[0] is None:
        first = (0.0, static)
    curve = through_points(first, (cleaned["second_flow"], cleaned["second_head"]))
    return SystemCurve(
        static_m=curve.static_m,
        coefficient=curve.coefficient,
        exponent=curve.exponent,
        static_low_m=low,
        static_high_m=high,
        source=curve.source,
    ).aged(cleaned["ageing"])


def _pipe(cleaned: Mapping[str, Any], run: int) -> Pipe:
    counted = (
        (name, cleaned[f"fitting_{run}_{number}"] or 0) for number, name in enumerate(MAIN_FITTINGS)
    )
    return Pipe(
        length_m=cleaned[f"length_{run}"],
        bore_m=bore_of(cleaned[f"bore_{run}"]),
        material=cleaned[f"pipe_{run}"] or "commercial steel",
        fittings=tuple((name, count) for name, count in counted if count),
        ageing=cleaned["ageing"],
    )


def duty_of(cleaned: Mapping[str, Any]) -> Duty:
    """The whole duty.

    raises : HydraulicsError, saying which figure cannot be
    """
    liquid = liquid_of(cleaned)
    return Duty(
        flow_m3s=cleaned["flow"],
        head_m=cleaned["head"],
        system=system_of(cleaned, liquid),
        pumps=cleaned["pumps"],
        standby=cleaned["standby"],
        liquid=liquid,
        suction=Suction(
            level_m=cleaned["suction_level"],
            level_low_m=cleaned["suction_level_low"],
            loss_m=cleaned["suction_loss"],
            loss_flow_m3s=cleaned["flow"],
            altitude_m=cleaned["altitude"],
            pressure_high_pa=cleaned["suction_pressure_high"],
        ),
        purpose=cleaned["purpose"],
        frequency_hz=float(cleaned["frequency"]),
        poles=tuple(sorted(cleaned["poles"])),
    )


@dataclass(frozen=True)
class Search:
    """A duty and what the catalogue answers to it."""

    duty: Duty
    found: Candidates

    def candidate(self, key: str) -> Candidate:
        """raises : NoSuchCandidate"""
        candidate = self.found.find(key)
        if candidate is None:
            raise NoSuchCandidate(key=key)
        return candidate

    def chart(self, candidate: Candidate) -> ChartData:
        """Curves of one candidate with its system, beside the largest and least diameters."""
        impeller = candidate.impeller
        return chart_data(
            impeller.family(),
            candidate.diameter_mm,
            candidate.speed_rpm,
            self.duty,
            (impeller.diameter_min_mm, candidate.diameter_mm, impeller.diameter_max_mm),
        )


def look(cleaned: Mapping[str, Any]) -> Search:
    """Ask the catalogue.

    raises : HydraulicsError; EmptyCatalogue
    """
    catalogue = packed_catalogue()
    if catalogue is None:
        raise EmptyCatalogue
    duty = duty_of(cleaned)
    return Search(duty, search(catalogue, duty))
