"""The smallest catalogue that answers the lead duty, its study, and a frozen choice of it."""

import math
from datetime import UTC, datetime
from functools import cache
from typing import Any

import factory

from selection.actions.choices import freeze_choice, warnings_of
from selection.configuration import (
    Configuration,
    Flange,
    PatternWork,
    Rotation,
    Sealing,
)
from selection.desk import cleaned_inputs, look, service_of
from selection.hydraulics import generate
from selection.hydraulics.curves import CurvePoints
from selection.materials.sealing import SealNeeds
from selection.models import Choice, CurveTest, Impeller, Pattern, PumpSize, Purpose, Study
from selection.outfit import outfit
from tests.factories.works import PersonFactory
from works.models import Person
from works.people import Group

NOW = datetime(2026, 3, 4, 10, 0, tzinfo=UTC)  # a Wednesday
HOUR = 3600.0

# Three pumps in parallel, 540 m3/h each at 62 m, as typed at the desk.
LEAD_DUTY: dict[str, list[str]] = {
    "flow": ["540"],
    "flow_unit": ["m3h"],
    "head": ["62"],
    "head_unit": ["m"],
    "pumps": ["3"],
    "standby": ["0"],
    "purpose": ["water supply"],
    "frequency": ["50"],
    "poles": ["4", "6"],
    "liquid": ["clean fresh water"],
    "temperature": ["20"],
    "temperature_unit": ["c"],
    "suction_level": ["1.5"],
    "suction_level_unit": ["m"],
    "suction_loss": ["0.4"],
    "suction_loss_unit": ["m"],
    "altitude": ["30"],
    "altitude_unit": ["m"],
    "static_head": ["46"],
    "static_head_unit": ["m"],
    "system_by": ["points"],
    "second_flow": ["1620"],
    "second_flow_unit": ["m3h"],
    "second_head": ["62"],
    "second_head_unit": ["m"],
    "ageing": ["1"],
}


class PatternFactory(factory.django.DjangoModelFactory[Pattern]):
    class Meta:
        model = Pattern
        django_get_or_create = ("number",)

    number = factory.Sequence(lambda n: f"P-{n:03d}")
    part = Pattern.Part.IMPELLER
    revision = "B"
    core_boxes = 1
    contraction_percent = 1.0


class PumpSizeFactory(factory.django.DjangoModelFactory[PumpSize]):
    """A casing in grey iron, drilled to PN 16."""

    class Meta:
        model = PumpSize
        django_get_or_create = ("name",)

    name = factory.Sequence(lambda n: f"Corve 200-{n}")
    pattern = factory.SubFactory(
        PatternFactory,
        part=Pattern.Part.CASING,
        revision="C",
        core_boxes=4,
        made_for="grey iron",
        wall_mm=21.0,
        drilled_for="EN 1092-2 PN 16",
        blanks_for=["ASME B16.1 Class 125"],
        rating_max_pa=2_500_000.0,
    )
    suction_dn = 250
    discharge_dn = 200
    allowable_pressure_pa = 2_000_000.0
    ratings = factory.LazyFunction(lambda: {"grey iron": 1_600_000.0, "ductile iron": 2_000_000.0})
    casing_mass_kg = 570.0
    pump_mass_kg = 884.0
    shaft_diameter_mm = 82.0
    bearing_span_mm = 1025.0
    bearing_designation = "6314"
    bearing_dynamic_rating_n = 104_000.0
    sleeve_to_bearing_mm = 144.0
    rotor_mass_kg = 114.0
    inertia_kg_m2 = 1.8
    speed_max_rpm = 1800.0
    box_bore_mm = 130.0


class ImpellerFactory(factory.django.DjangoModelFactory[Impeller]):
    """An impeller with curves at three diameters; `curves=[]` leaves them out."""

    class Meta:
        model = Impeller
        skip_postgeneration_save = True

    size = factory.SubFactory(PumpSizeFactory)
    name = factory.Sequence(lambda n: f"A{n}")
    pattern = factory.SubFactory(PatternFactory)
    purpose = Purpose.WATER
    vanes = 5
    outlet_width_mm = 45.0
    outlet_angle_deg = 25.0
    eye_diameter_mm = 180.0
    full_diameter_mm = 500.0
    least_diameter_mm = 400.0
    mass_kg = 148.0

    @factory.post_generation
    def curves(self, create: bool, extracted: Any, **_: Any) -> None:
        for points in _generated() if extracted is None else extracted:
            CurveTestFactory.create(impeller=self, points=points)


