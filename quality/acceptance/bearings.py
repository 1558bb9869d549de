"""Bearing temperatures on the bed: steady yet, and cool enough?

A bearing is judged once its temperature is steady: it has changed by no more than a little over the
last half hour. Before that the test goes on, whatever it shows.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from quality.acceptance.errors import NotANumber, TooFewMeasurements
from quality.acceptance.evidence import Outcome, Row

WINDOW_S = 1800.0
"""Half an hour, over which a temperature has to stand still [s]."""


@dataclass(frozen=True, kw_only=True)
class BearingLimits:
    """What a bearing may do on test.

    highest_k : temperature [K]
    rise_k : above ambient [K]
    steady_k : change over half an hour that still counts as steady [K]
    rows : they come from
    """

    highest_k: float
    rise_k: float
    steady_k: float
    rows: tuple[Row, ...]


@dataclass(frozen=True, kw_only=True)
class BearingReading:
    """One reading of a bearing.

    at_s : since the run began [s]
    bearing_k, ambient_k : temperatures [K]
    """

    at_s: float
    bearing_k: float
    ambient_k: float


@dataclass(frozen=True, kw_only=True)
class BearingVerdict:
    """What a bearing came to.

    outcome : not judged until steady
    steady : its temperature stood still
    temperature_k, rise_k : at the last reading [K]
    change_k : over the last half hour, None when the run is shorter [K]
    reasons : in sentences
    rows : of limits used
    """

    outcome: Outcome
    steady: bool
    temperature_k: float
    rise_k: float
    change_k: float | None
    reasons: tuple[str, ...]
    rows: tuple[Row, ...]


def judge_bearing(
    name: str, readings: Sequence[BearingReading], limits: BearingLimits
) -> BearingVerdict:
    """A bearing's temperature against its limits.

    name : of the bearing
    readings : in order of time, at least 2
    limits : of the works or contract
    returns : the verdict; a limit already exceeded fails without waiting
    raises : TooFewMeasurements, NotANumber
    source : common practice
    """
    if len(readings) < 2:
        raise TooFewMeasurements(
            what=f"The temperature of the {name}", needed=2, count=len(readings)
        )
    for before, after in itertools.pairwise(readings):
        if not after.at_s > before.at_s:
            raise NotANumber(
                what=f"The time of a reading of the {name}",
                value=f"{after.at_s:g} s",
                right=f"after the one before it, {before.at_s:g} s",
            )
    for reading in readings:
        for value in (reading.bearing_k, reading.ambient_k):
            if not (math.isfinite(value) and value > 200):
                raise NotANumber(
                    what=f"A temperature of the {name}", value=value, right="in kelvin"
                )
    last = readings[-1]
    rise = last.bearing_k - last.ambient_k
    change = _change(readings)
    steady = change is not None and abs(change) <= limits.steady_k + 1e-9
    shown = last.bearing_k - 273.15
    failures = []
    if last.bearing_k > limits.highest_k:
        failures.append(
            f"The {name} stands at {shown:.1f} °C; {limits.highest_k - 273.15:g} °C are allowed."
        )
    if rise > limits.rise_k:
        failures.append(
            f"The {name} stands {rise:.1f} K above ambient; {limits.rise_k:g} K are allowed."
        )
    waiting = []
    if change is None:
        waiting.append(f"The {name} has not run for half an hour between readings: go on.")
    elif not steady:
        waiting.append(
            f"The {name} changed by {change:+.1f} K in half an hour; {limits.steady_k:g} K count "
            "as steady: go on."
        )
    outcome = Outcome.FAILED if failures else Outcome.NOT_JUDGED if waiting else Outcome.PASSED
    good = f"The {name} is steady at {shown:.1f} °C, {rise:.1f} K above ambient."
    return BearingVerdict(
        outcome=outcome,
        steady=steady,
        temperature_k=last.bearing_k,
        rise_k=rise,
        change_k=change,
        reasons=(*failures, *waiting, *(() if failures or waiting else (good,))),
        rows=limits.rows,
    )


def _change(readings: Sequence[BearingReading]) -> float | None:
    """Change of the rise above ambient over the last half hour, interpolated at its beginning."""
    last = readings[-1]
    begin = last.at_s - WINDOW_S
    if readings[0].at_s > begin:
        return None
    for before, after in itertools.pairwise(readings):
        if before.at_s <= begin <= after.at_s:
            share = (begin - before.at_s) / (after.at_s - before.at_s)
            then = (before.bearing_k - before.ambient_k) * (1 - share) + (
                after.bearing_k - after.ambient_k
            ) * share
            return (last.bearing_k - last.ambient_k) - then
    return None
