"""Figures as people read them."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from django.template import Context, Template, defaultfilters
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from works import formats
from works.templatetags.figures import register

LISBON = ZoneInfo("Europe/Lisbon")


def plain(text: str) -> str:
    """The same text with ordinary spaces."""
    return text.replace("\N{NO-BREAK SPACE}", " ").replace("\N{NARROW NO-BREAK SPACE}", " ")


@pytest.mark.parametrize(
    ("written", "value", "text"),
    [
        ("flow", 250 / 3600, "250 m³/h"),
        ("flow", 0.00138889, "5.00 m³/h"),
        ("head", 48.21, "48.2 m"),
        ("power", 45_300, "45.3 kW"),
        ("power", 315_000, "315 kW"),
        ("pressure", 1.6e6, "16.0 bar"),
        ("pressure", 250_000, "2.50 bar"),
        ("percent", 0.842, "84.2 %"),
        ("percent", -0.05, "−5.0 %"),
        ("mm", 412, "412 mm"),
        ("mm", Decimal("0.250"), "0.25 mm"),
        ("metres", 12.5, "12.5 m"),
        ("kg", 1250, "1250 kg"),
        ("kg", 12_500, "12 500 kg"),
        ("kg", 3.25, "3.25 kg"),
        ("speed", 1480, "1480 rev/min"),
        ("temperature", 313.15, "40 °C"),
        ("temperature", 268.15, "−5 °C"),
        ("density", 998.2, "998 kg/m³"),
        ("viscosity", 1.0038e-6, "1.00 mm²/s"),
        ("days", 3.5, "3.5 d"),
        ("days", timedelta(days=2), "2 d"),
        ("days", -1.25, "−1.3 d"),
        ("hours", 12, "12 h"),
        ("hours", timedelta(minutes=90), "1.5 h"),
        ("in_hand", 3.5, "3.5 d in hand"),
        ("in_hand", -2, "2 d late"),
        ("in_hand", 0.01, "on the day"),
        ("number", 0, "0"),
        ("number", -0.0001, "0.000"),
        ("number", 1_234_567, "1 234 567"),
        ("isodate", date(2026, 3, 4), "2026-03-04 (W10)"),
        ("weekday", date(2026, 3, 4), "Wed 2026-03-04 (W10)"),
    ],
)
def test_a_filter_shows_the_figure_with_its_unit(written: str, value: object, text: str) -> None:
    shown = Template(f"{{% load figures %}}{{{{ value|{written} }}}}").render(
        Context({"value": value})
    )
    assert plain(shown) == text


def test_the_decimals_can_be_set() -> None:
    shown = Template("{% load figures %}{{ value|flow:3 }}").render(Context({"value": 0.07}))
    assert plain(shown) == "252.000 m³/h"


@pytest.mark.parametrize(
    "show",
    [
        formats.flow,
        formats.head,
        formats.power,
        formats.pressure,
        formats.percent,
        formats.mm,
        formats.metres,
        formats.kg,
        formats.speed,
        formats.temperature,
        formats.density,
        formats.viscosity,
        formats.days,
        formats.hours,
        formats.in_hand,
        formats.number,
        formats.isodate,
        formats.weekday,
        formats.instant,
        formats.clock,
    ],
)
def test_what_is_not_known_is_a_dash(show: object) -> None:
    assert callable(show)
    assert show(None) == "—"


def test_no_filter_of_ours_takes_the_place_of_one_of_djangos() -> None:
    # a template that loads the figures still counts with |length
    assert set(register.filters) & set(defaultfilters.register.filters) == set()


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_is_no_finite_figure_is_a_dash_too(value: float) -> None:
    for show in (formats.number, formats.mm, formats.kg, formats.days, formats.pressure):
        assert show(value) == "—"


def test_an_iso_week_belongs_to_the_year_of_its_thursday() -> None:
    # ISO 8601: 2027-01-01 is a Friday, so it lies in week 53 of 2026
    assert formats.isodate(date(2027, 1, 1)) == "2027-01-01 (W53)"


def test_an_instant_is_shown_in_the_works_zone_on_both_sides_of_the_clock_change() -> None:
    # Lisbon is at UTC+0 in winter and UTC+1 from 2026-03-29 01:00 UTC (IANA time zone database)
    with timezone.override(LISBON):
        assert formats.instant(datetime(2026, 3, 29, 0, 59, tzinfo=UTC)) == "2026-03-29 00:59"
        assert formats.instant(datetime(2026, 3, 29, 1, 0, tzinfo=UTC)) == "2026-03-29 02:00"
        assert formats.clock(datetime(2026, 7, 1, 12, 5, tzinfo=UTC)) == "13:05"
        assert formats.isodate(datetime(2026, 7, 5, 23, 30, tzinfo=UTC)) == "2026-07-06 (W28)"


def test_a_sheet_may_name_the_zone_itself() -> None:
    at = datetime(2026, 1, 1, 12, 0, tzinfo=UTC)
    assert formats.instant(at, ZoneInfo("Europe/Tallinn")) == "2026-01-01 14:00"


@given(value=st.floats(min_value=-1e7, max_value=1e7, allow_nan=False))
def test_a_shown_figure_reads_back_within_its_last_digit(value: float) -> None:
    text = formats.number(value).replace("\N{NARROW NO-BREAK SPACE}", "").replace("−", "-")
    digits = len(text.partition(".")[2])
    assert abs(float(text) - value) <= 0.5000001 * 10**-digits
    assert abs(float(text) - value) <= max(0.006 * abs(value), 0.0006)
