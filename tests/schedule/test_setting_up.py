"""Calendars, work centres, lanes and templates set up from nothing, and what they refuse."""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from schedule.actions.calendars import (
    NewShift,
    add_calendar,
    add_overtime,
    close_days,
    seed_public_holidays,
    set_shifts,
    take_day_away,
)
from schedule.actions.growing import grow_route
from schedule.actions.lanes import add_lane, change_lane
from schedule.actions.templates import edit_row, load_standard_templates, load_template
from schedule.actions.work_centres import (
    add_work_centre,
    change_work_centre,
    load_standard_work_centres,
)
from schedule.errors import BadFigure, CalendarTrouble, NoSuchThing, TableTrouble
from schedule.models import Calendar, RouteTemplate, WorkCentre
from schedule.planning.conditions import Terms
from schedule.queries.lanes import on_site, ship_by
from schedule.working_time import minute, working_times
from tests.factories.schedule import (
    DUE,
    NOW,
    SMALL_TEMPLATE,
    CalendarFactory,
    LaneFactory,
    SiteFactory,
    WorkCentreFactory,
    configuration,
    grown,
    person,
    small_works,
)
from works.errors import NotAllowed
from works.models import Event
from works.people import Area, Group

pytestmark = pytest.mark.django_db

LISBON = ZoneInfo("Europe/Lisbon")
WEEK = [NewShift(weekday=day, starts=time(8), ends=time(16)) for day in range(5)]

# Public holidays of mainland Portugal in 2026: the thirteen of the Labour Code (Lei 7/2009, article
# 234), the movable ones by Easter Sunday, 5 April 2026. Written down from memory.
PORTUGAL_2026 = {
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
}


def calendar(**fields: object) -> Calendar:
    SiteFactory.create()
    values: dict[str, object] = {"name": "Day", "shifts": WEEK, "by": None, "at": NOW}
    return add_calendar(**{**values, **fields})


def open_hours(found: Calendar, on: date) -> float:
    """Hours that a calendar is open on a day."""
    hours = working_times([found.pk], zone=LISBON, now=NOW).by_id[found.pk]
    begins = minute(datetime(on.year, on.month, on.day, tzinfo=LISBON))
    return hours.between(begins, begins + 1440) / 60


def test_a_new_calendar_has_the_public_holidays_of_its_country() -> None:
    found = calendar()
    kept = set(found.days.filter(on__year=2026).values_list("on", flat=True))
    assert kept == PORTUGAL_2026
    assert open_hours(found, date(2026, 5, 1)) == 0
    assert open_hours(found, date(2026, 5, 4)) == 8


def test_a_calendar_may_work_on_holidays() -> None:
    found = calendar(keeps_public_holidays=False)
    assert not found.days.exists()
    assert open_hours(found, date(2026, 5, 1)) == 8


def test_a_calendar_needs_a_fresh_name_a_shift_and_a_country_that_is_one() -> None:
    calendar()
    with pytest.raises(BadFigure, match="one not yet used"):
        calendar()
    with pytest.raises(CalendarTrouble, match="at least one shift"):
        calendar(name="Shut", shifts=[])
    with pytest.raises(CalendarTrouble, match="No public holidays are known for XX"):
        calendar(name="Nowhere", country="XX")
    with pytest.raises(BadFigure, match="weekday is 9"):
        calendar(name="Odd", shifts=[NewShift(weekday=9, starts=time(8), ends=time(9))])
    with pytest.raises(BadFigure, match="2026-01-01 or later"):
        spell = {"valid_from": date(2026, 1, 1), "valid_until": date(2025, 1, 1)}
        shift = NewShift(weekday=0, starts=time(8), ends=time(9), **spell)
        calendar(name="Backwards", shifts=[shift])


def test_holidays_are_seeded_once_and_what_the_works_took_away_stays_away_this_year() -> None:
    found = calendar()
    assert seed_public_holidays(calendar=found, years=[2026], by=None, at=NOW) == 0
    assert seed_public_holidays(calendar=found, years=[2030], by=None, at=NOW) == 13


