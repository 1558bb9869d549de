"""Small catalogues for the tests of the search."""

from functools import cache

import numpy as np

from selection.hydraulics import (
    Catalogue,
    CatalogueImpeller,
    Duty,
    Mechanics,
    Suction,
    pack,
    through_points,
    water,
)
from selection.hydraulics.generate import Pattern, full_diameter_mm, points_of

ROTOR = Mechanics(
    bearing_span_mm=900.0,
    shaft_diameter_mm=100.0,
    sleeve_to_bearing_mm=140.0,
    outlet_width_mm=70.0,
    bearing_rating_n=130e3,
    rotor_mass_kg=95.0,
    inertia_kg_m2=2.2,
)


def impeller(
    key: str = "A",
    flow_m3s: float = 0.155,
    head_m: float = 68.0,
    tests: tuple[float, ...] = (1.0,),
    **change: object,
) -> CatalogueImpeller:
    """One impeller of which the tests' shares of the full diameter are given."""
    layout = Pattern(
        bep_flow_m3s=flow_m3s,
        bep_head_m=head_m,
        speed_rpm=1480.0,
        diameter_mm=full_diameter_mm(head_m, 1480.0),
    )
    figures: dict[str, object] = {
        "key": key,
        "casing": "casing",
        "pattern": key,
        "tests": tuple(points_of(layout, share * layout.diameter_mm) for share in tests),
        "diameter_min_mm": 0.8 * layout.diameter_mm,
        "diameter_max_mm": layout.diameter_mm,
        "mechanics": ROTOR,
    }
    return CatalogueImpeller(**(figures | change))


def duty(**change: object) -> Duty:
    """Three pumps of 540 m³/h at 62 m, four poles at 1480 rev/min."""
    figures: dict[str, object] = {
        "flow_m3s": 0.15,
        "head_m": 62.0,
        "system": through_points((0.0, 45.0), (0.45, 62.0)),
        "pumps": 3,
        "liquid": water(293.15),
        "suction": Suction(level_m=1.0, loss_m=0.5),
        "poles": (4,),
        "speeds_rpm": (1480.0,),
    }
    return Duty(**(figures | change))


@cache
def many(count: int = 60) -> Catalogue:
    """Impellers of many sizes, with one, two or three tests each."""
    random = np.random.default_rng(7)
    shares = ((1.0,), (1.0, 0.9), (1.0, 0.93, 0.86))
    return pack(
        [
            impeller(
                str(place),
                0.15 * float(np.exp(0.35 * random.normal())),
                68.0 * float(np.exp(0.3 * random.normal())),
                shares[place % 3],
            )
            for place in range(count)
        ]
    )
