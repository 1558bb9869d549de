"""Checks of the curve: duty, region, trim, stability, run-out, suction."""

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
from selection.hydraulics.solve import Alone, Fit


@check(
    "head at duty", unit="m", source="trim between the limits of the pattern",
    certainty=Certainty.CONFIRMED,
)  # fmt: skip
def head_at_duty(c: Lineup) -> Judged:
    s = c.solved
    most, least = (c.of_impeller(f"diameter_{end}_mm") for end in ("max", "min"))
    law = c.catalogue.head_exponent[s.impeller]
    made = c.duty.head_m + s.spare_head_m
    grown = most * np.power(c.duty.head_m / np.maximum(made, 1e-9), 1.0 / law)
    return Judged(
        figure=s.spare_head_m,
        limit=0.0,
        pick=np.where(c.meets & (s.spare_head_m > 1e-6 * c.duty.head_m), 5, s.fit),
        outcomes=(
            (GOOD, "Trimmed to {diameter:.1f} mm at {speed:.0f} rev/min it makes the duty's head."),
            (
                KILLS,
                "At its largest diameter, {most:.0f} mm, it makes {made:.1f} m at the duty's flow: "
                "{short:.1f} m short. About {grown:.0f} mm would be needed.",
            ),
            (
                KILLS,
                "At its least diameter, {least:.0f} mm, it still makes {made:.1f} m at the duty's "
                "flow: {figure:.1f} m too much.",
            ),
            (
                KILLS,
                "The duty's flow lies beyond the end of the tested curve, {end:.0f} m³/h, "
                "at {diameter:.0f} mm.",
            ),
            (
                KILLS,
                "The duty's flow lies before the start of the tested curve, {start:.0f} m³/h.",
            ),
            (
                GOOD,
                "At {diameter:.1f} mm, which another duty needs, it makes {figure:.1f} m more than "
                "this duty asks: a valve takes it.",
            ),
        ),
        more={
            "made": made,
            "short": -s.spare_head_m,
            "most": most,
            "least": least,
            "grown": grown,
            "diameter": s.diameter_mm,
            "speed": s.speed_rpm,
            "end": s.end_flow_m3s * 3600.0,
            "start": s.start_flow_m3s * 3600.0,
        },
    )


@check(
    "purpose", unit="-", source="the pattern register",
    certainty=Certainty.CONFIRMED,
)  # fmt: skip
def purpose(c: Lineup) -> Judged:
    asked = c.duty.purpose
    made_for = c.catalogue.told(f"made for {asked}", lambda impeller: asked in impeller.purposes)
    suits = made_for[c.solved.impeller] > 0.0
    names = c.words("purposes", lambda impeller: ", ".join(sorted(impeller.purposes)))
    return Judged(
        figure=suits.astype(np.float64),
        limit=1.0,
        pick=np.where(suits, 0, 1),
        outcomes=(
            (GOOD, "The pattern is made for this purpose."),
            (KILLS, f"The pattern is made for {{purposes}} duty, not for {c.duty.purpose}."),
        ),
        more={"purposes": names},
    )


@check(
    "highest speed", unit="rev/min", source="the casing's data",
    certainty=Certainty.CONFIRMED,
)  # fmt: skip
def highest_speed(c: Lineup) -> Judged:
    limit = c.of_impeller("speed_max_rpm")
    return Judged(
        figure=c.solved.speed_rpm,
        limit=limit,
        pick=np.where(c.solved.speed_rpm <= limit, 0, 1),
        outcomes=(
            (GOOD, "{figure:.0f} rev/min is within the casing's {limit:.0f}."),
            (KILLS, "{figure:.0f} rev/min is above the casing's limit of {limit:.0f}."),
        ),
    )


