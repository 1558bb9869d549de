"""Public holidays of a country or region, as seed for a works' own editable calendar.

The days come from the library `holidays`; a works adds its town's day and takes away what it works.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from schedule.planning.errors import UnknownCountry


@dataclass(frozen=True, order=True)
class Holiday:
    """One day off, with its name in the country's language."""

    day: date
    name: str


def public_holidays(
    country: str, years: Iterable[int], *, region: str | None = None
) -> tuple[Holiday, ...]:
    """Public holidays of whole years, in order of date.

    country : two letters, ISO 3166-1
    years : calendar years
    region : ISO 3166-2 subdivision without the country, None for the whole country
    returns : days and names
    raises : UnknownCountry
    source : the library `holidays`; tests compare it with lists governments publish
    """
    # The library reads its country files when imported; whoever plans from stored days is spared.
    import holidays

    try:
        found = holidays.country_holidays(country, subdiv=region, years=sorted(set(years)))
    except NotImplementedError:
        raise UnknownCountry(country, region) from None
    return tuple(sorted(Holiday(day, name) for day, name in found.items()))
