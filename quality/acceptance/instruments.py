"""The instruments a record rests on: one past its calibration date proves nothing.

An instrument knows its range, its resolution and its uncertainty. Whether it may be used depends
on the day of the reading, never on today, so that an old record stays what it was. A calibration
that comes back out of limits puts every record since the last good one in doubt.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from quality.acceptance.errors import BadSetUp, InstrumentOverdue, InstrumentUnfit


@dataclass(frozen=True, kw_only=True)
class Instrument:
    """One instrument of the register.

    tag : its number
    measures : e.g. flow, pressure, torque, speed, diameter
    unit : of range, resolution and absolute uncertainty
    lowest, highest : range, lowest < highest, in `unit`
    resolution : smallest step shown, >= 0, in `unit`
    uncertainty_share : expanded, 95 %, as a share of the reading, >= 0 [-]
    uncertainty_fixed : expanded, 95 %, the same over the range, >= 0, in `unit`
    calibrated_on : of the last calibration before the reading, None when there is none
    due_on : last day on which the calibration counts, None when there is none
    certificate : its number
    """

    tag: str
    measures: str
    unit: str
    lowest: float
    highest: float
    resolution: float = 0.0
    uncertainty_share: float = 0.0
    uncertainty_fixed: float = 0.0
    calibrated_on: date | None = None
    due_on: date | None = None
    certificate: str = ""

    def __post_init__(self) -> None:
        if not self.lowest < self.highest:
            raise BadSetUp(
                what=f"The upper end of the range of {self.tag}",
                value=self.highest,
                unit=self.unit,
                right=f"above its lower end, {self.lowest:g} {self.unit}",
            )
        for what, value in (
            ("resolution", self.resolution),
            ("uncertainty as a share", self.uncertainty_share),
            ("fixed uncertainty", self.uncertainty_fixed),
        ):
            if not (math.isfinite(value) and value >= 0):
                raise BadSetUp(
                    what=f"The {what} of {self.tag}", value=value, unit="", right="zero or more"
                )

    def expanded_at(self, value: float) -> float:
        """Expanded uncertainty (95 %) of a reading, resolution included.

        value : read, in the instrument's unit
        returns : half-width, in the instrument's unit
        source : GUM (JCGM 100:2008), 5.1.2 and F.2.2.1: parts combined by root-sum-square, the
            resolution as a rectangular distribution of its full step
        """
        instrument = abs(value) * self.uncertainty_share + self.uncertainty_fixed
        resolution = 2 * self.resolution / math.sqrt(12)
        return math.hypot(instrument, resolution)


@dataclass(frozen=True, kw_only=True)
class Validity:
    """Whether an instrument counts on a day.

    tag : of the instrument
    valid : True when a reading of that day proves something
    days_left : until the calibration runs out, negative after it, None without a date
    sentence : why
    """

    tag: str
    valid: bool
    days_left: int | None
    sentence: str


def validity(instrument: Instrument, on: date) -> Validity:
    """Whether an instrument counts on a day.

    instrument : with its calibration
    on : the day of the reading
    returns : the answer; the due date itself still counts
    """
    tag, due, done = instrument.tag, instrument.due_on, instrument.calibrated_on
    if due is None or done is None:
        says = f"Instrument {tag} has no calibration on record; a reading of it proves nothing."
        return Validity(tag=tag, valid=False, days_left=None, sentence=says)
    left = (due - on).days
    if on < done:
        says = f"Instrument {tag} was calibrated on {done}, after the reading of {on}."
        return Validity(tag=tag, valid=False, days_left=left, sentence=says)
    if left < 0:
        says = (
            f"Instrument {tag} was due for calibration on {due}, {-left} days before the reading "
            f"of {on}; a reading of it proves nothing."
        )
        return Validity(tag=tag, valid=False, days_left=left, sentence=says)
    says = f"Instrument {tag} is in calibration until {due}."
    return Validity(tag=tag, valid=True, days_left=left, sentence=says)


def require_valid(instruments: Iterable[Instrument], on: date) -> None:
    """Refuse a record that rests on an instrument out of calibration.

    instruments : used for the record
    on : the day of the readings
    raises : InstrumentOverdue, InstrumentUnfit
    """
    for instrument in instruments:
        found = validity(instrument, on)
        if found.valid:
            continue
        if instrument.due_on is not None and instrument.due_on < on:
            raise InstrumentOverdue(tag=instrument.tag, due=instrument.due_on, on=on)
        raise InstrumentUnfit(tag=instrument.tag, reason=found.sentence.rstrip("."))


def require_in_range(instrument: Instrument, values: Iterable[float]) -> None:
    """Refuse values that the instrument cannot have shown.

    instrument : that was read
    values : in its unit
    raises : InstrumentUnfit
    """
    for value in values:
        if not instrument.lowest <= value <= instrument.highest:
            raise InstrumentUnfit(
                tag=instrument.tag,
                reason=(
                    f"{value:g} {instrument.unit} lies outside its range of "
                    f"{instrument.lowest:g} to {instrument.highest:g} {instrument.unit}"
                ),
            )


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """One calibration as it came back.

    on : the day
    within_limits : as found, before any adjustment
    certificate : its number
    """

    on: date
    within_limits: bool
    certificate: str = ""


@dataclass(frozen=True, kw_only=True)
class RecordTaken:
    """A record that used the instrument.

    record : its number
    on : the day of its readings
    """

    record: str
    on: date


def records_in_doubt(
    calibrations: Sequence[Calibration], records: Sequence[RecordTaken]
) -> tuple[RecordTaken, ...]:
    """Records taken since the last good calibration before one that came back out of limits.

    calibrations : of one instrument, in any order
    records : that used it, in any order
    returns : those in doubt, earliest first; all since the beginning without a good one before
    """
    ordered = sorted(calibrations, key=lambda c: c.on)
    doubtful = set()
    last_good: date | None = None
    for calibration in ordered:
        if calibration.within_limits:
            last_good = calibration.on
            continue
        for record in records:
            since = last_good is None or record.on >= last_good
            if since and record.on <= calibration.on:
                doubtful.add(record)
    return tuple(sorted(doubtful, key=lambda r: (r.on, r.record)))