def test_a_night_shift_passes_midnight() -> None:
    night = [NewShift(weekday=day, starts=time(22), ends=time(6)) for day in range(5)]
    found = calendar(shifts=night, keeps_public_holidays=False)
    assert open_hours(found, date(2026, 3, 4)) == 8  # 6 h of the night before, 2 h of its own


def test_overtime_opens_a_saturday_and_shutdowns_close_weeks() -> None:
    found = calendar()
    saturday = date(2026, 3, 7)
    assert open_hours(found, saturday) == 0
    add_overtime(calendar_id=found.pk, on=saturday, starts=time(8), ends=time(12), by=None, at=NOW)
    assert open_hours(found, saturday) == 4
    days = close_days(
        calendar_id=found.pk, first=date(2026, 8, 10), last=date(2026, 8, 21), by=None, at=NOW
    )
    assert days == 12
    assert open_hours(found, date(2026, 8, 12)) == 0
    day = found.days.get(on=date(2026, 8, 12))
    take_day_away(day_id=day.pk, by=None, at=NOW)
    assert open_hours(found, date(2026, 8, 12)) == 8


def test_an_outage_closes_a_whole_day() -> None:
    found = calendar()
    on = date(2026, 3, 5)
    close_days(
        calendar_id=found.pk, first=on, last=on, kind="outage", note="furnace", by=None, at=NOW
    )
    assert open_hours(found, on) == 0


def test_bad_days_are_refused() -> None:
    found = calendar()
    on = date(2026, 3, 5)
    with pytest.raises(BadFigure, match="longer than nothing"):
        add_overtime(calendar_id=found.pk, on=on, starts=time(8), ends=time(8), by=None, at=NOW)
    with pytest.raises(BadFigure, match="within 120 days"):
        close_days(calendar_id=found.pk, first=on, last=on - timedelta(days=1), by=None, at=NOW)
    with pytest.raises(BadFigure, match="public holiday, shutdown or outage"):
        close_days(calendar_id=found.pk, first=on, last=on, kind="party", by=None, at=NOW)
    with pytest.raises(NoSuchThing, match="no calendar 0"):
        close_days(calendar_id=0, first=on, last=on, by=None, at=NOW)
    with pytest.raises(NoSuchThing, match="no calendar day 0"):
        take_day_away(day_id=0, by=None, at=NOW)
    with pytest.raises(CalendarTrouble):
        set_shifts(calendar_id=found.pk, shifts=[], by=None, at=NOW)


def test_a_changed_week_is_seen_at_once() -> None:
    found = calendar()
    assert open_hours(found, date(2026, 3, 4)) == 8
    long = [NewShift(weekday=day, starts=time(6), ends=time(18)) for day in range(5)]
    set_shifts(calendar_id=found.pk, shifts=long, by=None, at=NOW)
    assert open_hours(found, date(2026, 3, 4)) == 12


def test_a_calendar_is_laid_out_once_a_version() -> None:
    found = calendar()
    first = working_times([found.pk], zone=LISBON, now=NOW).by_id[found.pk]
    assert working_times([found.pk], zone=LISBON, now=NOW).by_id[found.pk] is first


def test_the_night_the_clocks_change_is_as_long_as_it_is() -> None:
    night = [NewShift(weekday=day, starts=time(22), ends=time(6)) for day in range(7)]
    found = calendar(shifts=night, keeps_public_holidays=False)
    hours = working_times([found.pk], zone=LISBON, now=NOW).by_id[found.pk]

    def worked(on: date) -> float:
        begins = minute(datetime(on.year, on.month, on.day, 20, tzinfo=LISBON).astimezone(UTC))
        return hours.between(begins, begins + 12 * 60) / 60

    assert worked(date(2026, 3, 27)) == 8
    assert worked(date(2026, 3, 28)) == 7  # clocks go forward on Sunday 29 March 2026
    assert worked(date(2026, 10, 24)) == 9  # and back on Sunday 25 October 2026


