"""Freight lanes: ship-by and on-site dates, step by step."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedule.planning import Lane, Mode, on_site, ship_by
from schedule.planning.errors import BadLane, NoSailing

WALVIS_BAY = Lane(
    name="Leixões to Walvis Bay",
    mode=Mode.SEA,
    to_terminal_days=1,
    cut_off_days=3,
    weekdays=(3,),
    passage_days=24,
    customs_days=4,
    haulage_days=2,
)


def test_the_date_on_site_gives_ship_by_with_each_step_shown() -> None:
    # On site Friday 2026-05-29: at port by 05-23, so sail by 04-29: Thursday 04-23.
    found = ship_by(WALVIS_BAY, date(2026, 5, 29))
    assert found.departs_on == date(2026, 4, 23)
    assert found.ship_on == date(2026, 4, 19)
    assert [(leg.name, leg.first, leg.last) for leg in found.legs] == [
        ("Road to port", date(2026, 4, 19), date(2026, 4, 20)),
        ("Port cut-off", date(2026, 4, 20), date(2026, 4, 23)),
        ("Voyage", date(2026, 4, 23), date(2026, 5, 17)),
        ("Customs", date(2026, 5, 17), date(2026, 5, 21)),
        ("Inland haulage", date(2026, 5, 21), date(2026, 5, 23)),
        ("In hand at site", date(2026, 5, 23), date(2026, 5, 29)),
    ]
    assert found.legs[2].note == "sailing on 2026-04-23, every Thursday"


def test_a_closed_day_at_the_works_ships_before_it_and_waits_at_the_port() -> None:
    found = ship_by(WALVIS_BAY, date(2026, 5, 29), closed=weekend)
    assert found.ship_on == date(2026, 4, 17)
    assert found.legs[0].note == "leaves on 2026-04-17, since the works is closed on 2026-04-19"
    assert found.legs[1].name == "Waiting at the port"
    assert found.departs_on == date(2026, 4, 23)


def test_a_crate_that_misses_the_cut_off_takes_the_next_sailing() -> None:
    in_time = on_site(WALVIS_BAY, date(2026, 4, 19))
    too_late = on_site(WALVIS_BAY, date(2026, 4, 20))
    assert in_time.departs_on == date(2026, 4, 23)
    assert too_late.departs_on == date(2026, 4, 30)
    assert too_late.on_site_on - in_time.on_site_on == timedelta(days=7)


def test_a_crate_ready_on_a_closed_day_leaves_on_the_next_open_one() -> None:
    found = on_site(WALVIS_BAY, date(2026, 4, 18), closed={date(2026, 4, 18), date(2026, 4, 19)})
    assert found.ship_on == date(2026, 4, 20)
    assert found.legs[0].name == "Works closed"


DATED = Lane(
    name="Leixões to Punta Arenas",
    mode=Mode.SEA,
    to_terminal_days=1,
    cut_off_days=2,
    departures=(date(2026, 4, 9), date(2026, 5, 7), date(2026, 6, 4)),
    passage_days=30,
    customs_days=3,
    haulage_days=1,
)


def test_no_sailing_before_the_date_says_which_would_be_needed() -> None:
    with pytest.raises(NoSailing) as refused:
        ship_by(DATED, date(2026, 5, 1))
    assert refused.value.by == date(2026, 3, 28)
    assert refused.value.nearest == date(2026, 4, 9)
    assert "one on or before 2026-03-28 would be needed; the nearest known is 2026-04-09" in str(
        refused.value
    )


def test_no_sailing_after_the_last_known_says_which_would_be_needed() -> None:
    with pytest.raises(NoSailing) as refused:
        on_site(DATED, date(2026, 6, 2))
    assert refused.value.after == date(2026, 6, 5)
    assert "on or after 2026-06-05" in str(refused.value)


def test_road_and_air_lanes_reckon_too() -> None:
    road = Lane(name="Tamebrook to Sevilla", mode=Mode.ROAD, passage_days=2)
    assert ship_by(road, date(2026, 5, 29)).ship_on == date(2026, 5, 27)
    air = Lane(
        name="Porto to Nairobi",
        mode=Mode.AIR,
        to_terminal_days=1,
        cut_off_days=1,
        weekdays=(1, 4),
        passage_days=1,
        customs_days=3,
        haulage_days=1,
    )
    found = ship_by(air, date(2026, 5, 29))
    assert (found.departs_on, found.ship_on) == (date(2026, 5, 22), date(2026, 5, 20))
    assert [leg.name for leg in found.legs] == [
        "Road to airport",
        "Airport cut-off",
        "Flight",
        "Customs",
        "Inland haulage",
        "In hand at site",
    ]


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"passage_days": -1}, "passage days is -1; 0 or more"),
        ({"passage_days": 3, "cut_off_days": -2}, "cut off days is -2"),
        ({"passage_days": 3, "weekdays": (8,)}, "0 to 6"),
        ({"passage_days": 3}, "no sailing is known; give weekdays or dates"),
        (
            {"passage_days": 3, "weekdays": (1,), "departures": (date(2026, 1, 1),)},
            "not both",
        ),
        (
            {"passage_days": 3, "departures": (date(2026, 2, 1), date(2026, 1, 1))},
            "must rise",
        ),
    ],
)
def test_a_bad_lane_is_refused_with_what_would_be_right(options: Any, says: Any) -> None:
    with pytest.raises(BadLane, match=says):
        Lane(**{"name": "lane", "mode": Mode.SEA, "weekdays": (), **options})


def test_a_works_that_never_opens_is_refused() -> None:
    with pytest.raises(BadLane, match="no open day within a year"):
        ship_by(WALVIS_BAY, date(2026, 5, 29), closed=lambda day: True)


def weekend(day: date) -> bool:
    return day.weekday() >= 5


days = st.integers(0, 40)


@given(
    wanted=st.dates(date(2026, 1, 1), date(2030, 1, 1)),
    weekdays=st.sets(st.integers(0, 6), min_size=1).map(lambda s: tuple(sorted(s))),
    legs=st.tuples(days, days, days, days, days),
)
def test_shipping_on_ship_by_is_in_time_and_a_day_later_is_not(
    wanted: Any, weekdays: Any, legs: Any
) -> None:
    to_port, cut_off, passage, customs, haulage = legs
    lane = Lane(
        name="any",
        mode=Mode.SEA,
        to_terminal_days=to_port,
        cut_off_days=cut_off,
        weekdays=weekdays,
        passage_days=passage,
        customs_days=customs,
        haulage_days=haulage,
    )
    found = ship_by(lane, wanted, closed=weekend)
    assert not weekend(found.ship_on)
    again = on_site(lane, found.ship_on, closed=weekend)
    assert again.on_site_on <= wanted
    later = found.ship_on + timedelta(days=1)
    while weekend(later):
        later += timedelta(days=1)
    assert on_site(lane, later, closed=weekend).on_site_on > wanted
    for shipment in (found, again):
        assert shipment.legs[-1].last == shipment.on_site_on or not shipment.legs
        for leg, following in zip(shipment.legs, shipment.legs[1:], strict=False):
            assert leg.last == following.first
