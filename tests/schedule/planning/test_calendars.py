"""Working time: shifts on the wall, clock changes, and the arithmetic of open minutes."""

from datetime import UTC, date, datetime, time
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from schedule.planning import Shift, Shutdown, Window, WorkingTime, laid_out
from schedule.planning.errors import BadShift, BeyondCalendar, NoOpenHours, UnknownZone
from tests.schedule.planning.works import DAY, ORIGIN, day_shift, minute


def wall(*when: int) -> datetime:
    """A time as the clock on the wall shows it: year, month, day, hour, minute."""
    return datetime(*when)  # noqa: DTZ001 (naive on purpose)


def night_shift(first: date, last: date, **options: object) -> WorkingTime:
    """Every night 22:00 to 06:00 in Lisbon."""
    shifts = [Shift(weekday=day, opens=time(22), closes=time(6)) for day in range(7)]
    values = {"zone": "Europe/Lisbon", "first_day": first, "last_day": last, "origin": ORIGIN}
    return laid_out("nights", shifts, **{**values, **options})


def test_a_night_shift_is_an_hour_short_when_clocks_go_forward() -> None:
    # Lisbon 2026: clocks go from 01:00 to 02:00 on 29 March (EU Directive 2000/84/EC, last Sunday)
    nights = night_shift(date(2026, 3, 27), date(2026, 3, 30))
    lengths = [c - o for o, c in zip(nights.opens, nights.closes, strict=True)]
    assert lengths == [480, 420, 480, 120]
    assert nights.opens[1] == minute(2026, 3, 28, 22)
    assert nights.closes[1] == minute(2026, 3, 29, 5)


def test_a_night_shift_is_an_hour_long_when_clocks_go_back() -> None:
    # and from 02:00 to 01:00 on 25 October
    nights = night_shift(date(2026, 10, 23), date(2026, 10, 26))
    lengths = [c - o for o, c in zip(nights.opens, nights.closes, strict=True)]
    assert lengths == [480, 540, 480, 120]
    assert nights.opens[1] == minute(2026, 10, 24, 21)
    assert nights.closes[1] == minute(2026, 10, 25, 6)


def test_an_opening_time_that_never_comes_is_the_moment_of_the_change() -> None:
    early = laid_out(
        "early",
        [Shift(weekday=6, opens=time(1, 30), closes=time(4))],
        zone="Europe/Lisbon",
        first_day=date(2026, 3, 29),
        last_day=date(2026, 3, 29),
        origin=ORIGIN,
    )
    assert (early.opens[0], early.closes[0]) == (minute(2026, 3, 29, 1), minute(2026, 3, 29, 3))


def test_a_shift_wholly_inside_the_skipped_hour_has_no_open_minutes() -> None:
    with pytest.raises(NoOpenHours):
        laid_out(
            "skipped",
            [Shift(weekday=6, opens=time(1, 10), closes=time(1, 50))],
            zone="Europe/Lisbon",
            first_day=date(2026, 3, 29),
            last_day=date(2026, 3, 29),
            origin=ORIGIN,
        )


def test_shifts_that_meet_in_the_hour_that_comes_twice_leave_no_gap_and_no_overlap() -> None:
    joined = laid_out(
        "joined",
        [
            Shift(weekday=6, opens=time(0), closes=time(1, 30)),
            Shift(weekday=6, opens=time(1, 30), closes=time(4)),
        ],
        zone="Europe/Lisbon",
        first_day=date(2026, 10, 25),
        last_day=date(2026, 10, 25),
        origin=ORIGIN,
    )
    assert joined.total == 5 * 60  # 00:00 to 04:00 on the wall, with one hour twice


def test_work_across_the_clock_change_counts_real_minutes() -> None:
    nights = night_shift(date(2026, 3, 27), date(2026, 3, 31))
    start = minute(2026, 3, 28, 22)
    assert nights.add(start, 480) == minute(2026, 3, 29, 21) + 60
    assert nights.subtract(minute(2026, 3, 29, 22), 480) == minute(2026, 3, 28, 22)


def test_a_summer_morning_shift_opens_an_hour_earlier_in_utc() -> None:
    hours = day_shift()
    assert hours.next_working(minute(2026, 1, 5, 0)) == minute(2026, 1, 5, 8)
    assert hours.next_working(minute(2026, 7, 6, 0)) == minute(2026, 7, 6, 7)


def test_a_holiday_takes_its_shifts_and_the_night_before_is_worked_to_its_end() -> None:
    nights = night_shift(date(2026, 5, 4), date(2026, 5, 8), holidays=[date(2026, 5, 6)])
    assert nights.closes[1] == minute(2026, 5, 6, 5)
    assert nights.opens[2] == minute(2026, 5, 7, 21)


def test_shutdown_overtime_and_outage_change_the_week() -> None:
    hours = day_shift(
        shutdowns=[Shutdown(first=date(2026, 8, 3), last=date(2026, 8, 14), reason="August")],
        overtime=[Window(opens=wall(2026, 8, 8, 8), closes=wall(2026, 8, 8, 12))],
        outages=[Window(opens=wall(2026, 8, 17, 9), closes=wall(2026, 8, 17, 15))],
    )
    # Friday 31 July 16:00 UTC is the close of work; the only hours in two weeks are overtime
    closed = minute(2026, 7, 31, 16)
    assert hours.between(closed, minute(2026, 8, 17, 0)) == 240
    assert hours.add(closed, 240 + 60) == minute(2026, 8, 17, 8)
    assert hours.add(closed, 240 + 61) == minute(2026, 8, 17, 14) + 1


