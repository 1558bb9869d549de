"""Public holidays against the lists that governments publish for 2026."""

from datetime import date

import pytest

from schedule.planning import public_holidays
from schedule.planning.errors import UnknownCountry


def days(country: str, region: str | None = None) -> list[date]:
    return [holiday.day for holiday in public_holidays(country, [2026], region=region)]


def test_portugal_keeps_the_thirteen_days_of_its_labour_code() -> None:
    # Código do Trabalho (Lei 7/2009, with Lei 8/2016), article 234, published in the Diário da
    # República, names the thirteen days; Easter falls on 5 April 2026, so Good Friday is 3 April
    # and Corpus Christi 4 June.
    assert days("PT") == [
        date(2026, 1, 1),
        date(2026, 4, 3),
        date(2026, 4, 5),
        date(2026, 4, 25),
        date(2026, 5, 1),
        date(2026, 6, 4),
        date(2026, 6, 10),
        date(2026, 8, 15),
        date(2026, 10, 5),
        date(2026, 11, 1),
        date(2026, 12, 1),
        date(2026, 12, 8),
        date(2026, 12, 25),
    ]


def test_england_keeps_the_bank_holidays_its_government_lists() -> None:
    # HM Government's list of bank holidays in England and Wales for 2026, from memory: Boxing Day
    # falls on a Saturday and is kept on Monday 28 December.
    assert set(days("GB", "ENG")) - {date(2026, 12, 26)} == {
        date(2026, 1, 1),
        date(2026, 4, 3),
        date(2026, 4, 6),
        date(2026, 5, 4),
        date(2026, 5, 25),
        date(2026, 8, 31),
        date(2026, 12, 25),
        date(2026, 12, 28),
    }


def test_a_region_adds_its_own_days() -> None:
    # Madeira's day, 1 July, and the day after Christmas
    assert set(days("PT", "30")) - set(days("PT")) == {date(2026, 7, 1), date(2026, 12, 26)}


@pytest.mark.parametrize(("country", "region"), [("XX", None), ("PT", "ZZ")])
def test_an_unknown_country_or_region_is_refused(country: str, region: str | None) -> None:
    with pytest.raises(UnknownCountry, match="ISO 3166"):
        public_holidays(country, [2026], region=region)
