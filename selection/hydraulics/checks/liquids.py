"""Checks of the liquid: viscosity, solids."""

import numpy as np

from selection.hydraulics.checks.table import (
    AGAINST,
    CAUTION,
    GOOD,
    KILLS,
    Judged,
    check,
    first_true,
)
from selection.hydraulics.door import Certainty
from selection.hydraulics.lineup import Lineup
from selection.hydraulics.solids import FINE_SILT_MOST, HARD_RINGS_FROM, OTHER_PUMP_FROM


@check(
    "viscosity", unit="-", source="ANSI/HI 9.6.7, correction where B is above 1",
    certainty=Certainty.SECOND_HAND,
)  # fmt: skip
def viscosity(c: Lineup) -> Judged:
    """Whether the water curve holds, was corrected, or cannot be."""
    b = c.viscous_parameter
    corrected = c.of_impeller("viscous_factors.parameter")
    refused = c.catalogue.told("viscous refusal", lambda impeller: bool(impeller.viscous_refusal))
    factors = {
        name: c.of_impeller(f"viscous_factors.{name}")
        for name in ("head_at_best", "efficiency", "flow")
    }
    return Judged(
        figure=b,
        limit=1.0,
        pick=first_true(refused[c.solved.impeller] > 0.0, b <= 1.0, ~np.isnan(corrected)),
        outcomes=(
            (KILLS, "{why}"),
            (GOOD, "The liquid is thin enough (B = {figure:.2f}) for the water curve to hold."),
            (
                GOOD,
                "Curve corrected for viscosity, B = {figure:.1f}: flow × {flow:.3f}, head at best "
                "efficiency × {head_at_best:.3f}, efficiency × {efficiency:.3f}. NPSH required is "
                "as on water.",
            ),
            (AGAINST, "B = {figure:.1f}: the water curve does not hold and was not corrected."),
        ),
        more={
            "why": c.words("viscous refusal", lambda impeller: impeller.viscous_refusal),
            **factors,
        },
    )


@check(
    "solids", unit="-",
    source="hard rings from 50 ppm of fine sand, another kind of pump from 0.5 % by weight",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def solids(c: Lineup) -> Judged:
    """What solids ask for."""
    share = np.full(c.solved.speed_rpm.shape, c.duty.liquid.solids_mass_share)
    ppm = share * 1e6
    return Judged(
        figure=share,
        limit=np.where(share > OTHER_PUMP_FROM, OTHER_PUMP_FROM, HARD_RINGS_FROM),
        pick=first_true(
            share <= HARD_RINGS_FROM, share <= OTHER_PUMP_FROM, share <= FINE_SILT_MOST
        ),
        outcomes=(
            (GOOD, "No solids worth counting."),
            (CAUTION, "{ppm:.0f} ppm of solids: hard wear rings are wanted."),
            (AGAINST, "{figure:.1%} of solids by weight: another kind of pump is better."),
            (
                KILLS,
                "{figure:.1%} of solids by weight is beyond what these curves hold for; enter "
                "head and efficiency ratios and choose another kind of pump.",
            ),
        ),
        more={"ppm": ppm},
    )