@cache
def _generated() -> tuple[CurvePoints, ...]:
    layout = generate.Pattern(
        bep_flow_m3s=560.0 / HOUR,
        bep_head_m=74.0,
        speed_rpm=1485.0,
        diameter_mm=500.0,
        vanes=5,
        efficiency_offset=0.03,
    )
    return tuple(generate.points_of(layout, diameter) for diameter in (500.0, 460.0, 420.0))


class CurveTestFactory(factory.django.DjangoModelFactory[CurveTest]):
    """`points` are what the computation takes; left out, those of the full diameter."""

    class Meta:
        model = CurveTest

    class Params:
        points = factory.LazyFunction(lambda: _generated()[0])

    impeller = factory.SubFactory(ImpellerFactory, curves=[])
    source = "generated"
    diameter_mm = factory.LazyAttribute(lambda o: o.points.diameter_mm)
    speed_rpm = factory.LazyAttribute(lambda o: o.points.speed_rpm)
    flow_m3s = factory.LazyAttribute(lambda o: o.points.flow_m3s.tolist())
    head_m = factory.LazyAttribute(lambda o: o.points.head_m.tolist())
    efficiency = factory.LazyAttribute(lambda o: o.points.efficiency.tolist())
    npshr_m = factory.LazyAttribute(
        lambda o: [None if math.isnan(npshr) else npshr for npshr in o.points.npshr_m.tolist()]
    )


class StudyFactory(factory.django.DjangoModelFactory[Study]):
    """The lead duty."""

    class Meta:
        model = Study

    title = factory.Sequence(lambda n: f"Lagarosa irrigation scheme {n}")
    inputs = factory.LazyFunction(lambda: dict(LEAD_DUTY))
    pumps = 3


def configuration(**changes: Any) -> Configuration:
    """A pump as chosen."""
    fields: dict[str, Any] = {
        "size": "TB 250-400",
        "casing_pattern": "P-CASING",
        "impeller_pattern": "P-IMPELLER",
        "casing_pattern_work": PatternWork.NONE,
        "impeller_pattern_work": PatternWork.NONE,
        "casing_metal": "EN-GJL-250",
        "impeller_metal": "CC491K",
        "ring_metal": "CC493K",
        "shaft_metal": "1.4021",
        "sleeve_metal": "1.4021",
        "casing_heat_treated": False,
        "crack_test": False,
        "impeller_diameter_mm": 396.0,
        "speed_rpm": 1485.0,
        "rotation": Rotation.CLOCKWISE,
        "duty_flow_m3s": 0.15,
        "duty_head_m": 62.0,
        "efficiency": 0.84,
        "npshr_m": 4.1,
        "shutoff_head_m": 74.0,
        "motor_rating_w": 132_000.0,
        "motor_poles": 4,
        "motor_special": False,
        "suction_flange": Flange(standard="EN 1092-2", rating="PN 16", nominal="DN 300"),
        "discharge_flange": Flange(standard="EN 1092-2", rating="PN 16", nominal="DN 250"),
        "sealing": Sealing.MECHANICAL_SEAL,
        "flush_plan": "11",
        "suction_pressure_max_pa": 100_000.0,
        "working_pressure_max_pa": 900_000.0,
        "test_pressure_pa": 1_350_000.0,
        "box_pressure_max_pa": 300_000.0,
        "seal_static_limit_pa": 2_500_000.0,
        "casing_mass_kg": 700.0,
        "impeller_mass_kg": 38.0,
        "pump_mass_kg": 1250.0,
    }
    return Configuration(**{**fields, **changes})


