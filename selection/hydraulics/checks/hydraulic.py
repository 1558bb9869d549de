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
from selection.hydraulics.door import Certainty
from selection.hydraulics.lineup import Lineup


@check(
    "head at duty", unit="m", source="trim between the limits of the pattern",
    certainty=Certainty.CONFIRMED,
)  # fmt: skip
def head_at_duty(c: Lineup) -> Judged:
    """Whether a trim between the limits makes the duty, and how far off it is otherwise."""
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
    """Whether the pattern is made for what is asked."""
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
    """Whether casing and bearings bear the speed."""
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
    """Where the duty lies in the preferred and the allowable region."""
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
    """How far the duty lies from best efficiency, and what that costs."""
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
    """How much diameter is left to grow, and how much is turned off."""
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
    """Whether the trim rests on tests or on practice, and how far it reaches."""
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
    "rise to shut-off", unit="-",
    source="at least 10 % for parallel running (API 610); above 30 % pressure grows needlessly",
    certainty=Certainty.MEMORY,
)  # fmt: skip
def rise_to_shutoff(c: Lineup) -> Judged:
    """How steeply head rises to the closed valve."""
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
    """Whether the curve falls throughout and meets its system once."""
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