@check(
    "operating region", unit="-",
    source="preferred 70 to 120 % of best-efficiency flow (HI 9.6.3, from 80 % above n_q 87); "
    "allowable as the casing's data say",
    certainty=Certainty.SECOND_HAND,
)  # fmt: skip
def operating_region(c: Lineup) -> Judged:
    share = c.share_of_best
    fast = c.catalogue.n_q_total[c.solved.impeller] > 87.0
    low = np.where(fast, c.rules.preferred_low_fast, c.rules.preferred_low)
    high = c.rules.preferred_high
    allowed_low, allowed_high = c.of_impeller("allowable_low"), c.of_impeller("allowable_high")
    preferred = (share >= low) & (share <= high)
    allowed = (share >= allowed_low) & (share <= allowed_high)
    under = share < 1.0
    return Judged(
        figure=share,
        limit=np.where(
            allowed, np.where(under, low, high), np.where(under, allowed_low, allowed_high)
        ),
        pick=first_true(preferred, allowed),
        outcomes=(
            (
                GOOD,
                "Duty lies at {figure:.0%} of best-efficiency flow, inside the preferred region "
                "of {low:.0%} to {high:.0%}.",
            ),
            (
                CAUTION,
                "Duty lies at {figure:.0%} of best-efficiency flow, outside the preferred region "
                "of {low:.0%} to {high:.0%} but allowed ({allowed_low:.0%} to {allowed_high:.0%}).",
            ),
            (
                KILLS,
                "Duty lies at {figure:.0%} of best-efficiency flow, outside the allowable region "
                "of {allowed_low:.0%} to {allowed_high:.0%}.",
            ),
        ),
        more={"low": low, "high": high, "allowed_low": allowed_low, "allowed_high": allowed_high},
    )


@check(
    "distance to best efficiency", unit="-",
    source="rated point within 80 to 110 % of best-efficiency flow (API 610)",
    certainty=Certainty.MEMORY,
)  # fmt: skip
def distance_to_best(c: Lineup) -> Judged:
    share, low, high = c.share_of_best, c.rules.best_low, c.rules.best_high
    lost = (c.solved.bep_efficiency - c.solved.efficiency) * 100.0
    ends = f"{low:.0%} to {high:.0%}"
    return Judged(
        figure=share,
        limit=np.where(share < 1.0, low, high),
        pick=np.where((share >= low) & (share <= high), 0, 1),
        outcomes=(
            (
                GOOD,
                "{figure:.0%} of best-efficiency flow; efficiency {eta:.1%}, {lost:.1f} points "
                "under the best.",
            ),
            (
                CAUTION,
                "{figure:.0%} of best-efficiency flow, outside " + ends + "; efficiency {eta:.1%}, "
                "{lost:.1f} points under the best.",
            ),
        ),
        more={"eta": c.solved.efficiency, "lost": lost},
    )