def results() -> dict[str, Any]:
    """What a choice keeps of its computation, shaped as `freeze_choice` keeps it."""
    flow = [0.0, 0.06, 0.12, 0.15, 0.18]
    head = [74.0, 73.0, 67.0, 62.0, 55.0]
    return {
        "candidate": {
            "key": "1@4",
            "diameter_mm": 396.0,
            "speed_rpm": 1485.0,
            "poles": 4,
            "motor_w": 132_000.0,
            "power_w": 108_300.0,
            "power_max_w": 117_700.0,
            "bep_flow_m3s": 0.148,
            "bep_efficiency": 0.841,
            "running": [[0.17, 56.9], [0.33, 60.1], [0.45, 62.0]],
            "alone_flow_m3s": 0.17,
            "alone_head_m": 56.9,
            "alone_power_w": 115_000.0,
        },
        "sketch": {
            "pump_flow_m3s": flow,
            "pump_head_m": head,
            "system_flow_m3s": flow,
            "system_head_m": [46.0, 48.6, 56.2, 62.0, 69.0],
            "duty_flow_m3s": 0.15,
            "duty_head_m": 62.0,
        },
        "chart": {
            "pumps": 3,
            "most": 3,
            "system_flow_m3s": [3.0 * each for each in flow],
            "system_head_m": [46.0, 48.6, 56.2, 62.0, 69.0],
            "system_low_m": [],
            "system_high_m": [],
            "duty_flow_m3s": 0.45,
            "duty_head_m": 62.0,
            "motor_w": 132_000.0,
            "points": [[0.17, 56.9], [0.33, 60.1], [0.45, 62.0]],
            "alone": None,
            "trims": [
                {"label": "420 mm", "flow_m3s": flow, "head_m": [83.0, 82.0, 76.0, 71.0, 64.0]}
            ],
        },
        "curve": {
            "flow_m3s": flow,
            "head_m": head,
            "efficiency": [0.0, 0.55, 0.81, 0.84, 0.82],
            "npshr_m": [None, 2.9, 3.6, 4.1, 4.9],
            "npsha_m": [11.4, 11.3, 11.2, 11.1, 11.0],
            "power_w": [None, 78_000.0, 97_200.0, 108_300.0, 117_700.0],
        },
        "findings": [
            {
                "check": "operating region",
                "verdict": "good",
                "sentence": "Duty lies at 101% of best-efficiency flow.",
                "source": "HI 9.6.3",
                "certainty": "confirmed-2nd",
            }
        ],
        "materials": [
            {
                "rule": "flange rating: discharge",
                "topic": "pressure",
                "severity": "fits",
                "sentence": "PN 16 carries the highest pressure, 9.0 bar at 20 °C.",
                "source": "EN 1092-2",
                "certainty": "confirmed-2nd",
            }
        ],
        "system": "laid through two known points",
    }


class ChoiceFactory(factory.django.DjangoModelFactory[Choice]):
    """A choice as it is read back; `pump=configuration(…)` says what was chosen.

    Nothing is computed: `frozen` goes through the desk's own deed where that matters.
    """

    class Meta:
        model = Choice

    class Params:
        pump = factory.LazyFunction(configuration)

    study = factory.SubFactory(StudyFactory)
    number = factory.LazyAttribute(lambda o: o.study.choices.count() + 1)
    impeller = factory.SubFactory(ImpellerFactory, curves=[])
    size = factory.SelfAttribute("impeller.size")
    inputs = factory.SelfAttribute("study.inputs")
    configuration = factory.LazyAttribute(lambda o: o.pump.as_data())
    results = factory.LazyFunction(results)
    engine_version = "0"
    by = factory.SubFactory(PersonFactory)
    at = NOW


def frozen(study: Study | None = None, *, by: Person | None = None) -> Choice:
    """The best candidate of a study, with the suggested set, frozen by the desk's own deed."""
    if study is None:
        ImpellerFactory.create()
        study = StudyFactory.create()
    cleaned = cleaned_inputs(study)
    searched = look(cleaned)
    best = searched.found.ranked(1)[0]
    size = Impeller.objects.select_related("size__pattern").get(pk=int(best.impeller.key)).size
    fitted = outfit(best, searched.duty, service_of(cleaned), size, SealNeeds(), None)
    return freeze_choice(
        study_id=study.pk,
        version=study.version,
        candidate_key=best.key,
        picked=None,
        needs=SealNeeds(),
        rotation=Rotation.CLOCKWISE,
        motor_special=False,
        reasons={warning["rule"]: "as agreed" for warning in warnings_of(best, fitted)},
        by=by or PersonFactory.create(groups=[Group.APPLICATION_ENGINEER]),
        at=NOW,
    )
