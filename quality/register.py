"""Instruments of the register as the engine wants them: by the day on which they were used."""

import math
from collections.abc import Iterable
from datetime import date

from quality import models
from quality.acceptance.errors import AcceptanceError
from quality.acceptance.instruments import Instrument, require_valid
from quality.errors import InstrumentNotFit


def instrument_on(instrument: models.Instrument, on: date) -> Instrument:
    """An instrument with the calibration that held on a day, or the nearest before it.

    Reads `instrument.calibrations`, which a caller with several instruments prefetches.
    """
    held = [c for c in instrument.calibrations.all() if c.calibrated_on <= on]
    last = max(held, key=lambda c: c.calibrated_on, default=None)
    return Instrument(
        tag=instrument.tag,
        measures=instrument.kind,
        unit=instrument.unit,
        lowest=-math.inf if instrument.range_low is None else instrument.range_low,
        highest=math.inf if instrument.range_high is None else instrument.range_high,
        resolution=instrument.resolution or 0.0,
        uncertainty_share=(last or instrument).uncertainty_percent / 100,
        calibrated_on=(last or instrument).calibrated_on,
        due_on=(last or instrument).due_on,
        certificate=(last or instrument).certificate,
    )


def fit_for_use(instruments: Iterable[models.Instrument], on: date) -> dict[int, Instrument]:
    """The instruments of a record, by primary key.

    raises : InstrumentNotFit for one withdrawn, not calibrated by that day, or overdue on it
    """
    found = {}
    for instrument in instruments:
        if instrument.withdrawn:
            raise InstrumentNotFit(
                tag=instrument.tag,
                sentence=f"Instrument {instrument.tag} is withdrawn: use another one.",
            )
        as_used = instrument_on(instrument, on)
        try:
            require_valid([as_used], on)
        except AcceptanceError as error:
            raise InstrumentNotFit(tag=instrument.tag, sentence=error.sentence) from error
        found[instrument.pk] = as_used
    return found
