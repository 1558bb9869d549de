"""The demonstration's catalogue: six invented casings, their patterns and curves.

Curves come from `selection.hydraulics.generate`, by published efficiency and specific-speed
relations; no figure is of a real pump. Masses and shafts grow with the impeller by round rules.
"""

import math
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from selection.actions import catalogue
from selection.hydraulics.generate import (
    Pattern,
    full_diameter_mm,
    outlet_width_mm,
    points_of,
)
from selection.models import Impeller, PatternState, PumpSize, Purpose, Volute
from works.models import Person

HOUR = 3600.0
TRIMS = (1.0, 0.92, 0.84)
BAR = 1e5


@dataclass(frozen=True)
class ImpellerPlan:
    """An impeller pattern: flow and head beside the casing's own, vanes and purpose."""

    name: str
    vanes: int
    flow: float
    head: float
    purpose: Purpose
    state: PatternState = PatternState.FIT


@dataclass(frozen=True)
class CasingPlan:
    """A casing: its best-efficiency flow [m3/h] and head [m] at its speed [rev/min]."""

    name: str
    suction_dn: int
    discharge_dn: int
    flow_m3h: float
    head_m: float
    speed_rpm: float
    rating_bar: float
    bearing: str
    bearing_n: float
    impellers: tuple[ImpellerPlan, ...]
    volute: Volute = Volute.DOUBLE


A = ImpellerPlan("A", 5, 1.0, 1.0, Purpose.WATER)
B = ImpellerPlan("B", 5, 0.82, 1.04, Purpose.CONTINUOUS)
C = ImpellerPlan("C", 7, 1.16, 0.96, Purpose.WATER)
D = ImpellerPlan("D", 6, 0.92, 0.9, Purpose.CONTINUOUS, PatternState.NEEDS_REPAIR)
F = ImpellerPlan("F", 5, 0.95, 1.1, Purpose.FIRE)

CASINGS = (
    CasingPlan("Wend 125", 150, 125, 225, 50, 1475, 16, "6309", 53_000, (A, B), Volute.SINGLE),
    CasingPlan("Arle 150", 200, 150, 370, 60, 1480, 16, "6311", 72_000, (A, B, F)),
    CasingPlan("Corve 200", 250, 200, 560, 74, 1485, 16, "6314", 104_000, (A, B, C, F)),
    CasingPlan("Teme 250", 300, 250, 920, 62, 1485, 16, "6316", 124_000, (A, B, C)),
    CasingPlan("Onny 300", 350, 300, 1400, 72, 1485, 16, "6319", 153_000, (A, B, C, D)),
    CasingPlan("Rea 400", 500, 400, 2300, 44, 985, 10, "6322", 203_000, (A, C)),
)


def load_catalogue(*, by: Person, at: datetime, today: date) -> list[PumpSize]:
    """Enter patterns, casings, impellers and curves by the deeds a person would use."""
    return [_casing(number, plan, by, at, today) for number, plan in enumerate(CASINGS, start=1)]