def test_only_planners_set_up() -> None:
    found = calendar()
    floor = person(Group.SUPERVISOR)
    with pytest.raises(NotAllowed):
        set_shifts(calendar_id=found.pk, shifts=WEEK, by=floor, at=NOW)
    with pytest.raises(NotAllowed):
        load_standard_templates(by=floor, at=NOW)
    with pytest.raises(NotAllowed):
        load_standard_work_centres(calendar_id=found.pk, by=floor, at=NOW)


def test_a_work_centre_is_added_and_changed() -> None:
    found = calendar()
    centre = add_work_centre(
        code="borer", name="Borer", area="machine shop", calendar_id=found.pk, by=None, at=NOW
    )
    assert centre.code == "BORER"
    centre = change_work_centre(code="BORER", places=2, caution="lifting", by=None, at=NOW)
    assert (centre.places, centre.name) == (2, "Borer")
    event = Event.objects.get(deed="schedule.work_centre_changed")
    assert (event.before["places"], event.after["places"]) == (1, 2)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"places": 0}, "from 1 to 99"),
        ({"area": "garden"}, "engineering"),
        ({"firm_days": 99}, "from 0 to 60"),
        ({"caution": "mind the cat"}, "hydrostatic"),
        ({"name": ""}, "its name"),
        ({"code": "LATHE"}, "one not yet used"),
    ],
)
def test_a_bad_work_centre_is_refused(fields: dict[str, object], words: str) -> None:
    found = calendar()
    WorkCentreFactory.create(code="LATHE")
    values = {"code": "X", "name": "X", "area": Area.ASSEMBLY, "calendar_id": found.pk}
    with pytest.raises(BadFigure, match=words):
        add_work_centre(**{**values, **fields}, by=None, at=NOW)


def test_a_work_centre_with_work_is_not_closed_for_good() -> None:
    grown()
    with pytest.raises(BadFigure, match="still to be done there"):
        change_work_centre(code="LATHE", closed_for_good=True, by=None, at=NOW)
    with pytest.raises(NoSuchThing):
        change_work_centre(code="NONE", places=2, by=None, at=NOW)
    with pytest.raises(NoSuchThing, match="no calendar 0"):
        change_work_centre(code="LATHE", calendar_id=0, by=None, at=NOW)


def test_an_empty_works_grows_its_first_route() -> None:
    found = calendar()
    load_standard_work_centres(calendar_id=found.pk, by=None, at=NOW)
    assert load_standard_work_centres(calendar_id=found.pk, by=None, at=NOW) == 0
    templates = {t.name: t for t in load_standard_templates(by=None, at=NOW)}
    assert load_standard_templates(by=None, at=NOW) == []
    route = grow_route(
        label="26-0001/1",
        template=templates["pump"],
        configuration=configuration(),
        terms=Terms(),
        quantity=3,
        due_on=date(2026, 8, 28),
        weight=2,
        choice=None,
        by=None,
        at=NOW,
    )
    assert route.forecast_trouble == ""
    assert route.operations.count() > 150


def test_every_caution_of_the_usual_works_is_one_that_pages_know() -> None:
    found = calendar()
    load_standard_work_centres(calendar_id=found.pk, by=None, at=NOW)
    load_standard_templates(by=None, at=NOW)
    from works.cautions import CAUTIONS

    used = set(WorkCentre.objects.values_list("caution", flat=True))
    for template in RouteTemplate.objects.all():
        used |= {row.row["caution"] for row in template.rows.all()}
    assert used - {""} <= set(CAUTIONS)


def test_a_template_is_loaded_from_a_table_and_replaced() -> None:
    template = load_template(name="own", kind="pump", text=SMALL_TEMPLATE, by=None, at=NOW)
    assert template.rows.count() == 11
    shorter = "\n".join(SMALL_TEMPLATE.splitlines()[:2])
    again = load_template(name="own", kind="pump", text=shorter, by=None, at=NOW)
    assert (again.pk, again.version, again.rows.count()) == (template.pk, 2, 1)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("code,name\nA,B\n", "missing or unknown columns"),
        (SMALL_TEMPLATE.replace("8 h", "8 hours", 1), "line 2: '8 hours' is no duration here"),
        (SMALL_TEMPLATE.replace("unit,ASM-BUILD", "unit,NOWHERE", 1), "no operation 'NOWHERE'"),
    ],
)
def test_a_bad_table_is_refused_with_the_line(text: str, words: str) -> None:
    with pytest.raises(TableTrouble, match=words):
        load_template(name="own", kind="pump", text=text, by=None, at=NOW)
    assert not RouteTemplate.objects.exists()


