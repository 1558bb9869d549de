"""Rows of the house's tables for the rest of the test bed: swings, NPSH, vibration, noise, trim."""

import math

from quality.acceptance.bearings import BearingLimits
from quality.acceptance.cure import TrimRules
from quality.acceptance.errors import NoSuchRow
from quality.acceptance.noise import NoiseRules
from quality.acceptance.npsh import NpshTolerance
from quality.acceptance.standards import Tables, named_row
from quality.acceptance.steadiness import FluctuationLimit
from quality.acceptance.vibration import VibrationLimit

FLUCTUATION = "iso9906_fluctuation"
NPSH = "iso9906_npsh"
VIBRATION = "iso10816_7_zones"
NOISE = "iso3744_noise"
BEARINGS = "bearing_temperature"
TRIM = "trim_limits"


def fluctuation_limits(tables: Tables, instruments: str) -> tuple[FluctuationLimit, ...]:
    """How far a measuring class lets instruments swing.

    tables : of standards
    instruments : measuring class, "1" or "2"
    returns : a limit a quantity
    """
    return tuple(
        FluctuationLimit(
            quantity=row.text("quantity"),
            amplitude=row.number("amplitude_pct") / 100,
            row=tables.evidence(row),
        )
        for row in tables.of(FLUCTUATION)
        if row.text("grades").startswith(instruments)
    )


def npsh_tolerance(tables: Tables, instruments: str) -> NpshTolerance:
    """How far NPSH required may lie above its guarantee.

    tables : of standards
    instruments : measuring class, "1" or "2"
    returns : the tolerance
    raises : NoSuchRow
    """
    for row in tables.of(NPSH):
        if row.text("grades").startswith(instruments):
            return NpshTolerance(
                share=row.number("tolerance_pct") / 100,
                least_m=row.number("tolerance_m"),
                row=tables.evidence(row),
            )
    raise NoSuchRow(
        table=NPSH,
        what=f"measuring class {instruments}",
        covers=", ".join(row.name for row in tables.of(NPSH)),
    )


def vibration_limits(tables: Tables) -> tuple[VibrationLimit, ...]:
    """Zones and factory limits of vibration.

    tables : of standards
    returns : all rows
    """
    return tuple(
        VibrationLimit(
            category=row.text("category"),
            over_w=1000 * row.number("power_over_kw"),
            up_to_w=1000 * row.number("power_to_kw") if row.has("power_to_kw") else math.inf,
            boundary=row.text("boundary"),
            velocity_mm_s=row.number("velocity_mm_s"),
            row=tables.evidence(row),
        )
        for row in tables.of(VIBRATION)
    )


def noise_rules(tables: Tables) -> NoiseRules:
    """Values of the noise standard.

    tables : of standards
    returns : the rules
    """
    by_quantity = {row.text("quantity"): row for row in tables.of(NOISE)}
    return NoiseRules(
        least_difference_db=by_quantity["least difference"].number("value"),
        no_correction_db=by_quantity["no correction above"].number("value"),
        largest_room_db=by_quantity["largest room correction"].number("value"),
        reproducibility_db=by_quantity["reproducibility"].number("value"),
        rows=tuple(tables.evidence(row) for row in by_quantity.values()),
    )


def bearing_limits(tables: Tables) -> BearingLimits:
    """What a bearing may do on test.

    tables : of standards
    returns : the limits
    """
    by_quantity = {row.text("quantity"): row for row in tables.of(BEARINGS)}
    return BearingLimits(
        highest_k=by_quantity["temperature"].number("highest") + 273.15,
        rise_k=by_quantity["rise above ambient"].number("highest"),
        steady_k=by_quantity["change while steady"].number("highest"),
        rows=tuple(tables.evidence(row) for row in by_quantity.values()),
    )


def trim_rules(tables: Tables) -> TrimRules:
    """How far the conversion to a smaller impeller holds.

    tables : of standards
    returns : the rules
    """
    reduction = named_row(tables, TRIM, "reduction of the impeller for which the conversion holds")
    number = named_row(tables, TRIM, "type number up to which the conversion holds")
    unchanged = named_row(tables, TRIM, "reduction up to which efficiency is taken as unchanged")
    return TrimRules(
        reduction=reduction.number("highest") / 100,
        type_number=number.number("highest"),
        unchanged=unchanged.number("highest") / 100,
        rows=tuple(tables.evidence(row) for row in (reduction, number, unchanged)),
    )
