"""Checks of pump and system: duty on the system, other duties, run-out alone."""

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
from selection.hydraulics.question import Alone, Fit


@check(
    "other duties", unit="m", source="the further duties of this search",
    certainty=Certainty.CONFIRMED,
)  # fmt: skip
def other_duties(c: Lineup) -> Judged:
    """Whether the trim that the hardest duty needs serves the others."""
    nothing = np.zeros(c.solved.speed_rpm.shape)
    spare = [solved.spare_head_m for _, solved in c.others] or [nothing]
    failed = [solved.fit != Fit.MEETS for _, solved in c.others] or [nothing > 0.0]
    worst = np.argmax(np.array(failed), axis=0)
    heads = np.array([duty.head_m for duty, _ in c.others] or [0.0])
    flows = np.array([duty.flow_m3s for duty, _ in c.others] or [0.0]) * 3600.0
    any_failed = np.any(failed, axis=0)
    most = np.max(spare, axis=0)
    here = np.take_along_axis(np.array(spare), worst[None, :], axis=0)[0]
    few = np.full(nothing.shape, not c.others)
    return Judged(
        figure=np.where(any_failed, here, most),
        limit=0.0,
        pick=first_true(few, any_failed),
        outcomes=(
            (GOOD, "There are no other duties."),
            (KILLS, "The duty of {flow:.0f} m³/h at {head:.1f} m is not met: {figure:+.1f} m."),
            (GOOD, f"All {len(c.others)} other duties are met; a valve takes up to {{figure:.1f}} "
             "m."),
        ),
        more={"flow": flows[worst], "head": heads[worst]},
    )  # fmt: skip


@check(
    "duty on the system", unit="-", source="works' setting: within 5 % of the duty's flow",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def duty_on_system(c: Lineup) -> Judged:
    """How near the pumps come to the duty on the system given."""
    flow = c.solved.running_flow_m3s[-1]
    state = c.solved.running_state[-1]
    off = flow / c.duty.flow_m3s - 1.0
    near = np.abs(off) <= c.rules.off_duty_most
    runs = f"{c.duty.pumps} running: " if c.duty.pumps > 1 else ""
    return Judged(
        figure=off,
        limit=c.rules.off_duty_most,
        pick=first_true(
            (state == Alone.MEETS) & near, state == Alone.MEETS, state == Alone.BEYOND_END
        ),
        outcomes=(
            (GOOD, runs + "{flow:.0f} m³/h each at {head:.1f} m, {figure:+.1%} of the duty."),
            (
                CAUTION,
                runs + "{flow:.0f} m³/h each at {head:.1f} m: {figure:+.1%} of the duty, for the "
                "duty does not lie on the system's curve.",
            ),
            (AGAINST, runs + "the pumps run beyond the end of their curve on this system."),
            (KILLS, runs + "pump and system do not meet: the system asks more head."),
        ),
        more={"flow": flow * 3600.0, "head": c.solved.running_head_m[-1]},
    )


@check(
    "run-out alone", unit="-", source="the last pump alone, at the least static head, on its curve",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def run_out_alone(c: Lineup) -> Judged:
    """How far the last pump alone runs out."""
    share = c.solved.alone_flow_m3s / c.solved.bep_flow_m3s
    limit = c.of_impeller("allowable_high")
    state = c.solved.alone_state
    return Judged(
        figure=share,
        limit=limit,
        pick=first_true(
            state == Alone.BEYOND_END,
            state == Alone.TOO_LITTLE_HEAD,
            share > limit,
        ),
        outcomes=(
            (
                AGAINST,
                "Alone on the system the pump runs beyond the end of its tested curve, "
                "{end:.0f} m³/h: hold it back by a valve or speed, or forbid it.",
            ),
            (CAUTION, "Alone the pump does not reach the system's head."),
            (
                CAUTION,
                "Alone it runs out to {flow:.0f} m³/h at {head:.1f} m, {figure:.0%} of best "
                "efficiency, above the allowable {limit:.0%}.",
            ),
            (
                GOOD,
                "Alone it runs out to {flow:.0f} m³/h at {head:.1f} m, {figure:.0%} of best "
                "efficiency.",
            ),
        ),
        more={
            "flow": c.solved.alone_flow_m3s * 3600.0,
            "head": c.solved.alone_head_m,
            "end": c.solved.end_flow_m3s * 3600.0,
        },
    )
