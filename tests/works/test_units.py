"""Units at the edge. Factors: NIST Special Publication 811 (2008), appendix B.8, unless said."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from works import units
from works.units import Kind

ALL = [(kind, each.key) for kind in Kind for each in units.units(kind)]


@pytest.mark.parametrize(
    ("kind", "key", "factor"),
    [
        # SP 811 B.8, exact unless it gives seven digits
        (Kind.FLOW, "usgpm", 6.309020e-05),
        (Kind.FLOW, "impgpm", 7.576817e-05),
        (Kind.FLOW, "ls", 1e-3),
        (Kind.FLOW, "lmin", 1.666667e-05),
        (Kind.FLOW, "m3h", 2.777778e-04),
        (Kind.HEAD, "ft", 3.048e-01),
        (Kind.PRESSURE, "bar", 1.0e05),
        (Kind.PRESSURE, "kpa", 1.0e03),
        (Kind.PRESSURE, "psi", 6.894757e03),
        (Kind.PRESSURE, "kgfcm2", 9.80665e04),
        (Kind.POWER, "hp", 7.456999e02),
        (Kind.POWER, "ps", 7.354988e02),
        (Kind.LENGTH, "in", 2.54e-02),
        (Kind.DIAMETER, "in", 25.4),
        (Kind.MASS, "lb", 4.535924e-01),
        (Kind.MASS, "t", 1.0e03),
        (Kind.DENSITY, "lbft3", 1.601846e01),
        (Kind.DENSITY, "gcm3", 1.0e03),
        (Kind.VISCOSITY, "cst", 1.0e-06),
        (Kind.DURATION, "d", 8.64e04),
    ],
)
def test_a_factor_agrees_with_nist_sp_811(kind: Kind, key: str, factor: float) -> None:
    assert units.to_si(1.0, kind, key) == pytest.approx(factor, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "key", "kelvin"),
    [
        # SP 811 B.8: K = °C + 273.15; K = (°F + 459.67)/1.8
        ("0", "c", 273.15),
        ("100", "c", 373.15),
        ("32", "f", 273.15),
        ("212", "f", 373.15),
        ("-40", "f", 233.15),
        ("−40", "c", 233.15),
    ],
)
def test_temperatures_have_their_zero_where_nist_has_it(text: str, key: str, kelvin: float) -> None:
    assert units.parse(text, Kind.TEMPERATURE, key) == pytest.approx(kelvin, abs=1e-9)


def test_a_temperature_below_absolute_zero_is_refused() -> None:
    with pytest.raises(units.BelowAbsoluteZero, match="below absolute zero"):
        units.parse("-300", Kind.TEMPERATURE, "c")


@given(
    place=st.sampled_from(ALL),
    value=st.floats(min_value=-1e6, max_value=1e6, allow_nan=False),
)
def test_there_and_back_gives_the_same_figure(place: tuple[Kind, str], value: float) -> None:
    there = units.to_si(value, *place)
    assert units.from_si(there, *place) == pytest.approx(value, rel=1e-12, abs=1e-9)


@given(
    place=st.sampled_from(ALL),
    value=st.floats(min_value=1e-4, max_value=1e6, allow_nan=False),
)
def test_what_the_field_shows_it_also_reads(place: tuple[Kind, str], value: float) -> None:
    si = units.to_si(value, *place)
    again = units.parse(units.entry_text(si, *place), *place)
    assert units.from_si(again, *place) == pytest.approx(value, rel=1e-5)


@given(whole=st.integers(0, 10**9), decimals=st.integers(0, 99), comma=st.booleans())
def test_comma_and_point_mean_the_same(whole: int, decimals: int, comma: bool) -> None:
    text = f"{whole}{',' if comma else '.'}{decimals:02d}"
    assert units.parse_number(text) == Decimal(f"{whole}.{decimals:02d}")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("250", "250"),
        (" 12,5 ", "12.5"),
        (".5", "0.5"),
        ("5.", "5"),
        ("0.125", "0.125"),
        ("1234.500", "1234.500"),
        ("1.234,5", "1234.5"),
        ("1,234.5", "1234.5"),
        ("1,234.567", "1234.567"),
        ("1.234.567", "1234567"),
        ("1 250", "1250"),
        ("1\N{NARROW NO-BREAK SPACE}250,75", "1250.75"),
        ("12'500", "12500"),
        ("+3", "3"),
        ("−3", "-3"),
        ("1.5e3", "1500"),
        ("1e-6", "0.000001"),
    ],
)
def test_figures_are_read_as_people_write_them(text: str, value: str) -> None:
    assert units.parse_number(text) == Decimal(value)


@pytest.mark.parametrize("text", ["1.000", "1,000", "12.345", "999,999", "-1.250"])
def test_a_figure_with_two_meanings_is_refused(text: str) -> None:
    with pytest.raises(units.Ambiguous) as refused:
        units.parse_number(text)
    assert text in str(refused.value)
    assert "two ways" in str(refused.value)


@given(whole=st.integers(1, 999), decimals=st.integers(0, 999))
def test_both_ways_out_of_an_ambiguity_are_readable(whole: int, decimals: int) -> None:
    with pytest.raises(units.Ambiguous) as refused:
        units.parse_number(f"{whole},{decimals:03d}")
    large, small = str(refused.value).split(" for the ")[0:2]
    large = large.rpartition(" ")[2]
    small = small.rpartition(" ")[2]
    assert units.parse_number(large) == whole * 1000 + decimals
    assert units.parse_number(small) == Decimal(f"{whole}.{decimals:03d}")


@pytest.mark.parametrize(
    "text",
    ["", "abc", "1.2.3", "1,23,456", "nan", "inf", "--3", "1 2 3", "1.234,567.8", "12 34", "٣"],
)
def test_what_is_no_figure_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(units.Unreadable, match=r"12\.5 or 12,5"):
        units.parse_number(text)


@pytest.mark.parametrize(
    ("text", "key"),
    [("250 m³/h", "m3h"), ("250m3/h", "m3h"), ("250 US GPM", "usgpm"), ("3e2 l/s", "ls")],
)
def test_the_chosen_unit_may_be_typed_as_well(text: str, key: str) -> None:
    figure = 300.0 if "e" in text else 250.0
    assert units.parse(text, Kind.FLOW, key) == pytest.approx(units.to_si(figure, Kind.FLOW, key))


def test_another_unit_typed_than_chosen_is_refused() -> None:
    with pytest.raises(units.UnitsDisagree, match=r"L/s.*m³/h"):
        units.parse("70 l/s", Kind.FLOW, "m3h")


def test_an_unknown_unit_is_refused_with_the_known_ones() -> None:
    with pytest.raises(units.UnknownUnit, match=r"furlong.*m³/h, L/s"):
        units.parse("70 furlong", Kind.FLOW, "m3h")
    with pytest.raises(units.UnknownUnit, match="acre"):
        units.parse("70", Kind.FLOW, "acre")


def test_one_duty_in_two_unit_systems_is_one_duty() -> None:
    # 1000 US gpm at 150 ft, by hand: 1000 x 3.785411784 L / 60 s; 150 x 0.3048 m
    assert units.parse("1000", Kind.FLOW, "usgpm") == pytest.approx(
        units.parse("63.0901964", Kind.FLOW, "ls"), rel=1e-9
    )
    assert units.parse("150", Kind.HEAD, "ft") == pytest.approx(
        units.parse("45.72", Kind.HEAD, "m"), rel=1e-12
    )


def test_the_first_unit_of_every_kind_is_its_default_and_keys_are_unique() -> None:
    for kind in Kind:
        keys = [each.key for each in units.units(kind)]
        assert len(keys) == len(set(keys))
        assert all(math.isfinite(units.to_si(1.0, kind, key)) for key in keys)


def test_a_stored_quantity_is_shown_in_the_customers_unit() -> None:
    assert units.shown(0.0630902, Kind.FLOW, "usgpm") == "1000\N{NO-BREAK SPACE}US gpm"