def test_a_row_edited_into_a_ring_is_refused_and_stays_as_it_was() -> None:
    template = small_works()
    ring = [{"code": "DSP-PACK", "lag_minutes": 0}]
    with pytest.raises(TableTrouble, match="ring"):
        edit_row(template_id=template.pk, code="ENG-REVIEW", by=None, at=NOW, after=ring)
    assert template.rows.get(code="ENG-REVIEW").row["after"] in ([], ())
    with pytest.raises(NoSuchThing):
        edit_row(template_id=template.pk, code="NONE", by=None, at=NOW, minutes=3)
    with pytest.raises(TableTrouble, match="0 or more"):
        edit_row(template_id=template.pk, code="ENG-REVIEW", by=None, at=NOW, minutes=-3)


def test_an_edited_row_counts_for_routes_grown_from_then_on() -> None:
    before = grown()
    template = before.template
    edit_row(template_id=template.pk, code="DSP-PACK", by=None, at=NOW, minutes=600)
    after = grown(template=template)
    assert before.operations.get(code="DSP-PACK").minutes == 360
    assert after.operations.get(code="DSP-PACK").minutes == 600


def test_a_lane_is_added_changed_and_refused() -> None:
    lane = add_lane(
        name="Road to Vigo",
        mode="road",
        destination="Vigo",
        country="es",
        voyage_days=1,
        by=None,
        at=NOW,
    )
    assert lane.country == "ES"
    change_lane(lane_id=lane.pk, voyage_days=2, by=None, at=NOW)
    with pytest.raises(BadFigure, match="one not yet used"):
        add_lane(name="Road to Vigo", mode="road", destination="V", country="ES", by=None, at=NOW)
    with pytest.raises(TableTrouble, match="no flight is known"):
        add_lane(name="Air", mode="air", destination="Oslo", country="NO", by=None, at=NOW)
    with pytest.raises(BadFigure, match="sea, road or air"):
        add_lane(name="Rail", mode="rail", destination="Vigo", country="ES", by=None, at=NOW)
    with pytest.raises(BadFigure, match="two letters"):
        change_lane(lane_id=lane.pk, country="Spain", by=None, at=NOW)
    with pytest.raises(BadFigure, match="A lane's field is colour"):
        change_lane(lane_id=lane.pk, colour="blue", by=None, at=NOW)
    with pytest.raises(NoSuchThing):
        change_lane(lane_id=0, by=None, at=NOW)


def test_ship_by_is_worked_back_along_a_lane_over_the_works_closed_days() -> None:
    SiteFactory.create()
    WorkCentreFactory.create(code="PACKING", area=Area.DISPATCH, calendar=CalendarFactory.create())
    lane = LaneFactory.create()
    # On site Monday 29 June: less 2 d haulage, 5 d customs, 24 d at sea is 29 May, a Friday, which
    # sails; less 2 d cut-off and 1 d road is Tuesday 26 May.
    shipment = ship_by(lane, date(2026, 6, 29), now=NOW)
    assert (shipment.departs_on, shipment.ship_on) == (date(2026, 5, 29), date(2026, 5, 26))
    assert on_site(lane, date(2026, 5, 26), now=NOW).on_site_on == date(2026, 6, 29)
    # Two days earlier and the works is shut on the day worked back to: it ships on the Friday.
    lane.cut_off_days = 4
    assert ship_by(lane, date(2026, 6, 29), now=NOW).ship_on == date(2026, 5, 22)
    assert date(2026, 5, 22) < DUE
