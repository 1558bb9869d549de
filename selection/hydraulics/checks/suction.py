"""Checks of the suction: NPSH at duty and at run-out, suction specific speed."""

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
from selection.hydraulics.door import Certainty, Floats
from selection.hydraulics.lineup import Lineup


def _npsh(c: Lineup, available: Floats | float, required: Floats, where: str) -> Judged:
    needed = c.rules.npsh.needed(required)
    spare = np.asarray(available - required)
    return Judged(
        figure=np.broadcast_to(available, required.shape),
        limit=needed,
        pick=first_true(np.isnan(required), available >= needed, available >= required),
        outcomes=(
            (CAUTION, f"NPSH required {where} is not known: it was not measured at that flow."),
            (
                GOOD,
                f"NPSH {where}: {{figure:.1f}} m available for {{required:.1f}} m, margin "
                "{spare:.1f} m.",
            ),
            (
                AGAINST,
                f"NPSH {where}: {{figure:.1f}} m available for {{required:.1f}} m; the margin "
                f"asked needs {{limit:.1f}} m ({c.rules.npsh.name}).",
            ),
            (
                KILLS,
                f"NPSH {where}: only {{figure:.1f}} m available for {{required:.1f}} m required: "
                "the pump would cavitate. Raise the level, or lower the vapour pressure, by "
                "{lift:.1f} m of head.",
            ),
        ),
        more={"required": required, "spare": spare, "lift": np.maximum(needed - available, 0.0)},
    )


@check(
    "NPSH at duty", unit="m", source="the margin rule of this search",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def npsh_at_duty(c: Lineup) -> Judged:
    """NPSH margin at the duty, at the lowest suction level."""
    return _npsh(c, c.npsha_duty_m, c.solved.npshr_m, "at duty")


@check(
    "NPSH alone", unit="m", source="the margin rule of this search, at run-out",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def npsh_alone(c: Lineup) -> Judged:
    """NPSH margin of the last pump alone, at the lowest suction level."""
    judged = _npsh(c, c.npsha_alone_m, c.solved.alone_npshr_m, "at run-out alone")
    kind = AGAINST if c.duty.pumps > 1 else KILLS
    outcomes = (*judged.outcomes[:3], (kind, judged.outcomes[3][1]))
    return Judged(
        figure=judged.figure,
        limit=judged.limit,
        pick=judged.pick,
        outcomes=outcomes,
        more=judged.more,
    )


@check(
    "suction specific speed", unit="-",
    source="S up to 213 per eye (11 000 in US units) ordinary",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def suction_specific_speed(c: Lineup) -> Judged:
    """Whether the suction specific speed is ordinary."""
    s = c.catalogue.suction_speed[c.solved.impeller]
    return Judged(
        figure=s,
        limit=np.where(
            s > c.rules.suction_speed_most, c.rules.suction_speed_most, c.rules.suction_speed_usual
        ),
        pick=first_true(
            np.isnan(s), s <= c.rules.suction_speed_usual, s <= c.rules.suction_speed_most
        ),
        outcomes=(
            (CAUTION, "Suction specific speed is not known: NPSH required was not measured."),
            (GOOD, "Suction specific speed {figure:.0f} (US {us:.0f}) per eye is ordinary."),
            (
                CAUTION,
                "Suction specific speed {figure:.0f} (US {us:.0f}) per eye is above {limit:.0f}: "
                "keep close to best efficiency.",
            ),
            (
                AGAINST,
                "Suction specific speed {figure:.0f} (US {us:.0f}) per eye is above {limit:.0f}: "
                "recirculation at part flow.",
            ),
        ),
        more={"us": s * 51.645},
    )
