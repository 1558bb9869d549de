"""Rows of the catalogue as the search wants them, kept in memory until the catalogue changes."""

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import lru_cache

import numpy as np
from django.db import connection

from selection.hydraulics.catalogue import Catalogue, CatalogueImpeller, pack
from selection.hydraulics.curves import CurvePoints
from selection.hydraulics.learning import merged, with_tests
from selection.hydraulics.mechanics import Mechanics
from selection.models import CurveTest, Impeller, Pattern, PumpSize, Purpose, Volute

Origin = CurveTest.Origin


def points_of(test: CurveTest) -> CurvePoints:
    """A tested curve as the computation takes it.

    raises : HydraulicsError for points that make no curve
    """
    return CurvePoints(
        flow_m3s=np.array(test.flow_m3s),
        head_m=np.array(test.head_m),
        efficiency=np.array(test.efficiency),
        npshr_m=np.array([math.nan if value is None else value for value in test.npshr_m])
        if test.npshr_m
        else None,
        speed_rpm=test.speed_rpm,
        diameter_mm=test.diameter_mm,
    )


def mechanics_of(size: PumpSize, impeller: Impeller) -> Mechanics:
    """Shaft, bearings and widths for the rotor's checks."""
    return Mechanics(
        bearing_span_mm=size.bearing_span_mm,
        shaft_diameter_mm=size.shaft_diameter_mm,
        sleeve_to_bearing_mm=size.sleeve_to_bearing_mm,
        outlet_width_mm=impeller.outlet_width_mm,
        bearing_rating_n=size.bearing_dynamic_rating_n,
        bearing_exponent=size.bearing_exponent,
        rotor_mass_kg=size.rotor_mass_kg,
        inertia_kg_m2=size.inertia_kg_m2,
        shaft_yield_pa=size.shaft_proof_pa,
    )


def catalogue_impeller(impeller: Impeller, tests: Iterable[CurveTest]) -> CatalogueImpeller:
    """One impeller as searches use it: its catalogue curves, moved to where tested units lie.

    tests : in use; repeated tests of one diameter are averaged
    raises : HydraulicsError for curves that cannot stand together
    """
    size, rows = impeller.size, list(tests)
    shown = CatalogueImpeller(
        key=str(impeller.pk),
        casing=size.name,
        pattern=impeller.pattern.number,
        tests=tuple(_by_diameter(row for row in rows if row.origin == Origin.CATALOGUE)),
        diameter_min_mm=impeller.least_diameter_mm,
        diameter_max_mm=impeller.full_diameter_mm,
        purposes=Purpose(impeller.purpose).suits,
        speed_max_rpm=size.speed_max_rpm,
        casing_pressure_max_pa=size.allowable_pressure_pa,
        volutes=2 if size.volute == Volute.DOUBLE else 1,
        allowable_low=size.allowable_low,
        allowable_high=size.allowable_high,
        suction_nozzle_mm=float(size.suction_dn),
        discharge_nozzle_mm=float(size.discharge_dn),
        mechanics=mechanics_of(size, impeller),
    )
    return with_tests(shown, [points_of(row) for row in rows if row.origin == Origin.AS_TESTED])


def _by_diameter(tests: Iterable[CurveTest]) -> Iterator[CurvePoints]:
    """A curve a diameter; two within a thousandth of each other are one."""
    rows = sorted(tests, key=lambda test: test.diameter_mm)
    while rows:
        same = [row for row in rows if row.diameter_mm <= rows[0].diameter_mm * 1.001]
        points = [points_of(row) for row in same]
        yield points[0] if len(points) == 1 else merged(points)
        rows = rows[len(same) :]


def packed_catalogue() -> Catalogue | None:
    """The whole catalogue packed into arrays; None while it holds no impeller with a curve."""
    return _packed(_version())


_VERSION = """
SELECT (SELECT (max(id), count(*), count(*) FILTER (WHERE withdrawn))::text FROM {test}),
       (SELECT (max(id), count(*), sum(version))::text FROM {impeller}),
       (SELECT (max(id), count(*), sum(version))::text FROM {size} WHERE NOT withdrawn),
       (SELECT sum(version) FROM {pattern})
"""


def _version() -> tuple[object, ...]:
    """What changes whenever a row that the search reads does; one query, since each redraw asks."""
    tables = {
        "test": CurveTest._meta.db_table,
        "impeller": Impeller._meta.db_table,
        "size": PumpSize._meta.db_table,
        "pattern": Pattern._meta.db_table,
    }
    with connection.cursor() as cursor:
        cursor.execute(_VERSION.format(**tables))
        row = cursor.fetchone()
    assert row is not None  # a query of scalar subqueries has one row
    return tuple(row)


@lru_cache(maxsize=2)
def _packed(version: tuple[object, ...]) -> Catalogue | None:
    tests: dict[int, list[CurveTest]] = defaultdict(list)
    for test in CurveTest.objects.filter(withdrawn=False):
        tests[test.impeller_id].append(test)
    impellers = [
        catalogue_impeller(impeller, tests[impeller.pk])
        for impeller in Impeller.objects.filter(size__withdrawn=False)
        .select_related("size", "pattern")
        .order_by("size__name", "name")
        if any(test.origin == Origin.CATALOGUE for test in tests[impeller.pk])
    ]
    return pack(impellers) if impellers else None


def trim_law_words(impeller: Impeller, tests: Iterable[CurveTest]) -> str:
    """By which law the search trims the impeller; empty while it has no curve."""
    rows = [test for test in tests if not test.withdrawn]
    if all(row.origin != Origin.CATALOGUE for row in rows):
        return ""
    law = catalogue_impeller(impeller, rows).trim_law
    return f"{'Learned' if law.learned else 'Not learned'}: {law.source}"
