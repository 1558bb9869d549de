"""An instrument past its calibration date proves nothing."""

from datetime import date

import pytest

from quality.acceptance.errors import BadSetUp, InstrumentOverdue, InstrumentUnfit
from quality.acceptance.instruments import (
    Calibration,
    RecordTaken,
    records_in_doubt,
    require_in_range,
    require_valid,
    validity,
)
from tests.quality.acceptance.builders import pressure_gauge


def test_the_due_date_itself_still_counts_and_the_day_after_does_not():
    gauge = pressure_gauge(due_on=date(2026, 6, 30))
    assert validity(gauge, date(2026, 6, 30)).valid
    late = validity(gauge, date(2026, 7, 1))
    assert not late.valid
    assert late.days_left == -1


def test_an_overdue_instrument_cannot_be_used_on_a_record():
    gauge = pressure_gauge(due_on=date(2026, 6, 30))
    with pytest.raises(InstrumentOverdue, match=r"due for calibration on 2026-06-30.*2026-07-02"):
        require_valid([gauge], date(2026, 7, 2))


def test_a_calibration_after_the_reading_does_not_help_it():
    with pytest.raises(InstrumentUnfit, match="after the reading"):
        require_valid([pressure_gauge()], date(2026, 1, 9))


def test_an_instrument_without_calibration_is_refused():
    with pytest.raises(InstrumentUnfit, match="no calibration on record"):
        require_valid([pressure_gauge(due_on=None)], date(2026, 3, 1))


def test_a_value_beyond_the_range_is_refused():
    with pytest.raises(InstrumentUnfit, match="41 bar lies outside its range of 0 to 40 bar"):
        require_in_range(pressure_gauge(), [12.0, 41.0])


def test_a_range_upside_down_is_refused():
    with pytest.raises(BadSetUp, match="above its lower end"):
        pressure_gauge(lowest=40.0, highest=0.0)


def test_uncertainty_takes_in_the_resolution():
    # GUM F.2.2.1: a step d has the standard uncertainty d/√12; expanded with k = 2.
    gauge = pressure_gauge(uncertainty_fixed=0.0, uncertainty_share=0.0, resolution=0.1)
    assert gauge.expanded_at(20.0) == pytest.approx(2 * 0.1 / 12**0.5)


def test_a_bad_calibration_puts_every_record_since_the_last_good_one_in_doubt():
    calibrations = [
        Calibration(on=date(2025, 1, 1), within_limits=True),
        Calibration(on=date(2025, 7, 1), within_limits=True),
        Calibration(on=date(2026, 1, 1), within_limits=False),
    ]
    records = [
        RecordTaken(record="A", on=date(2025, 3, 1)),
        RecordTaken(record="C", on=date(2025, 12, 1)),
        RecordTaken(record="B", on=date(2025, 9, 1)),
        RecordTaken(record="D", on=date(2026, 2, 1)),
    ]
    doubtful = records_in_doubt(calibrations[::-1], records)
    assert [record.record for record in doubtful] == ["B", "C"]


def test_without_a_good_calibration_before_it_everything_earlier_is_in_doubt():
    calibrations = [Calibration(on=date(2026, 1, 1), within_limits=False)]
    records = [RecordTaken(record="A", on=date(2020, 1, 1))]
    assert records_in_doubt(calibrations, records) == tuple(records)
