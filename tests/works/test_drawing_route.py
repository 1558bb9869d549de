"""Route bars and their time scale."""

import re
import xml.etree.ElementTree as ET
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from works.drawing import (
    Flag,
    Ink,
    Pattern,
    RouteBar,
    Stretch,
    StretchState,
    TimeRuler,
    draw,
    svg,
)
from works.drawing.marks import Disc, Hot, Trace, filled
from works.drawing.route_plot import EDGE, LOOKS

ZONE = ZoneInfo("Europe/Lisbon")
FIRST = datetime(2026, 3, 2, tzinfo=ZONE)  # a Monday
LAST = FIRST + timedelta(days=56)
NOW = FIRST + timedelta(days=14, hours=9)


def day(count: float) -> datetime:
    return FIRST + timedelta(days=count)


STRETCHES = (
    Stretch("Drawings", day(-10), day(7), StretchState.DONE),
    Stretch("Boring & facing", day(7), day(21), StretchState.RUNNING),
    Stretch("Motor", day(0), day(35), StretchState.PASSING, lane=1),
    Stretch("Long gone", day(-30), day(-20), StretchState.DONE),
)


def bar(**changes: object) -> RouteBar:
    fields: dict[str, object] = {
        "title": "Order 26-0412",
        "description": "2 d late.",
        "first": FIRST,
        "last": LAST,
        "now": NOW,
        "stretches": STRETCHES,
        "marks": ((Flag.SHIP_BY, day(40)), (Flag.FINISH, day(42))),
    }
    return RouteBar(**(fields | changes))


def sayings(model: RouteBar) -> list[str]:
    return [title.text or "" for title in ET.fromstring(svg(draw(model))).iter("title")]


def hot(model: RouteBar, begins: str) -> Hot:
    return next(m for m in draw(model).marks if isinstance(m, Hot) and m.says.startswith(begins))


def extent(trace: object) -> tuple[float, float]:
    assert isinstance(trace, Trace)
    across = [x for x, _ in trace.places]
    return min(across), max(across)


def test_a_stretch_lies_at_its_dates_on_the_scale() -> None:
    left, right = extent(hot(bar(), "Boring").marks[0])
    pixels_a_day = (640 - 2 * EDGE) / 56
    # the clocks go forward on 2026-03-29: the scale's 56 days have an hour less
    assert left == pytest.approx(EDGE + 7 * pixels_a_day, abs=0.1)
    assert right == pytest.approx(EDGE + 21 * pixels_a_day, abs=0.2)


def test_what_lies_outside_the_scale_is_cut_or_left_out() -> None:
    left, _ = extent(hot(bar(), "Drawings").marks[0])
    assert left == EDGE
    assert not any("Long gone" in says for says in sayings(bar()))


def test_each_stretch_says_what_it_is_its_state_and_its_dates() -> None:
    assert "Boring & facing: running, Mon 2026-03-09 (W11) to Mon 2026-03-23 (W13)" in sayings(
        bar()
    )


def test_a_forecast_after_the_ship_by_is_late_in_words_and_ink() -> None:
    late = hot(bar(), "Forecast")
    assert late.says == "Forecast Mon 2026-04-13 (W16), late"
    assert isinstance(late.marks[0], Trace)
    assert late.marks[0].fill is Ink.BAD
    early = hot(bar(marks=((Flag.SHIP_BY, day(40)), (Flag.FINISH, day(39)))), "Forecast")
    assert "late" not in early.says
    assert isinstance(early.marks[0], Trace)
    assert early.marks[0].fill is Ink.GOOD


def test_a_date_beyond_the_scale_is_an_arrow_that_says_so() -> None:
    beyond = hot(bar(marks=((Flag.SHIP_BY, day(90)),)), "Ship by")
    assert beyond.says.endswith("beyond the scale")
    assert max(x for x, _ in beyond.marks[0].places) <= 640


def test_dates_are_said_in_the_works_zone_whatever_zone_they_come_in() -> None:
    evening = datetime(2026, 7, 5, 23, 30, tzinfo=UTC)  # already Monday in Lisbon's summer
    model = bar(first=day(60), last=day(160), now=evening, stretches=(), marks=())
    assert sayings(model) == ["Today, Mon 2026-07-06 (W28)"]


def test_states_differ_by_pattern_where_their_ink_is_alike() -> None:
    looks = [(ink, pattern) for ink, pattern, _ in LOOKS.values()]
    assert len(looks) == len(set(looks)) == len(StretchState)
    solid = [ink for ink, pattern in looks if pattern is Pattern.SOLID]
    assert len(solid) == len(set(solid)) == 2
    words = [word for _, _, word in LOOKS.values()]
    assert len(words) == len(set(words))


@pytest.mark.parametrize("pattern", Pattern)
@pytest.mark.parametrize("size", [(1.5, 14.0), (3.0, 14.0), (40.0, 14.0), (8.0, 30.0)])
def test_a_pattern_stays_inside_its_rectangle(pattern: Pattern, size: tuple[float, float]) -> None:
    width, height = size
    for mark in filled(10, 20, width, height, Ink.BAD, pattern):
        reached = [mark.at] if isinstance(mark, Disc) else mark.places
        for x, y in reached:
            assert 10 - 1e-9 <= x <= 10 + width + 1e-9
            assert 20 - 1e-9 <= y <= 20 + height + 1e-9


def test_a_bar_is_one_image_named_by_its_order_and_state() -> None:
    root = ET.fromstring(svg(draw(bar())))
    assert root.attrib["role"] == "img"
    assert root.attrib["aria-label"] == "Order 26-0412 2 d late."


def test_lanes_make_the_bar_taller_and_keep_their_stretches_apart() -> None:
    one = draw(bar(stretches=STRETCHES[:2]))
    two = draw(bar())
    assert two.height - one.height == pytest.approx(19.0)
    upper = hot(bar(), "Boring").marks[0]
    lower = hot(bar(), "Motor").marks[0]
    assert max(y for _, y in upper.places) < min(y for _, y in lower.places)


def test_the_ruler_names_iso_weeks_and_months_at_their_places() -> None:
    root = ET.fromstring(svg(draw(TimeRuler(FIRST, LAST, NOW))))
    words = {t.text: float(t.attrib["x"]) for t in root.iter("text")}
    assert {"2026-03", "2026-04"} <= words.keys()
    weeks = {text: x for text, x in words.items() if text and re.fullmatch(r"W\d\d", text)}
    for text, x in weeks.items():
        week = int(text[1:])
        monday = datetime.combine(
            datetime.fromisocalendar(2026, week, 1).date(), FIRST.time(), ZONE
        )
        share = (monday.timestamp() - FIRST.timestamp()) / (LAST.timestamp() - FIRST.timestamp())
        assert x - 2 == pytest.approx(EDGE + share * (640 - 2 * EDGE), abs=0.01)
    assert len(weeks) == 8


def test_bar_and_ruler_share_one_scale() -> None:
    ruler = draw(TimeRuler(FIRST, LAST, NOW))
    today = hot(bar(), "Today").marks[0]
    lines = [m for m in ruler.marks if isinstance(m, Trace) and m.stroke is Ink.ACCENT]
    assert lines[0].places[0][0] == pytest.approx(today.places[0][0])