def test_a_second_shift_begins_on_its_first_day() -> None:
    shifts = [Shift(weekday=d, opens=time(8), closes=time(16)) for d in range(5)]
    shifts += [
        Shift(weekday=d, opens=time(16), closes=time(0), first_day=date(2026, 2, 4))
        for d in range(5)
    ]
    hours = laid_out(
        "two shifts",
        shifts,
        zone="Europe/Lisbon",
        first_day=date(2026, 2, 2),
        last_day=date(2026, 2, 6),
        origin=ORIGIN,
    )
    assert hours.total == (2 * 8 + 3 * 16) * 60


def test_ten_working_days_from_a_saturday_count_from_the_friday() -> None:
    hours = day_shift(holidays=[date(2026, 6, 10)])
    from_friday = hours.add_working_days(minute(2026, 6, 5, 12), 10)
    assert from_friday == hours.add_working_days(minute(2026, 6, 6, 12), 10)
    assert from_friday == minute(2026, 6, 22, 7)


def test_days_are_said_in_the_length_of_the_usual_day() -> None:
    hours = day_shift()
    assert hours.day_minutes == 480
    assert hours.days_between(minute(2026, 1, 5, 8), minute(2026, 1, 12, 8)) == 5.0


def test_work_that_may_not_be_left_spans_a_break_but_no_night() -> None:
    hours = day_shift()
    assert hours.longest == 480
    assert hours.fit_forward(minute(2026, 1, 5, 10), 300, whole=True) == (
        minute(2026, 1, 5, 10),
        minute(2026, 1, 5, 16),
    )
    assert hours.fit_forward(minute(2026, 1, 5, 10, 30), 360, whole=True) == (
        minute(2026, 1, 6, 8),
        minute(2026, 1, 6, 15),
    )
    assert hours.fit_backward(minute(2026, 1, 6, 10), 180, whole=True) == (
        minute(2026, 1, 5, 14),
        minute(2026, 1, 5, 17),
    )
    assert hours.fit_backward(minute(2026, 1, 6, 14), 180, whole=True) == (
        minute(2026, 1, 6, 10),
        minute(2026, 1, 6, 14),
    )


def test_a_date_outside_the_calendar_is_refused_with_what_is_known() -> None:
    hours = day_shift()
    with pytest.raises(BeyondCalendar, match="Lay the calendar out over more years") as refused:
        hours.add(minute(2027, 12, 31, 12), 10_000)
    assert refused.value.ends == minute(2028, 1, 1)
    with pytest.raises(BeyondCalendar, match="before it begins"):
        hours.subtract(minute(2026, 1, 2, 12), 10_000)


@pytest.mark.parametrize(
    ("make", "error", "says"),
    [
        (lambda: day_shift(zone="Europe/Lisboa"), UnknownZone, "Europe/Lisbon"),
        (lambda: day_shift(holidays=all_days()), NoOpenHours, "no open hours"),
        (lambda: day_shift(last_day=date(2025, 1, 1)), BadShift, "2025-01-01"),
        (lambda: Shift(weekday=7, opens=time(8), closes=time(9)), BadShift, "0 to 6"),
        (
            lambda: Shutdown(first=date(2026, 2, 1), last=date(2026, 1, 1)),
            BadShift,
            "before it",
        ),
        (
            lambda: Window(opens=wall(2026, 1, 1, 9), closes=wall(2026, 1, 1, 8)),
            BadShift,
            "before it",
        ),
        (
            lambda: Window(opens=datetime(2026, 1, 1, 9, tzinfo=UTC), closes=wall(2026, 1, 1, 10)),
            BadShift,
            "without an offset",
        ),
    ],
)
def test_a_bad_calendar_is_refused_with_what_would_be_right(
    make: Any, error: Any, says: Any
) -> None:
    with pytest.raises(error, match=says):
        make()


def all_days() -> list[date]:
    return [date.fromordinal(n) for n in range(date(2026, 1, 1).toordinal(), 740_500)]


HOURS = day_shift()


@given(
    at=st.integers(minute(2026, 2, 1), minute(2027, 6, 1)),
    work=st.integers(1, 40 * 60),
)
def test_adding_and_taking_away_agree_with_the_minutes_between(at: int, work: int) -> None:
    start, finish = HOURS.fit_forward(at, work)
    assert at <= start < finish
    assert HOURS.between(start, finish) == work == HOURS.between(at, finish)
    back, end = HOURS.fit_backward(finish, work)
    assert (back, end) == (HOURS.subtract(finish, work), finish)
    assert back >= start  # latest start for the same finish
    assert HOURS.between(back, finish) == work
    assert HOURS.add(back, work) == finish


@given(at=st.integers(minute(2026, 2, 1), minute(2027, 6, 1)))
def test_next_and_previous_working_instants_stand_at_open_minutes(at: int) -> None:
    following = HOURS.next_working(at)
    before = HOURS.previous_working(at)
    assert HOURS.between(following, following + 1) == 1
    assert HOURS.between(before - 1, before) == 1
    assert before <= at <= following
    assert HOURS.between(at, following) == 0 == HOURS.between(before, at)
    assert following - before < 5 * DAY