def _casing(number: int, plan: CasingPlan, by: Person, at: datetime, today: date) -> PumpSize:
    largest = max(_diameter(plan, each) for each in plan.impellers)
    usual = "EN 1092-2 PN 16" if plan.rating_bar >= 16 else "EN 1092-2 PN 10"
    pattern = catalogue.add_pattern(
        fields={
            "number": f"P{number}00",
            "part": "casing",
            "description": f"casing {plan.name}, upper and lower half",
            "revision": "C" if number == 3 else "B",
            "core_boxes": 4 + number % 3,
            "store": f"loft {1 + number % 3}, bay {number}",
            "contraction_percent": 1.0,
            "made_for": "grey iron",
            "wall_mm": round(9 + largest / 40),
            "drilled_for": usual,
            "blanks_for": ["ASME B16.1 Class 125"] if plan.discharge_dn <= 300 else [],
            "rating_max_pa": 25 * BAR if plan.rating_bar >= 16 else 16 * BAR,
            "next_check_on": today + timedelta(days=40 * number - 60),
        },
        by=by,
        at=at,
    )
    mass = round(57.0 * (largest / 510) ** 1.6 * (plan.discharge_dn / 200) ** 1.2) * 10
    span = round(largest * 2.05)
    size = catalogue.add_size(
        fields={
            "name": plan.name,
            "pattern": pattern,
            "suction_dn": plan.suction_dn,
            "discharge_dn": plan.discharge_dn,
            "volute": plan.volute,
            "allowable_pressure_pa": plan.rating_bar * BAR * 1.25,
            "ratings": {
                "grey iron": plan.rating_bar * BAR,
                "ductile iron": plan.rating_bar * BAR * 1.25,
                "tin bronze": plan.rating_bar * BAR,
                "aluminium bronze": plan.rating_bar * BAR * 1.25,
                "duplex stainless": plan.rating_bar * BAR * 1.25,
            },
            "casing_mass_kg": mass,
            "pump_mass_kg": mass * 1.55,
            "shaft_diameter_mm": round(largest * 0.165),
            "bearing_span_mm": span,
            "sleeve_to_bearing_mm": round(span * 0.14),
            "bearing_designation": plan.bearing,
            "bearing_dynamic_rating_n": plan.bearing_n,
            "rotor_mass_kg": round(mass * 0.2),
            "inertia_kg_m2": round(mass * 0.1 * (largest / 1000) ** 2 / 8, 3),
            "speed_max_rpm": 1800.0 if plan.speed_rpm > 1000 else 1200.0,
            "box_bore_mm": round(largest * 0.26),
        },
        by=by,
        at=at,
    )
    for place, each in enumerate(plan.impellers, start=1):
        _impeller(number * 100 + place, plan, each, size, by, at, today)
    return size


def _diameter(plan: CasingPlan, each: ImpellerPlan) -> float:
    return float(round(full_diameter_mm(plan.head_m * each.head, plan.speed_rpm, 0.48)))


def _impeller(
    number: int,
    plan: CasingPlan,
    each: ImpellerPlan,
    size: PumpSize,
    by: Person,
    at: datetime,
    today: date,
) -> Impeller:
    diameter = _diameter(plan, each)
    layout = Pattern(
        bep_flow_m3s=plan.flow_m3h * each.flow / HOUR,
        bep_head_m=plan.head_m * each.head,
        speed_rpm=plan.speed_rpm,
        diameter_mm=diameter,
        vanes=each.vanes,
        efficiency_offset=0.03,
    )
    pattern = catalogue.add_pattern(
        fields={
            "number": f"P{number}",
            "part": "impeller",
            "description": f"impeller {each.name} of {plan.name}, {each.vanes} vanes",
            "revision": "A",
            "core_boxes": 1,
            "store": f"loft {1 + number % 3}, shelf {number % 7 + 1}",
            "state": each.state,
            "contraction_percent": 1.5,
            "made_for": "tin bronze",
            "next_check_on": today + timedelta(days=15 * (number % 11) - 20),
        },
        by=by,
        at=at,
    )
    impeller = catalogue.add_impeller(
        fields={
            "size": size,
            "name": each.name,
            "pattern": pattern,
            "purpose": each.purpose,
            "vanes": each.vanes,
            "outlet_width_mm": round(outlet_width_mm(layout), 1),
            "outlet_angle_deg": 20.0 + each.vanes,
            "eye_diameter_mm": round(plan.suction_dn * 0.72),
            "full_diameter_mm": diameter,
            "least_diameter_mm": float(round(diameter * 0.8)),
            "mass_kg": round(8.0e-7 * diameter**2.9, 1),
        },
        by=by,
        at=at,
    )
    for share in TRIMS:
        points = points_of(layout, round(diameter * share))
        npshr = [] if points.npshr_m is None else [_or_none(value) for value in points.npshr_m]
        catalogue.add_curve(
            impeller_id=impeller.pk,
            diameter_mm=points.diameter_mm,
            speed_rpm=points.speed_rpm,
            flow_m3s=[round(float(value), 6) for value in points.flow_m3s],
            head_m=[round(float(value), 3) for value in points.head_m],
            efficiency=[round(float(value), 4) for value in points.efficiency],
            npshr_m=npshr,
            tested_on=today - timedelta(days=900 + number),
            source="invented: published relations",
            by=by,
            at=at,
        )
    return impeller


def _or_none(value: float) -> float | None:
    return None if math.isnan(value) else round(float(value), 3)
