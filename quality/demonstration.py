"""The demonstration's instruments: all invented, one of them past its calibration."""

from datetime import date, datetime, timedelta

from quality.actions.instruments import add_instrument
from works.models import Person

# tag, kind, unit, uncertainty [%], range, days since calibration, days it is valid for
INSTRUMENTS = (
    ("FM-01", "flow", "m3/h", 0.8, (20, 2500), 150, 365),
    ("FM-02", "flow", "m3/h", 1.0, (5, 600), 40, 365),
    ("PG-11", "pressure", "bar", 0.5, (0, 25), 140, 365),
    ("PG-12", "pressure", "bar", 0.5, (0, 25), 140, 365),
    ("PG-15", "pressure", "bar", 0.6, (0, 40), 200, 180),
    ("PT-21", "pressure", "bar", 0.25, (-1, 5), 160, 365),
    ("PT-22", "pressure", "bar", 0.25, (0, 16), 160, 365),
    ("TQ-01", "torque", "N m", 0.5, (50, 2500), 155, 365),
    ("PW-01", "power", "kW", 0.5, (1, 400), 80, 365),
    ("TA-01", "speed", "rev/min", 0.1, (100, 6000), 170, 365),
    ("TH-03", "temperature", "°C", 0.5, (-10, 120), 30, 365),
    ("MI-07", "length", "mm", 0.02, (100, 600), 45, 180),
    ("DG-04", "run-out", "mm", 0.5, (0, 10), 45, 180),
    ("HB-01", "hardness", "HB", 2.0, (90, 450), 100, 365),
    ("BM-01", "unbalance", "g mm", 3.0, (1, 50000), 70, 365),
)


def load_instruments(*, by: Person, at: datetime, today: date) -> None:
    """Enter the register."""
    for tag, kind, unit, uncertainty, (low, high), since, valid in INSTRUMENTS:
        calibrated = today - timedelta(days=since)
        add_instrument(
            tag=tag,
            kind=kind,
            unit=unit,
            uncertainty_percent=uncertainty,
            calibrated_on=calibrated,
            due_on=calibrated + timedelta(days=valid),
            certificate=f"C-{calibrated:%y%m}-{tag[-2:]}",
            range_low=low,
            range_high=high,
            by=by,
            at=at,
        )
