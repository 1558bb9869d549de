"""Numbers as people read them: one function a quantity, SI in, text with its unit out.

Screens use these through the filters of `works.templatetags.figures`, sheets call them directly,
so that a page and a PDF never round the same figure differently. Nothing known is shown as "—".
Figures that a machine reads again (CSV, JSON) are not formatted here.
"""

import math
from datetime import date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from zoneinfo import ZoneInfo

from django.utils import timezone

Number = float | int | Decimal

NOTHING = "—"
MINUS = "\N{MINUS SIGN}"
THIN_SPACE = "\N{NARROW NO-BREAK SPACE}"
UNIT_SPACE = "\N{NO-BREAK SPACE}"
HOUR, DAY = 3600, 86_400
FREEZING_POINT_K = 273.15


def number(value: Number | None, digits: int | None = None) -> str:
    """A plain figure: a proper minus, thousands parted from 10 000 upward, never "-0".

    digits : decimals; left out, as many as show three significant figures, at most 3
    """
    if value is None or not math.isfinite(value):
        return NOTHING
    exact = Decimal(str(value))
    places = _decimals(abs(exact)) if digits is None else digits
    rounded = exact.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)
    whole, _, fraction = f"{abs(rounded):f}".partition(".")
    if len(whole) > 4:
        whole = f"{int(whole):,}".replace(",", THIN_SPACE)
    sign = MINUS if rounded < 0 else ""
    return sign + whole + (f".{fraction}" if fraction else "")


def _decimals(size: Decimal) -> int:
    for places, least in ((0, 100), (1, 10), (2, 1)):
        if size >= least:
            return places
    return 3 if size else 0


def _with_unit(value: Number | None, unit: str, digits: int | None) -> str:
    text = number(value, digits)
    return text if text == NOTHING else f"{text}{UNIT_SPACE}{unit}"


def _scaled(value: Number | None, factor: float) -> float | None:
    return None if value is None else float(value) * factor


def flow(value: Number | None, digits: int | None = None) -> str:
    """value : [m3/s]; shown in m³/h."""
    return _with_unit(_scaled(value, HOUR), "m³/h", digits)


def head(value: Number | None, digits: int | None = None) -> str:
    """value : [m]; one decimal, as heads are compared to the decimetre."""
    return _with_unit(value, "m", 1 if digits is None else digits)


def power(value: Number | None, digits: int | None = None) -> str:
    """value : [W]; shown in kW."""
    return _with_unit(_scaled(value, 1e-3), "kW", digits)


def pressure(value: Number | None, digits: int | None = None) -> str:
    """value : [Pa]; shown in bar, two decimals below 10 bar, one above."""
    bar = _scaled(value, 1e-5)
    if digits is None:
        digits = 2 if bar is not None and abs(bar) < 10 else 1
    return _with_unit(bar, "bar", digits)


def percent(value: Number | None, digits: int | None = None) -> str:
    """value : share of one [-]; shown in %."""
    return _with_unit(_scaled(value, 100), "%", 1 if digits is None else digits)


def mm(value: Number | None, digits: int | None = None) -> str:
    """value : [mm]; as many decimals as it carries, three at the most."""
    if digits is None:
        digits = 0 if value is None or not math.isfinite(value) else _carried(value, 3)
    return _with_unit(value, "mm", digits)


def _carried(value: Number, most: int) -> int:
    """Decimals that a figure really has, so that 412 stays 412 and 0.25 stays 0.25."""
    text = f"{Decimal(str(value)):.{most}f}".rstrip("0")
    return len(text.partition(".")[2])


def metres(value: Number | None, digits: int | None = None) -> str:
    """value : [m]."""
    return _with_unit(value, "m", 1 if digits is None else digits)


def kg(value: Number | None, digits: int | None = None) -> str:
    """value : [kg]; whole kilograms from 10 kg."""
    if digits is None and value is not None and abs(float(value)) >= 10:
        digits = 0
    return _with_unit(value, "kg", digits)


def speed(value: Number | None, digits: int | None = None) -> str:
    """value : [rev/min]."""
    return _with_unit(value, "rev/min", 0 if digits is None else digits)


def temperature(value: Number | None, digits: int | None = None) -> str:
    """value : [K]; shown in °C."""
    celsius = None if value is None else float(value) - FREEZING_POINT_K
    return _with_unit(celsius, "°C", 0 if digits is None else digits)


def density(value: Number | None, digits: int | None = None) -> str:
    """value : [kg/m3]."""
    return _with_unit(value, "kg/m³", 0 if digits is None else digits)


def viscosity(value: Number | None, digits: int | None = None) -> str:
    """value : kinematic [m2/s]; shown in mm²/s."""
    return _with_unit(_scaled(value, 1e6), "mm²/s", digits)


def _in(value: Number | timedelta | None, seconds: int) -> float | None:
    if isinstance(value, timedelta):
        return value.total_seconds() / seconds
    return None if value is None else float(value)


def days(value: Number | timedelta | None, digits: int | None = None) -> str:
    """value : [d]; a decimal only where there is one to show."""
    count = _in(value, DAY)
    if digits is None and count is not None and math.isfinite(count):
        digits = _carried(round(count, 1), 1)
    return _with_unit(count, "d", digits)


def hours(value: Number | timedelta | None, digits: int | None = None) -> str:
    """value : [h]; a decimal only where there is one to show."""
    count = _in(value, HOUR)
    if digits is None and count is not None and math.isfinite(count):
        digits = _carried(round(count, 1), 1)
    return _with_unit(count, "h", digits)


def in_hand(value: Number | timedelta | None) -> str:
    """Days in hand in words: "3.5 d in hand", "2 d late"; below a twentieth of a day, "on the day".

    value : [d]; negative is late
    """
    count = _in(value, DAY)
    if count is None or not math.isfinite(count):
        return NOTHING
    if abs(count) < 0.05:
        return "on the day"
    return f"{days(abs(count))} {'in hand' if count > 0 else 'late'}"


def isodate(value: date | datetime | None) -> str:
    """A date with its ISO 8601 week: "2026-03-04 (W10)"; an instant in the works' zone."""
    if value is None:
        return NOTHING
    on = _local(value).date() if isinstance(value, datetime) else value
    return f"{on.isoformat()} (W{on.isocalendar().week:02d})"


def weekday(value: date | datetime | None) -> str:
    """A date with its day of the week: "Wed 2026-03-04 (W10)"."""
    if value is None:
        return NOTHING
    on = _local(value).date() if isinstance(value, datetime) else value
    return f"{on:%a} {isodate(on)}"


def instant(value: datetime | None, zone: ZoneInfo | None = None) -> str:
    """A moment in the works' zone to the minute: "2026-03-04 14:05".

    zone : left out, the zone that the middleware (or a task) has made current
    """
    return NOTHING if value is None else f"{_local(value, zone):%Y-%m-%d %H:%M}"


def clock(value: datetime | None, zone: ZoneInfo | None = None) -> str:
    """The time of day in the works' zone: "14:05"."""
    return NOTHING if value is None else f"{_local(value, zone):%H:%M}"


def _local(value: datetime, zone: ZoneInfo | None = None) -> datetime:
    return timezone.localtime(value, zone)