@check(
    "diameter in hand", unit="-",
    source="2 % left to grow, no more than 15 % turned off without asking",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def diameter_in_hand(c: Lineup) -> Judged:
    most = c.of_impeller("diameter_max_mm")
    in_hand = 1.0 - c.solved.diameter_mm / most
    share = c.solved.diameter_mm / most
    enough, little = in_hand >= c.rules.diameter_in_hand, in_hand <= c.rules.trim_most
    return Judged(
        figure=in_hand,
        limit=np.where(little, c.rules.diameter_in_hand, c.rules.trim_most),
        pick=first_true(enough & little, ~enough),
        outcomes=(
            (GOOD, "{share:.1%} of the largest diameter; {mm:.0f} mm in hand."),
            (
                CAUTION,
                "{share:.1%} of the largest diameter: only {mm:.1f} mm in hand, under the "
                "{limit:.0%} wanted.",
            ),
            (
                AGAINST,
                "{figure:.1%} is turned off, more than the {limit:.0%} allowed without asking; the "
                "trim law is unsure so far down.",
            ),
        ),
        more={"share": share, "mm": most - c.solved.diameter_mm},
    )


@check(
    "trim law", unit="-", source="tests at two or more diameters, otherwise practice",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def trim_law(c: Lineup) -> Judged:
    learned = c.catalogue.learned[c.solved.impeller]
    tested = c.catalogue.test_diameter_mm
    d = c.solved.diameter_mm
    away = np.minimum(
        np.abs(d / tested[c.solved.lower] - 1.0), np.abs(d / tested[c.solved.upper] - 1.0)
    )
    return Judged(
        figure=away,
        limit=0.05,
        pick=first_true(learned, away <= 0.05),
        outcomes=(
            (GOOD, "{figure:.1%} from the nearest tested diameter. Trim law learned: {law}."),
            (GOOD, "{figure:.1%} from the tested diameter; {law}."),
            (
                CAUTION,
                "{figure:.1%} from the tested diameter on a law that no test of this impeller "
                "bears out: {law}.",
            ),
        ),
        more={"law": c.words("law", lambda impeller: impeller.trim_law.source)},
    )


@check(
    "other duties", unit="m", source="the further duties of this search",
    certainty=Certainty.CONFIRMED,
)  # fmt: skip
def other_duties(c: Lineup) -> Judged:
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
    "rise to shut-off", unit="-",
    source="at least 10 % for parallel running (API 610); above 30 % pressure grows needlessly",
    certainty=Certainty.MEMORY,
)  # fmt: skip
def rise_to_shutoff(c: Lineup) -> Judged:
    rise = c.solved.shutoff_head_m / c.duty.head_m - 1.0
    steep, flat = rise > c.rules.rise_most, rise < c.rules.rise_least
    tested = c.solved.start_flow_m3s <= 0.02 * c.solved.end_flow_m3s
    note = np.array(["", " (shut-off not tested: curve carried on level)"], dtype=object)[
        np.where(tested, 0, 1)
    ]
    parallel = c.duty.pumps + c.duty.standby > 1
    return Judged(
        figure=rise,
        limit=np.where(steep, c.rules.rise_most, c.rules.rise_least),
        pick=first_true(~steep & ~flat, steep),
        outcomes=(
            (GOOD, "Head rises {figure:.1%} from duty to shut-off, {shutoff:.1f} m{note}."),
            (
                CAUTION,
                "Head rises {figure:.1%} to shut-off, {shutoff:.1f} m{note}, more than "
                "{limit:.0%}: pressure at the closed valve is high.",
            ),
            (
                AGAINST if parallel else CAUTION,
                "Head rises only {figure:.1%} to shut-off, {shutoff:.1f} m{note}, under the "
                "{limit:.0%} wanted for parallel running.",
            ),
        ),
        more={"shutoff": c.solved.shutoff_head_m, "note": note},
    )


@check(
    "stability", unit="-", source="head falls continuously from shut-off",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def stability(c: Lineup) -> Judged:
    crossings = c.solved.meetings.max(axis=0)
    stable = c.solved.stable
    parallel = c.duty.pumps + c.duty.standby > 1
    return Judged(
        figure=crossings.astype(np.float64),
        limit=1.0,
        pick=first_true(stable, crossings > 1),
        outcomes=(
            (GOOD, "Head falls all the way from shut-off."),
            (KILLS, "Unstable: pump and system meet at {figure:.0f} points."),
            (
                AGAINST if parallel else CAUTION,
                "The head curve has a hump, so pumps can change over from one flow to another.",
            ),
        ),
    )


@check(
    "duty on the system", unit="-", source="works' setting: within 5 % of the duty's flow",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def duty_on_system(c: Lineup) -> Judged:
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
    return _npsh(c, c.npsha_duty_m, c.solved.npshr_m, "at duty")


@check(
    "NPSH alone", unit="m", source="the margin rule of this search, at run-out",
    certainty=Certainty.PRACTICE,
)  # fmt: skip
def npsh_alone(c: Lineup) -> Judged:
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
